"""Knobs in reach of a finding: the numbers and choices of the file that a remedy may turn, and a creature with one turned.

Knobs are declared in the schema beside each field (``knob=``); a few more that are choices, or stand in tables of names, are
listed here. A finding's knobs are those whose ref it rests on.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, Final, TypeAlias

from marotte.basis.given import Ref
from marotte.basis.units import DEG, Kind, number_text
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature
from marotte.creature.schema.base import Knob, Record, quantity
from marotte.creature.schema.means import CHANGE_SERVO, Servo
from marotte.creature.schema.mechs import Linkage
from marotte.creature.schema.skins import SkinCard, Strip

Chain: TypeAlias = tuple[str | int, ...]
"""The way from a creature to a value: names of fields, keys of tables, places of lists."""
Value: TypeAlias = float | str

SECTIONS: Final = ("functions", "mechs", "means", "skins", "servos", "supply", "masses", "brief")
RELIEF: Final = Knob(low=0.0, high=0.5, step=0.05, cost=2)
"""Creases or slits take up to half of the width out (a rule of this project); low and high are values."""
SCULPTED: Final = Knob(low=0.0, high=0.6, step=DEG, cost=5)
"""Sculpt it open by up to that share of the travel; it is a new sculpture and mould."""
PACE: Final = Knob(low=0.75, high=1.0, step=0.1, cost=2)
DIFFERENCES: Final = frozenset({"rad"})
"""Units in which a declared knob's low and high are differences, not factors."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """One knob of one creature: where it stands, where else it may."""

    ref: Ref
    """In the written file; one that is not written yet is written there."""
    written: bool
    says: str
    chains: tuple[Chain, ...]
    """Every place in the model that this one written value fills; both sides of a pair."""
    now: Value
    choices: tuple[Value, ...]
    """Nearest to ``now`` first."""
    kind: Kind | None
    """None where it is a choice of names."""
    cost: float
    re_clocks: bool = False

    def text(self, value: Value) -> str:
        """Return a value as it is written into the file."""
        if isinstance(value, str) or self.kind is None:
            return str(value)
        factor = self.kind.spellings[self.kind.shown]
        return f"{number_text(value / factor, 6)} {self.kind.shown}".strip()


def turns(creature: Creature, rests_on: frozenset[Ref]) -> tuple[Turn, ...]:
    """Return the knobs that a finding rests on, cheapest first, then by ref."""
    found: dict[Ref, Turn] = {}
    for chain, holder, field in _quantities(creature):
        ref = _ref(holder, field)
        turn = _turn(creature, chain, holder, field, ref) if ref is not None else None
        if turn is None:
            continue
        if turn.ref in found:
            known = found[turn.ref]
            found[turn.ref] = replace(
                known, chains=known.chains + tuple(c for c in turn.chains if c not in known.chains)
            )
        elif _reached(turn.ref, holder, field, rests_on):
            found[turn.ref] = turn
    return tuple(sorted(found.values(), key=lambda turn: (turn.cost, turn.ref)))


def _reached(ref: Ref, holder: Record, field: str, rests_on: frozenset[Ref]) -> bool:
    """A field that is not written yet is reached where its block is."""
    block = holder.ref("")
    return ref in rests_on or any(
        other.startswith(f"{block}/") for other in rests_on if holder.ref(field).startswith("default:")
    )


def _ref(holder: Record, field: str) -> Ref | None:
    """Return where a field is written, or would be; None in a block that nobody wrote (stock, defaults)."""
    ref = holder.ref(field)
    if not ref.startswith("default:"):
        return None if ref.startswith("stock:") else ref
    block = holder.ref("")
    return f"{block}/{field}" if block.startswith("/") else None


def _quantities(creature: Creature) -> Iterator[tuple[Chain, Record, str]]:
    """Yield (chain, record, field) of every field that may carry a knob."""
    for section in SECTIONS:
        yield from _walk((section,), getattr(creature, section))


def _walk(chain: Chain, thing: Any) -> Iterator[tuple[Chain, Record, str]]:
    if isinstance(thing, Record):
        for field in type(thing).model_fields:
            value = getattr(thing, field)
            yield (*chain, field), thing, field
            yield from _walk((*chain, field), value)
    elif isinstance(thing, Mapping):
        for name, item in thing.items():
            yield from _walk((*chain, name), item)
    elif isinstance(thing, tuple):
        for k, item in enumerate(thing):
            yield from _walk((*chain, k), item)
    elif is_dataclass(thing) and not isinstance(thing, type):
        for part in fields(thing):
            yield from _walk((*chain, part.name), getattr(thing, part.name))


