"""More hostile files, by kind: numbers and dates that the YAML library makes, or cannot make, of bare words."""

from __future__ import annotations

from typing import Final

from tests.bad.corpus import Bad

HEX: Final = "0x" + "f" * 5000
OCTAL: Final = "0o" + "7" * 6000

NUMBERS: Final[dict[str, tuple[str, str, Bad]]] = {
    # name: what is written in the good file, what it becomes, what must be said
    "a seed of 5000 hex digits": ("seed: 3", f"seed: {HEX}", Bad("number", 4, "5002 letters is too long for a number")),
    "a seed of 6000 octal digits": ("seed: 3", f"seed: {OCTAL}", Bad("number", 4)),
    "a seed of 20 000 binary digits": ("seed: 3", "seed: 0b" + "1" * 20000, Bad("number", 4)),
    "a version without end": ("marotte: 1", f"marotte: {HEX}", Bad("number", 1)),
    "an edition without end": ("stock: 2026-1", f"stock: {HEX}", Bad("number", 2)),
    "a name that is a number without end": (
        "name: Hen",
        f"name: {HEX}",
        Bad("number", 3, "in quotation marks it is a text"),
    ),
    "a length in hex without end": ("horn: 14 mm", f"horn: {HEX}", Bad("number", 15)),
    "a length below zero in hex": ("horn: 14 mm", f"horn: -{HEX}", Bad("number", 15)),
    "a wire in hex without end": ("awg: 18", f"awg: {HEX}", Bad("number", 25)),
    "an item of a list without end": ("travel: [0 deg, 22 deg]", f"travel: [{OCTAL}, 22 deg]", Bad("number", 12)),
    "a key without end": ("masses: {skull: 230 g}", "masses: {0x" + "f" * 900 + ": 230 g}", Bad("number", 26)),
    "digits set apart without end": ("seed: 3", "seed: 1" + "_0" * 4500, Bad("number", 4)),
    "a decimal without end": ("horn: 14 mm", "horn: 1." + "1" * 5000, Bad("number", 15)),
    "a power without end": ("horn: 14 mm", "horn: 1e" + "9" * 5000, Bad("number", 15)),
    "a month 13": (
        "name: Hen",
        "name: 2026-13-01",
        Bad("number", 3, "looks like a date and is none (month must be in 1..12)"),
    ),
    "a day 32": ("seed: 3", "seed: 2026-01-32", Bad("number", 4, "is none")),
    "an hour 25": ("name: Hen", "name: 2026-01-01 25:00:00", Bad("number", 3, "is none")),
    "a year 0": ("cue: HEN", "cue: 0000-01-01", Bad("number", 30)),
    "a zone of four days": ("name: Hen", "name: 2026-01-01T10:00:00+99:00", Bad("number", 3)),
    "hex of nothing": ("seed: 3", "seed: 0x_", Bad("number", 4, "looks like a number and is none")),
    "a sign and nothing": ("seed: 3", "seed: -_", Bad("number", 4)),
    "a point and nothing": ("horn: 14 mm", "horn: ._", Bad("number", 15)),
}

SKULL: Final = "eye: {diameter: 40 mm, spacing: 88 mm}"
"""Where the good file takes a skull in."""


def _skull(keys: str) -> str:
    return f"{SKULL}\n  skull: {{{keys}}}"


PLACES: Final[dict[str, tuple[str, str, Bad]]] = {
    "a mesh that is not there": (SKULL, _skull("mesh: skull.stl"), Bad("no_folder", 7, "there is no skull.stl")),
    "a mesh outside": (SKULL, _skull("mesh: ../../etc/passwd"), Bad("no_folder", 7, "outside")),
    "a mesh that is a folder": (SKULL, _skull("mesh: ."), Bad("not_a_file", 7, "is a folder")),
    "a mesh of a drawing": (SKULL, _skull("mesh: creature.yaml"), Bad("choice", 7, ".stl, .obj, .ply, .off, .glb")),
    "a hatch in the moon": (SKULL, _skull("shape: [90 mm, 90 mm, 90 mm], hatch: moon"), Bad("no_such", 7, "hatch_moon")),
    "a hatch misspelt": (SKULL, _skull("shape: [90 mm, 90 mm, 90 mm], hatch: [top, napes]"), Bad("no_such", 7, "Try: nape")),
    "a hatch of nothing": (SKULL, _skull("shape: [90 mm, 90 mm, 90 mm], hatch: ''"), Bad("missing", 7, "nothing is written here")),
    "a hatch that is a block": (SKULL, _skull("hatch: {a: b}"), Bad("wrong_kind", 7, "build > skull > hatch: a text or a list")),
    "a hatch that is a number": (SKULL, _skull("hatch: 7"), Bad("wrong_kind", 7, "7: a text or a list is wanted here")),
    "a name of 200 000 letters": ("name: Hen", "name: " + "x" * 200_000, Bad("bounds", 3, "a text of 200000 letters")),
    "a name of none": ("name: Hen", "name: ''", Bad("missing", 3, "nothing is written here")),
    "a script that is the folder itself": ("cue: HEN", "cue: HEN\n  script: .", Bad("not_a_file", 31, "brief > script")),
    "a script of a name too long for any disk": (
        "cue: HEN", f"cue: HEN\n  script: {'b/' * 99}{'a' * 2}", Bad("no_folder", 31, "there is no b/b/")
    ),
    "a look between the eyes": ("at: [0 m, 0 m, 2 m]", "at: [0 m, 0 m, 0 m]", Bad("geometry", 32, "between the eyes themselves")),
    "a look into an eye": ("at: [0 m, 0 m, 2 m]", "at: [40 mm, 0 m, 0 m]", Bad("geometry", 32)),
}  # fmt: skip

MINE: Final = "  mine: {like: standard, mass: 60 g}"

ONCE: Final[dict[str, tuple[str, str, Bad]]] = {
    # one mistake, one fault: what follows from it is not told beside it
    "a class like none": (MINE, "  mine: {like: standrad}", Bad("no_such", 21, "Try: standard", 1)),
    "a class like itself": (MINE, "  mine: {like: mine}", Bad("loop", 21, "mine is like itself", 1)),
    "two classes like one another": (
        MINE, "  mine: {like: other}\n  other: {like: mine}", Bad("loop", 21, "mine <- other <- mine", 1)
    ),
    "a class like one of the file": (
        MINE, f"{MINE}\n  other: {{like: mine}}", Bad("no_such", 22, "mine is a class of this file, and like takes one of the stock", 1)
    ),
    "two leads that feed one another": (
        "fed_by: battery, awg: 18, length: 1 m}",
        "fed_by: other, awg: 18, length: 1 m}\n    other: {fed_by: main, awg: 18, length: 1 m}",
        Bad("loop", 25, "main <- other <- main", 1),
    ),
    "a typeset minus": ("neutral: 3 deg", "neutral: \u22123 deg", Bad("number", 13, "Try: -3 deg", 1)),
    "digits of full width": ("horn: 14 mm", "horn: \uff11\uff14 mm", Bad("number", 15, "Try: 14 mm", 1)),
    "minutes and seconds": ("limits: {head_mass: 2 kg}", "show: {call_length: 25:30}", Bad("number", 35, "Try: 25.5 min", 1)),
}  # fmt: skip
