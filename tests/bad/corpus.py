"""Hostile creature folders: each with the fault code and the line that the message must name.

``TEXTS`` are whole files; ``CHANGES`` are one change of a good file each, which must be found where it was made; ``FOLDERS`` are made by
a function, because they are too large, not text, or not a file at all.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

GOOD: Final = """\
marotte: 1
stock: 2026-1
name: Hen
seed: 3
build:
  eye: {diameter: 40 mm, spacing: 88 mm}
  points: {hinge: [0 mm, -40 mm, -60 mm]}
functions:
  jaw:
    part: jaw
    at: hinge
    travel: [0 deg, 22 deg]
    neutral: 3 deg
    means: {kind: servo, model: mine, lead: main}
    mech: {kind: four_bar, horn: 14 mm, rod: 62 mm, arm: 22 mm, ground: 64 mm, branch: open, arm_at_neutral: 90 deg}
    load: {mass: 160 g, centre: [0 mm, -18 mm, 55 mm]}
  lid_upper: {sides: both, part: lid_upper, travel: [0 deg, 60 deg], means: {kind: screen}}
skins:
  chin: {strip: {material: silicone_00_50, thickness: 4 mm, width: 80 mm, length: 45 mm}, holds: {jaw: 70 mm/rad}}
servos:
  mine: {like: standard, mass: 60 g}
supply:
  battery: {kind: bench, volts: 6.0 V, limit: 10 A}
  leads:
    main: {fed_by: battery, awg: 18, length: 1 m}
masses: {skull: 230 g}
poses:
  moods: {wary: {lid_upper: -50 %}}
brief:
  cue: HEN
  moods: {quietly: wary}
  looks: {lens: {at: [0 m, 0 m, 2 m]}}
performers:
  lead: {stature: 1.68 m, mass: 64 kg}
