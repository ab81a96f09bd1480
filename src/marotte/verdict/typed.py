"""Where a measured number is typed, in words with the very line: a field, an entry of one's own, or nowhere yet."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import Final

from marotte.basis.faults import shown_path
from marotte.basis.given import Given, Ref
from marotte.basis.units import number_text, show
from marotte.creature.schema.base import Record
from marotte.creature.schema.servos import ServoClass
from marotte.verdict.requirements.motor import Pull, volts_row

HOMES: Final[dict[str, str]] = {
    "Cells": "supply > battery",
    "Mains": "supply > battery",
    "Show": "show",
    "Link": "supply > link",
    "Function": "the function",
    "Load": "the function's load",
    "Servo": "the servo's means",
    "Strip": "the skin's strip",
}
"""Where the block of a default stands in the file."""
_MASSES: Final = "Write it under masses, in an entry that has `skin` in its name, with source: measured; the strips are then part of it"
_CURVE: Final = "Write it at skins as the `curve` of that skin, in place of `strip`, with source: measured"
OWN_FIELD: Final[dict[tuple[str, str], str]] = {
    ("joints", "slop"): "Write it as `slop` of the rod (both its joints together) in the mech, with source: measured",
    ("joints", "cone"): "Write it as `cone` in the mech, with source: measured",
    ("liners", "friction"): "Write it as `efficiency` in the mech, with source: measured; it then stands for the wire's own",
    ("liners", "bore"): "Write it as `bore` in the mech, with source: measured",
    ("wires", "thickness"):
        "Write it as `core` in the mech, in place of the wire's name, with source: measured; it is then taken for solid steel",
    ("skins", "density"): _MASSES,
    ("backings", "mass"): _MASSES,
    ("skins", ""): _CURVE,
    ("backings", ""): _CURVE,
    ("fabrics", "mass"): "Write the whole covering as an entry under masses, weighed, with source: measured",
    ("controls", "travel"): "Write it as `travel` of that control under controls, with source: measured",
}  # fmt: skip
"""Table of the stock and field -> where the file holds a number of one's own; an empty field: every other one of that table."""
FILM: Final = "3 %"
"""Within what 19 of 20 filmed speeds lie: frames and run-up together, docs/methods/settling.md."""
MOTOR: Final = frozenset({"stall", "free", "derate"})
"""Fields of a servo that one bench test at its own voltage settles."""


def entry_of(ref: Ref, gathered: object) -> str:
    """Return the servo whose entry under servos would hold a measured number of an input; empty where it goes elsewhere."""
    pull = getattr(gathered, "pull", gathered)
    if field_of(ref) in MOTOR and isinstance(pull, Pull) and ref in pull.servo.refs():
        return pull.means.model
    if ref.endswith("/price") or not ref.startswith("stock:servos/"):
        return ""
    return next(_entries(gathered, ref), "") or ref.removeprefix("stock:servos/").partition("/")[0]


def typed(refs: Sequence[Ref], given: Mapping[Ref, Given], gathered: object) -> str:
    """Return where the numbers measured for some inputs go, as things stand in the file.

    Args:
        refs: of one input, or of several that stand in one servo's entry, or of prices, or of hours.
        given: the ledger.
        gathered: what the finding was made from: servos with entries of their own are found in it.
    """
    first = refs[0]
    if first.startswith("stock:") and field_of(first) in ("price", "hours"):
        return _shop(refs, given, gathered)
    if not entry_of(first, gathered):
        return where_to_write(first, given)
    found = getattr(gathered, "pull", gathered)
    pull = found if isinstance(found, Pull) else None
    motor = [ref for ref in refs if pull is not None and field_of(ref) in MOTOR and ref in pull.servo.refs()]
    rest = [ref for ref in refs if ref not in motor]
    benched = pull if motor else None
    parts, numbers = _own_row(benched, {field_of(ref) for ref in motor}, given) if benched is not None else ([], [])
    parts += dict.fromkeys(_changed(ref, given) for ref in rest)
    numbers += [_now(ref, given) for ref in rest]
    what = f"`{', '.join(parts)}`, with your number{'s' if len(numbers) > 1 else ''} for {' and '.join(numbers)}"
    if benched is not None and (
        benched.servo.like is not None or any(ref.startswith("/servos/") for ref in benched.servo.refs())
    ):
        return f"At servos > {benched.means.model} write {what}"
    own = next((found for ref in rest for found in _entries(gathered, ref)), None)
    if own is not None:
        return f"At servos > {own} write {what}"
    model = benched.means.model if benched is not None else first.removeprefix("stock:servos/").partition("/")[0]
    return _own_servo(model, parts, numbers)


