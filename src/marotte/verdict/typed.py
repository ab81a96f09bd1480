"""Where a measured number is typed, in words with the very line: a field, an entry of one's own, or nowhere yet."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
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
MOTOR: Final = frozenset({"stall", "free", "derate"})
"""Fields of a servo that one bench test at its own voltage settles."""


def typed(ref: Ref, field: str, given: Mapping[Ref, Given], gathered: object) -> str:
    """Return where the number measured for an input goes, as things stand in the file.

    Args:
        ref: of the input.
        field: its last word.
        given: the ledger.
        gathered: what the finding was made from: servos with entries of their own are found in it.
    """
    pull = getattr(gathered, "pull", gathered)
    if field in MOTOR and isinstance(pull, Pull) and ref in pull.servo.refs():
        return _own_row(pull, field, given)
    if not ref.endswith("/price") and (own := next(_entries(gathered, ref), None)) is not None:
        return f"At {own} write `{_changed(ref, given)}`, with your number for {_now(ref, given)}"
    return where_to_write(ref, given)


def where_to_write(ref: Ref, given: Mapping[Ref, Given] | None = None) -> str:
    """Return where a measured number goes, in words; with the ledger, with the number that stands there now."""
    if ref.startswith("stock:servos/"):
        return _own_servo(ref, given or {})
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


def _own_row(pull: Pull, field: str, given: Mapping[Ref, Given]) -> str:
    """Return the entry of a servo whose torque or speed was measured at its own voltage: one row, of that voltage."""
    low, high, share = volts_row(pull.servo, pull.volts)
    scale = pull.volts / low.at if low is high else 1.0  # below the sheet's first row, and above its last

    def at(name: str) -> float:
        a, b = getattr(low, name), getattr(high, name)
        return float((a + share * (b - a)) * scale)

    source = given[low.ref("stall_current")].source if low.ref("stall_current") in given else "typical"
    amps = f"stall_current: {show(at('stall_current'), 'A')}"
    if field == "free":
        number = f"{number_text(math.pi / 3.0 / at('free'))} s/60deg"
        row = f"stall: {_torque(at('stall'))}, free: {_block(number)}, {amps}"
        more = ""
    else:
        number = _torque(pull.servo.derate * at("stall"))
        row = f"stall: {_block(number)}, free: {number_text(math.pi / 3.0 / at('free'))} s/60deg, {amps}"
        more = ", derate: {value: 100 %, source: measured}"
    points = f"points: [{{at: {show(pull.volts, 'V')}, {row}, source: {source}}}]{more}"
    if pull.servo.like is not None or any(ref.startswith("/servos/") for ref in pull.servo.refs()):
        return f"At servos > {pull.means.model} write `{points}`, with your number for {number}"
    own = f"my_{pull.means.model}"
    return (
        f"Under servos write `{own}: {{like: {pull.means.model}, {points}}}`, with your number for {number}, and `model: {own}` wherever that "
        "servo is"
    )


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
                yield f"servos > {label}" if label else "the servo's own entry under servos"
            yield from _entries(value, ref)


def _torque(value: float) -> str:
    return f"{number_text(value)} N*m"


def _block(number: str) -> str:
    return f"{{value: {number}, source: measured}}"


def _own_servo(ref: Ref, given: Mapping[Ref, Given]) -> str:
    """Return how to write a servo of one's own that differs from a class of the stock in one number."""
    model = ref.removeprefix("stock:servos/").partition("/")[0]
    return (
        f"Under servos write `my_{model}: {{like: {model}, {_changed(ref, given)}}}`, with your number for {_now(ref, given)}, and "
        f"`model: my_{model}` wherever that servo is"
    )


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