limits: {head_mass: 2 kg}
"""
"""A file without a fault; a test holds that it is one."""


@dataclass(frozen=True)
class Bad:
    """One hostile input and what must be said of it."""

    code: str
    line: int | None
    """Line that the first fault of that code must name; None: any, or none."""
    says: str = ""
    """Words that must be in the message."""
    most: int = 4
    """So many faults at most: one thing is wrong."""


TEXTS: Final[dict[str, tuple[str, Bad]]] = {
    "empty": ("", Bad("missing", 1, "empty")),
    "only a comment": ("# nothing\n", Bad("missing", 1, "empty")),
    "nothing": ("null\n", Bad("missing", 1, "empty")),
    "a list": ("- marotte\n- stock\n", Bad("wrong_kind", 1)),
    "a word": ("creature\n", Bad("wrong_kind", 1)),
    "a number": ("7\n", Bad("wrong_kind", 1)),
    "two documents": ("marotte: 1\n---\nmarotte: 1\n", Bad("yaml", 2, "second document")),
    "unclosed bracket": ("marotte: [1, 2\nname: x\n", Bad("yaml", None)),
    "unclosed quote": ('marotte: 1\nname: "Hen\n', Bad("yaml", None)),
    "tabs": ("marotte: 1\nfunctions:\n\tjaw: 1\n", Bad("yaml", 3)),
    "wrong setting in": ("marotte: 1\n name: x\n", Bad("yaml", None)),
    "percent": ("%BAD directive\nmarotte: 1\n", Bad("yaml", None)),
    "alias": ("marotte: &a 1\nstock: *a\n", Bad("alias", 1)),
    "merge": ("base: &b {x: 1}\nmarotte: 1\nfunctions: {<<: *b}\n", Bad("alias", 1)),
    "python object": ("marotte: !!python/object/apply:os.system ['true']\n", Bad("alias", 1)),
    "own tag": ("marotte: !mine 1\n", Bad("alias", 1)),
    "binary tag": ("marotte: !!binary aGVsbG8=\n", Bad("alias", 1)),
    "set tag": ("marotte: !!set {a, b}\n", Bad("alias", 1)),
    "exploding aliases": (
        "a: &a [x, x, x, x, x, x, x, x, x]\n"
        + "".join(f"{n}: &{n} [{', '.join('*' + chr(ord(n) - 1) for _ in range(9))}]\n" for n in "bcdefghi"),
        Bad("alias", 1),
    ),
    "alias of itself": ("a: &a [*a]\n", Bad("alias", 1)),
    "duplicate key": ("marotte: 1\nname: a\nname: b\n", Bad("duplicate", 3, "name")),
    "duplicate deep": ("marotte: 1\nbuild:\n  points: {a: 1, a: 2}\n", Bad("duplicate", 3)),
    "very deep": ("marotte: 1\nx: " + "[" * 5000 + "]" * 5000 + "\n", Bad("too_deep", 2)),
    "deep by setting in": ("".join("  " * n + f"k{n}:\n" for n in range(60)), Bad("too_deep", None)),
    "many values": ("marotte: 1\nx: [" + "1, " * 70000 + "1]\n", Bad("too_big", 2)),
    "a key that is a list": (
        "marotte: 1\nstock: 2026-1\nname: x\nfunctions: {}\n? [a, b]\n: 1\n",
        Bad("unknown_key", 5),
    ),
    "control character": ("marotte: 1\nname: a\x07b\n", Bad("yaml", 2, "\\x07")),
    "zero byte": ("marotte: 1\nname: a\x00b\n", Bad("yaml", 2, "\\x00")),
    "version of tomorrow": ("marotte: 2\n", Bad("version", 1, "newer release")),
    "version that is none": ("marotte: one\n", Bad("version", 1)),
    "version yes": ("marotte: yes\n", Bad("version", 1)),
    "version below zero": ("marotte: -1\n", Bad("version", 1)),
    "version of a thousand digits": ("marotte: 1" + "0" * 1000 + "\n", Bad("number", 1)),
    "stock of tomorrow": ("marotte: 1\nstock: 2099-1\n", Bad("no_such", 2)),
    "no stock": ("marotte: 1\nname: x\n", Bad("missing", None, "stock")),
    "nothing but a name": ("marotte: 1\nstock: 2026-1\nname: x\n", Bad("missing", None, "functions")),
    "no functions": ("marotte: 1\nstock: 2026-1\nname: x\nfunctions: {}\n", Bad("wrong_kind", 4)),
}

CHANGES: Final[dict[str, tuple[str, str, Bad]]] = {
    # name: what is written, what it becomes, what must be said
    "power tower": ("horn: 14 mm", "horn: 9**9**9 mm", Bad("number", 15)),
    "infinity": ("horn: 14 mm", "horn: .inf", Bad("number", 15, "finite")),
    "minus infinity": ("horn: 14 mm", "horn: -.inf", Bad("number", 15)),
    "not a number": ("horn: 14 mm", "horn: .nan", Bad("number", 15)),
    "nan in words": ("horn: 14 mm", "horn: nan mm", Bad("number", 15)),
    "inf in words": ("horn: 14 mm", "horn: inf mm", Bad("number", 15)),
    "too large a power": ("horn: 14 mm", "horn: 1e99 mm", Bad("bounds", 15)),
    "power of three digits": ("horn: 14 mm", "horn: 1e999 mm", Bad("number", 15)),
    "no unit": ("horn: 14 mm", "horn: 14", Bad("unit", 15, "14 mm")),
    "unit of something else": ("horn: 14 mm", "horn: 14 kg", Bad("unit", 15)),
    "unit in other letters": ("horn: 14 mm", "horn: 14 MM", Bad("unit", 15, "14 mm")),
    "decimal comma": ("horn: 14 mm", "horn: '14,5 mm'", Bad("number", 15)),
    "a sum": ("horn: 14 mm", "horn: 10 mm + 4 mm", Bad("unit", 15)),
    "digits of another script": ("horn: 14 mm", "horn: ١٤ mm", Bad("number", 15)),
    "ten thousand digits": ("horn: 14 mm", "horn: " + "1" * 10000 + " mm", Bad("number", 15)),
    "a whole number without end": ("horn: 14 mm", "horn: " + "9" * 5000, Bad("number", 15, "5000 letters")),
    "below zero": ("horn: 14 mm", "horn: -14 mm", Bad("bounds", 15)),
    "zero": ("horn: 14 mm", "horn: 0 mm", Bad("bounds", 15)),
    "a list for a number": ("horn: 14 mm", "horn: [14 mm]", Bad("wrong_kind", 15)),
    "yes for a number": ("horn: 14 mm", "horn: yes", Bad("number", 15)),
    "nothing for a number": ("horn: 14 mm", "horn:", Bad("missing", 15)),
    "a date for a number": ("horn: 14 mm", "horn: 2026-01-02", Bad("number", 15)),
    "a spread below zero": ("horn: 14 mm", "horn: 14 mm ± -1 mm", Bad("number", 15)),
    "a spread of another unit": ("horn: 14 mm", "horn: 14 mm ± 1 kg", Bad("unit", 15)),
    "a block without value": ("horn: 14 mm", "horn: {source: measured}", Bad("missing", 15)),
    "a block with a strange key": ("horn: 14 mm", "horn: {value: 14 mm, valeu: 3}", Bad("unknown_key", 15)),
    "a source that is none": ("horn: 14 mm", "horn: {value: 14 mm, source: hearsay}", Bad("choice", 15)),
    "travel the wrong way": ("travel: [0 deg, 22 deg]", "travel: [22 deg, 0 deg]", Bad("order", 12)),
    "travel of one": ("travel: [0 deg, 22 deg]", "travel: [22 deg]", Bad("wrong_kind", 12)),
    "travel of a turn in millimetres": ("travel: [0 deg, 22 deg]\n    neutral: 3 deg", "travel: [0 mm, 22 mm]", Bad("unit", 12)),
    "travel not a number": ("travel: [0 deg, 22 deg]", "travel: [.nan, 22 deg]", Bad("number", 12)),
    "neutral outside": ("neutral: 3 deg", "neutral: 30 deg", Bad("order", 13)),
    "no such part": ("part: jaw", "part: jow", Bad("no_such", 10, "jaw")),
    "no such kind of mech": ("kind: four_bar", "kind: five_bar", Bad("choice", 15, "four_bar")),
    "no such kind of means": ("kind: servo", "kind: motor", Bad("choice", 14)),
    "no such servo": ("model: mine", "model: nine", Bad("no_such", 14, "mine")),
    "no such class": ("like: standard,", "like: standart,", Bad("no_such", 21, "standard")),
    "no such lead": ("lead: main", "lead: mane", Bad("no_such", 14, "main")),
    "no such skin": ("material: silicone_00_50", "material: silicone_00_05", Bad("no_such", 19)),
    "no such point": ("at: hinge", "at: hinges", Bad("no_such", 11, "hinge")),
    "a skin held by nothing": ("holds: {jaw: 70 mm/rad}", "holds: {jew: 70 mm/rad}", Bad("no_such", 19, "jaw")),
    "a mood that is none": ("{quietly: wary}", "{quietly: weary}", Bad("no_such", 31, "wary")),
    "a pose of nothing": ("{wary: {lid_upper: -50 %}}", "{wary: {lid: -50 %}}", Bad("no_such", 28)),
    "a pose beyond the end": ("lid_upper: -50 %", "lid_upper: -500 %", Bad("bounds", 28)),
    "a direction of zeros": (
        "lead: main}\n", "lead: main, box: {at: [0 mm, 0 mm, 0 mm], axis: [0, 0, 0]}}\n", Bad("geometry", 14, "nowhere"),
    ),
    "a case along its shaft": (
        "lead: main}\n", "lead: main, box: {at: [0 mm, 0 mm, 0 mm], axis: [0, 1, 0], along: [0, -2, 0]}}\n",
        Bad("geometry", 14, "along its shaft"),
    ),
    "an axis of zeros": ("neutral: 3 deg\n", "axis: [0, 0, 0]\n", Bad("geometry", 13, "nowhere")),
    "no clocking": (", arm_at_neutral: 90 deg", "", Bad("geometry", 15)),
    "two clockings": ("arm_at_neutral: 90 deg", "arm_at_neutral: 90 deg, horn_at_neutral: 90 deg", Bad("geometry", 15)),
    "a misspelt key": ("neutral: 3 deg", "neutrall: 3 deg", Bad("unknown_key", 13, "neutral")),
    "a strange section": ("seed: 3", "sead: 3", Bad("unknown_key", 4, "seed")),
    "a seed that is not whole": ("seed: 3", "seed: 3.5", Bad("wrong_kind", 4)),
    "a seed below zero": ("seed: 3", "seed: -3", Bad("bounds", 4)),
    "a seed without end": ("seed: 3", "seed: " + "9" * 4000, Bad("number", 4)),
    "sides of three": ("sides: both", "sides: all", Bad("choice", 17)),
    "a pair that is there already": (
        "  lid_upper: {sides: both",
        "  lid_upper_left: {part: lid_upper, travel: [0 deg, 9 deg], means: {kind: screen}}\n  lid_upper: {sides: both",
        Bad("twice", None),
    ),
    "nobody moves it": (", means: {kind: screen}", "", Bad("unmoved", 17)),
    "a supply that feeds itself": ("fed_by: battery", "fed_by: main", Bad("loop", 25)),
    "a supply from nowhere": ("fed_by: battery", "fed_by: mains", Bad("no_such", 25)),
    "wire that is no wire": ("awg: 18", "awg: 99", Bad("bounds", 25)),
    "no supply": (
        "supply:\n  battery: {kind: bench, volts: 6.0 V, limit: 10 A}\n  leads:\n    main: {fed_by: battery, awg: 18, length: 1 m}\n",
        "",
        Bad("missing", None, "no supply feeds them"),
    ),
    "a name with a space": ("  jaw:\n", "  the jaw:\n", Bad("choice", 9)),
    "a name in capitals": ("masses: {skull: 230 g}", "masses: {Skull: 230 g}", Bad("choice", 26)),
    "a script outside": ("cue: HEN", "cue: HEN\n  script: ../secret.fountain", Bad("no_folder", 31, "outside")),
    "a script at the root": ("cue: HEN", "cue: HEN\n  script: /etc/hostname", Bad("no_folder", 31, "outside")),
    "a script that is not there": ("cue: HEN", "cue: HEN\n  script: script.fountain", Bad("no_folder", 31)),
    "a script with a zero in its name": ("cue: HEN", 'cue: HEN\n  script: "a\\0b"', Bad("no_folder", 31)),
    "a script of a long name": ("cue: HEN", "cue: HEN\n  script: " + "a" * 199, Bad("no_folder", 31)),
    "a look at nothing": ("at: [0 m, 0 m, 2 m]", "at: [0 m, 0 m]", Bad("wrong_kind", 32)),
    "a person of no height": ("stature: 1.68 m", "stature: 0.2 m", Bad("bounds", 34)),
    "a block for a word": ("name: Hen", "name: {a: b}", Bad("wrong_kind", 3)),
    "a word for a block": (
        "build:\n  eye: {diameter: 40 mm, spacing: 88 mm}\n  points: {hinge: [0 mm, -40 mm, -60 mm]}",
        "build: big",
        Bad("wrong_kind", 5),
    ),
    "a word for functions": ("limits: {head_mass: 2 kg}", "limits: light", Bad("wrong_kind", 35)),
    "a curve that is not there": (
        "strip: {material: silicone_00_50, thickness: 4 mm, width: 80 mm, length: 45 mm}", "curve: measured/chin.csv", Bad("no_folder", 19)
    ),
}  # fmt: skip


def _write(name: str, content: bytes) -> Callable[[Path], Path]:
    def make(folder: Path) -> Path:
        (folder / name).write_bytes(content)
        return folder

    return make


def _nowhere(folder: Path) -> Path:
    return folder / "nowhere"


def _a_file(folder: Path) -> Path:
    (folder / "creature").write_text(GOOD, encoding="utf-8")
    return folder / "creature"


def _a_folder_for_the_file(folder: Path) -> Path:
    (folder / "creature.yaml").mkdir()
    return folder


def _a_link_to_itself(folder: Path) -> Path:
    (folder / "creature.yaml").symlink_to("creature.yaml")
    return folder


def _a_folder_for_the_script(folder: Path) -> Path:
    (folder / "creature.yaml").write_text(GOOD.replace("cue: HEN", "cue: HEN\n  script: scenes"), encoding="utf-8")
    (folder / "scenes").mkdir()
    return folder


def _beside(name: str, content: bytes, key: str = "script") -> Callable[[Path], Path]:
    """Return the maker of a good file that names another file, and of that one."""

    def make(folder: Path) -> Path:
        if key == "script":
            text = GOOD.replace("cue: HEN", f"cue: HEN\n  script: {name}")
        else:
            text = GOOD.replace(
                "strip: {material: silicone_00_50, thickness: 4 mm, width: 80 mm, length: 45 mm}", f"curve: {name}"
            )
        (folder / "creature.yaml").write_text(text, encoding="utf-8")
        (folder / name).write_bytes(content)
        return folder

    return make


def _a_link_out(folder: Path) -> Path:
    secret = folder.parent / f"{folder.name}-secret.fountain"
    secret.write_text("HEN\nThe safe is behind the clock.\n", encoding="utf-8")
    (folder / "script.fountain").symlink_to(secret)
    (folder / "creature.yaml").write_text(
        GOOD.replace("cue: HEN", "cue: HEN\n  script: script.fountain"), encoding="utf-8"
    )
    return folder


def _a_pipe(folder: Path) -> Path:
    os.mkfifo(folder / "creature.yaml")
    return folder


def _huge(folder: Path) -> Path:
    with (folder / "creature.yaml").open("wb") as handle:
        handle.write(GOOD.encode())
        line = b"# " + b"x" * 1000 + b"\n"
        for _ in range(50):
            handle.write(line * 1000)
    return folder


FOLDERS: Final[dict[str, tuple[Callable[[Path], Path], Bad]]] = {
    "no folder": (_nowhere, Bad("no_folder", None, "marotte new")),
    "a file where the folder should be": (_a_file, Bad("not_a_file", None)),
    "a folder where the file should be": (_a_folder_for_the_file, Bad("not_a_file", None)),
    "an empty folder": (lambda folder: folder, Bad("no_folder", None, "creature.yaml")),
    "a file that links to itself": (_a_link_to_itself, Bad("no_folder", None)),
    "a pipe for a file": (_a_pipe, Bad("not_a_file", None)),
    "50 MB": (_huge, Bad("too_big", None)),
    "latin 1": (_write("creature.yaml", GOOD.replace("name: Hen", "name: Krähe").encode("latin-1")), Bad("encoding", 3)),
    "utf 16": (_write("creature.yaml", GOOD.encode("utf-16")), Bad("encoding", 1)),
    "utf 32": (_write("creature.yaml", GOOD.encode("utf-32")), Bad("encoding", 1)),
    "random bytes": (_write("creature.yaml", bytes(range(256)) * 20), Bad("encoding", None)),
    "a lone surrogate": (_write("creature.yaml", b"marotte: 1\nname: a\xed\xa0\x80b\n"), Bad("encoding", 2)),
    "an overlong zero": (_write("creature.yaml", b"marotte: 1\nname: a\xc0\x80b\n"), Bad("encoding", 2)),
    "half a letter": (_write("creature.yaml", GOOD.encode() + b"# \xe2\x82"), Bad("encoding", 36)),
    "a picture": (_write("creature.yaml", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR"), Bad("encoding", 1)),
    "a folder for the script": (_a_folder_for_the_script, Bad("not_a_file", None)),
    "a script that is a picture": (_beside("script.fountain", b"\x89PNG\r\n\x1a\n"), Bad("encoding", 1)),
    "a script of 20 MB": (_beside("script.fountain", b"HEN\nWords.\n\n" * 1_700_000), Bad("too_big", None)),
    "a script that links out of the folder": (_a_link_out, Bad("no_folder", 31, "outside")),
    "a curve of words": (_beside("chin.csv", b"stretch [mm],force [N]\nlong,strong\n", "curve"), Bad("measured", None)),
    "an empty curve": (_beside("chin.csv", b"", "curve"), Bad("measured", None)),
    "a curve of a skin that pushes": (_beside("chin.csv", b"stretch [mm],force [N]\n0,0\n12,-5\n34,-15\n", "curve"), Bad("bounds", None)),
    "a curve of one point": (_beside("chin.csv", b"stretch [mm],force [N]\n0,0\n", "curve"), Bad("measured", None)),
    "a curve that goes back": (
        _beside("chin.csv", b"stretch [mm],force [N]\n0,0\n5,1\n3,2\n", "curve"), Bad("order", None)
    ),
    "a curve without end": (
        _beside("chin.csv", b"stretch [mm],force [N]\n0,0\n5,inf\n", "curve"), Bad("measured", None)
    ),
}  # fmt: skip