def _turn(creature: Creature, chain: Chain, holder: Record, field: str, ref: Ref) -> Turn | None:
    written = not holder.ref(field).startswith("default:")
    if isinstance(holder, Servo) and field == "model":
        return _ladder(creature, chain, holder, ref)
    if isinstance(holder, Strip) and field == "relief":
        return _of_values(ref, written, chain, holder, field, RELIEF, _steps(RELIEF.low, RELIEF.high, RELIEF.step))
    note = quantity(type(holder), field)
    value = getattr(holder, field)
    if isinstance(holder, SkinCard) and field == "sculpted_at":
        return _sculpted(creature, chain, holder)
    if note is None or note.knob is None or not isinstance(value, float):
        return None
    if isinstance(holder, Linkage) and not written:
        return None
    knob, unit = note.knob, note.kinds[0].si
    low, high = (
        (value + knob.low, value + knob.high) if unit in DIFFERENCES else sorted((value * knob.low, value * knob.high))
    )
    choices = [v for v in _steps(low, high, knob.step) if _within(note, v)]
    return _of_values(ref, written, chain, holder, field, knob, choices, re_clocks=knob.cost == 0)


def _within(note: Any, value: float) -> bool:
    return (
        (note.gt is None or value > note.gt)
        and (note.ge is None or value >= note.ge)
        and (note.le is None or value <= note.le)
        and (note.lt is None or value < note.lt)
    )


def _of_values(
    ref: Ref, written: bool, chain: Chain, holder: Record, field: str, knob: Knob, values: list[float], *, re_clocks: bool = False
) -> Turn | None:  # fmt: skip
    note = quantity(type(holder), field)
    now = float(getattr(holder, field))
    assert note is not None
    choices = sorted((v for v in values if abs(v - now) > 1e-9), key=lambda v: (abs(v - now), v))
    if not choices:
        return None
    return Turn(
        ref=ref, written=written, says=note.says.split(",")[0], chains=(chain,), now=now, choices=tuple(choices), kind=note.kinds[0],
        cost=knob.cost, re_clocks=re_clocks,
    )  # fmt: skip


def _steps(low: float, high: float, step: float) -> list[float]:
    """Return the multiples of a step inside a range, rounded so that they are written short."""
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [k * step for k in range(first, last + 1)]


def _sculpted(creature: Creature, chain: Chain, card: SkinCard) -> Turn | None:
    """The pose in which a skin is sculpted: the first function that holds it, more open."""
    name = min(card.holds, key=lambda held: (-abs(card.holds[held]) * creature.functions[held].span, held))
    function = creature.functions[name]
    now = card.sculpted_at.get(name, function.neutral)
    ref = card.ref("sculpted_at", name)
    if not ref.startswith("/") or name not in card.sculpted_at:
        return None  # where no pose is written the file has no place to turn it at
    note = quantity(type(function), "neutral")
    assert note is not None
    turning = PARTS[function.part].kind == "turn"
    step = SCULPTED.step if turning else 0.5e-3
    values = _steps(function.travel[0], function.travel[0] + SCULPTED.high * function.span, step)
    choices = tuple(sorted((v for v in values if abs(v - now) > 1e-9), key=lambda v: (abs(v - now), v)))
    kind = note.kinds[0] if turning else note.kinds[1]
    return Turn(
        ref=ref,
        written=True,
        says=f"sculpted at {name}",
        chains=((*chain, name),),
        now=now,
        choices=choices,
        kind=kind,
        cost=SCULPTED.cost,
    )


def _ladder(creature: Creature, chain: Chain, means: Servo, ref: Ref) -> Turn | None:
    """Other servo classes of the stock, from the lightest change of mass to the heaviest."""
    now = creature.servos[means.model]
    others = [name for name in creature.stock_tables.servos if name != means.model]
    others.sort(key=lambda name: (abs(creature.stock_tables.servos[name].mass - now.mass), name))
    if not others:
        return None
    return Turn(
        ref=ref,
        written=True,
        says="servo",
        chains=(chain,),
        now=means.model,
        choices=tuple(others),
        kind=None,
        cost=CHANGE_SERVO.cost,
    )


def turned(creature: Creature, changes: Mapping[Turn, Value]) -> Creature:
    """Return a creature with some knobs at other values; everything that is not touched is the same object."""
    out = creature
    for turn, value in changes.items():
        for chain in turn.chains:
            out = _set(out, chain, value)
        if turn.kind is None and isinstance(value, str) and value not in out.servos:
            out = replace(out, servos={**out.servos, value: out.stock_tables.servos[value]})
    return out


def _set(thing: Any, chain: Chain, value: Value) -> Any:
    head, rest = chain[0], chain[1:]
    if isinstance(thing, Record):
        inner = value if not rest else _set(getattr(thing, str(head)), rest, value)
        made = thing.model_copy(update={str(head): inner})
        made._digest = b""
        return made
    if isinstance(thing, Mapping):
        return {**thing, head: value if not rest else _set(thing[head], rest, value)}
    if isinstance(thing, tuple):
        k = int(head)
        return (*thing[:k], value if not rest else _set(thing[k], rest, value), *thing[k + 1 :])
    inner = value if not rest else _set(getattr(thing, str(head)), rest, value)
    return replace(thing, **{str(head): inner})