def where_to_write(ref: Ref, given: Mapping[Ref, Given] | None = None) -> str:
    """Return where a measured number goes, in words; with the ledger, with the number that stands there now."""
    if ref.startswith("stock:servos/") and not ref.endswith("/price"):
        return _own_servo(
            ref.removeprefix("stock:servos/").partition("/")[0], [_changed(ref, given or {})], [_now(ref, given or {})]
        )
    if ref.startswith("stock:"):
        kind, name, *rest = [*ref.removeprefix("stock:").split("/"), ""]
        field = next((part for part in reversed(rest) if part), "")
        if field == "price" or kind == "hours":
            return f"Write it at shop > {'hours' if kind == 'hours' else 'prices'} > {name}"
        return (
            OWN_FIELD.get((kind, field))
            or OWN_FIELD.get((kind, ""))
            or (
                f"No field of the file holds it: it is the stock's ({kind} > {name}{f' > {field}' if field else ''}), the same for every "
                "creature. Note your number beside the finding, and ask for it in the stock's next edition"
            )
        )
    if ref.startswith("default:"):
        name, _, field = ref.removeprefix("default:").partition("/")
        return f"Write it as `{field}` in {HOMES.get(name, 'the mech')}, with source: measured"
    return f"Write it at {shown_path(ref)}, with source: measured"


def _own_row(pull: Pull, fields_: Collection[str], given: Mapping[Ref, Given]) -> tuple[list[str], list[str]]:
    """Return what the entry of a servo measured at its own voltage holds, one row of that voltage, and the numbers to put in."""
    low, high, share = volts_row(pull.servo, pull.volts)
    scale = pull.volts / low.at if low is high else 1.0  # below the sheet's first row, and above its last

    def at(name: str) -> float:
        a, b = getattr(low, name), getattr(high, name)
        return float((a + share * (b - a)) * scale)

    source = given[low.ref("stall_current")].source if low.ref("stall_current") in given else "typical"
    pressed = bool(set(fields_) - {"free"})
    free = f"{number_text(math.pi / 3.0 / at('free'))} s/60deg"
    stall = _torque((pull.servo.derate if pressed else 1.0) * at("stall"))
    row = (
        f"at: {show(pull.volts, 'V')}, stall: {_block(stall) if pressed else stall}, "
        f"free: {_block(f'{free} ± {FILM}') if 'free' in fields_ else free}, stall_current: {show(at('stall_current'), 'A')}, source: {source}"
    )
    parts = [f"points: [{{{row}}}]", *(["derate: {value: 100 %, source: measured}"] if pressed else [])]
    return parts, [*([free] if "free" in fields_ else []), *([stall] if pressed else [])]


def _shop(refs: Sequence[Ref], given: Mapping[Ref, Given], gathered: object) -> str:
    """Return where prices or hours of the shop's own go, with the names by which the creature's lines go."""
    kind = "prices" if field_of(refs[0]) == "price" else "hours"
    lines = getattr(gathered, "lines", ())
    found: dict[str, str] = {}
    for ref in refs:
        keys = [line.key for line in lines if line.record.ref(field_of(ref)) == ref] or [ref.split("/")[1]]
        found.update((key, _now(ref, given)) for key in keys)
    if len(found) == 1:
        return f"Write it at shop > {kind} > {next(iter(found))}"
    held = ", ".join(f"{key}: {value}" for key, value in found.items())
    return f"Write them at shop > {kind}, in place of these: `{held}`"


def _entries(thing: object, ref: Ref) -> Iterator[str]:
    """Yield where the file has an entry of its own for the servo of a stock value, among what was gathered."""
    if not ref.startswith("stock:servos/") or isinstance(thing, (Record, str, float, int)) or thing is None:
        return
    if isinstance(thing, (tuple, list)):
        for item in thing:
            yield from _entries(item, ref)
    elif is_dataclass(thing) and not isinstance(thing, type):
        for field in fields(thing):
            value = getattr(thing, field.name)
            if isinstance(value, ServoClass) and value.like is not None and ref in value.refs():
                label = getattr(thing, "label", None) or getattr(getattr(thing, "means", None), "model", None)
                yield label or "its own entry"
            yield from _entries(value, ref)


def _torque(value: float) -> str:
    return f"{number_text(value)} N*m"


def _block(number: str) -> str:
    return f"{{value: {number}, source: measured}}"


def _own_servo(model: str, parts: Sequence[str], numbers: Sequence[str]) -> str:
    """Return how to write a servo of one's own that differs from a class of the stock in some numbers."""
    return (
        f"Under servos write `my_{model}: {{like: {model}, {', '.join(parts)}}}`, with your number{'s' if len(numbers) > 1 else ''} for "
        f"{' and '.join(numbers)}, and `model: my_{model}` wherever that servo is"
    )


def field_of(ref: Ref) -> str:
    """Return the last word of an input's field."""
    return next((part for part in reversed(ref.split("/")) if part and not part.isdigit()), "")


def _now(ref: Ref, given: Mapping[Ref, Given]) -> str:
    known = given.get(ref)
    return known.written if known is not None else "..."


def _changed(ref: Ref, given: Mapping[Ref, Given]) -> str:
    """Return the line of a servo's entry that holds a measured number of its own."""
    model, _, rest = ref.removeprefix("stock:servos/").partition("/")
    field = rest.split("/", 1)[0]
    if field == "body":
        return f"body: [{', '.join(_now(f'stock:servos/{model}/body/{k}', given) for k in range(3))}]"
    return f"{field}: {_block(_now(ref, given))}"
