"""Knobs in reach of a finding: the numbers and choices of the file that a remedy may turn, and a creature with one turned.

Knobs are declared in the schema beside each field (``knob=``); a few more that are choices, or stand in tables of names, are
listed here. A finding's knobs are those whose ref it rests on.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, Final, Literal, TypeAlias

from marotte.basis.given import Given, Place, Ref
from marotte.basis.units import DEG, MASS, Kind, number_text
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature
from marotte.creature.schema.base import DECISIONS, Knob, Record, quantity
from marotte.creature.schema.means import CHANGE_SERVO, Servo
from marotte.creature.schema.mechs import Linkage
from marotte.creature.schema.servos import ServoClass
from marotte.creature.schema.skins import SkinCard, Strip
from marotte.creature.schema.supply import Lead, Supply

Chain: TypeAlias = tuple[str | int, ...]
"""The way from a creature to a value: names of fields, keys of tables, places of lists."""
Value: TypeAlias = float | str

SECTIONS: Final = ("functions", "mechs", "means", "skins", "servos", "supply", "masses", "brief")
RELIEF: Final = Knob(low=0.0, high=0.5, step=0.05, cost=2)
"""Creases or slits take up to half of the width out (a rule of this project); low and high are values."""
SCULPTED: Final = Knob(low=0.0, high=0.4, step=DEG, cost=5)
"""Sculpt it open by up to that share of the travel: beyond it the fold shows when it is shut (a rule of this project). It
is a new sculpture and mould."""
BUILT_TO: Final = 0.1
"""Half-width, as a share, to which a part can be built to a weight (common practice, no source)."""
NOWHERE: Final = Place(file="", line=1, column=1)
EACH_SERVO: Final = 0.1
"""Cost of another voltage for every servo that gets it too (a rule of this project)."""
MATERIAL_COST: Final = 5.0
BACKING_COST: Final = 4.0
PAIRED: Final = ("functions", "mechs", "skins")
"""Sections whose entries may stand for both sides."""
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
    near: int = 0
    """Of a choice: how many of the first fit where it stands now."""
    stands: Ref = ""
    """Where it stands now, if not at ``ref``: a default, or the plain name of a pair of which one side is turned."""

    def text(self, value: Value) -> str:
        """Return a value as it is written into the file."""
        if isinstance(value, str) or self.kind is None:
            return str(value)
        factor = self.kind.spellings[self.kind.shown]
        return f"{number_text(value / factor, 6)} {self.kind.shown}".strip()

    def to_write(self, value: Value) -> str:
        """Return a value as a remedy writes it: a mass with the tolerance that it is built to, for nobody has weighed it yet."""
        return self.text(value) + (f" ± {number_text(100 * BUILT_TO)} %" if self.kind is MASS else "")

    def given(self, value: Value) -> Given | None:
        """Return how sure a value is once it is written; None of a choice."""
        if isinstance(value, str) or self.kind is None:
            return None
        return Given(
            value=value, unit=self.kind.si, written=self.to_write(value),
            source="measured" if self.kind in DECISIONS else "guess",
            spread=BUILT_TO * value if self.kind is MASS else None, place=NOWHERE, ref=self.stands or self.ref,
        )  # fmt: skip


def turns(
    creature: Creature, rests_on: frozenset[Ref], side: Literal["left", "right"] | None = None
) -> tuple[Turn, ...]:
    """Return the knobs that a finding rests on, cheapest first, then by ref.

    With a side, what is written once for both of a pair is turned on that side alone.
    """
    found: dict[Ref, Turn] = {}
    blocks = _blocks(rests_on)
    for chain, holder, field in _quantities(creature):
        ref = _ref(holder, field)
        if ref is None or not (
            ref in found or field == "sculpted_at" or _reached(ref, holder, field, rests_on, blocks)
        ):
            continue
        turn = _turn(creature, chain, holder, field, ref)
        if turn is None:
            continue
        if turn.ref in found:
            known = found[turn.ref]
            found[turn.ref] = replace(
                known, chains=known.chains + tuple(c for c in turn.chains if c not in known.chains)
            )
        elif _reached(turn.ref, holder, field, rests_on, blocks):
            found[turn.ref] = turn
    knobs = [turn if side is None else _sided(turn, side) for turn in found.values()]
    return tuple(sorted(knobs, key=lambda turn: (turn.cost, turn.ref)))


def _sided(turn: Turn, side: Literal["left", "right"]) -> Turn:
    """Return a knob of a pair as one of one side; a knob of neither, or written for one side already, as it is."""
    own = tuple(chain for chain in turn.chains if str(chain[1]).endswith(f"_{side}"))
    _, section, name, *rest = turn.ref.split("/")
    if not own or own == turn.chains or section not in PAIRED or name.endswith(("_left", "_right")):
        return turn
    return replace(
        turn, ref="/".join(("", section, name, side, *rest)), chains=own, written=False, stands=turn.stands or turn.ref
    )


def _reached(ref: Ref, holder: Record, field: str, rests_on: frozenset[Ref], blocks: frozenset[Ref]) -> bool:
    """A field that is not written yet is reached where its block is."""
    return ref in rests_on or (holder.ref(field).startswith("default:") and holder.ref("") in blocks)


def _blocks(refs: frozenset[Ref]) -> frozenset[Ref]:
    """Return every block that some refs lie in."""
    found: set[Ref] = set()
    for ref in refs:
        block = ref.rpartition("/")[0]
        while block and block not in found:
            found.add(block)
            block = block.rpartition("/")[0]
    return frozenset(found)


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
    if isinstance(holder, Strip) and field in ("material", "backing"):
        return _of_skin(creature, chain, holder, field, ref, written)
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
    if field == "volts":
        fed = _fed(creature, chain)
        most = min((servo.points[-1].at for servo in fed), default=math.inf)
        choices = [v for v in choices if v <= most + 1e-9]
        knob = replace(knob, cost=knob.cost + EACH_SERVO * len(fed))
    return _of_values(ref, written, chain, holder, field, knob, choices, re_clocks=knob.cost == 0)


def _fed(creature: Creature, chain: Chain) -> list[ServoClass]:
    """Return the class of every servo whose voltage a supply or regulator sets: each has a sheet with a last row."""
    assert creature.supply is not None
    own = str(chain[2]) if chain[1] == "leads" else None  # a regulator's lead; None: the battery
    return [
        creature.servos[means.model]
        for means in creature.means.values()
        if isinstance(means, Servo) and _sets_volts(creature.supply, means) == own
    ]


def feeds(creature: Creature, means: Servo) -> frozenset[Ref]:
    """Return what sets the voltage of a servo: a regulator, or else the battery."""
    if creature.supply is None:
        return frozenset()
    lead = _sets_volts(creature.supply, means)
    regulator = creature.supply.leads[lead].regulator if lead is not None else None
    return (regulator or creature.supply.battery).refs()


def _sets_volts(supply: Supply, means: Servo) -> str | None:
    """Return the lead whose regulator sets the voltage of a servo; None where it is the battery's."""
    lead = means.lead if means.lead is not None else next(iter(supply.leads), None)
    return _regulated_by(supply.leads, lead)


def _regulated_by(leads: Mapping[str, Lead], lead: str | None) -> str | None:
    """Return the lead whose regulator sets the voltage of a lead; None where it is the battery's."""
    seen = 0
    while lead is not None and lead in leads and seen <= len(leads):
        if leads[lead].regulator is not None:
            return lead
        lead, seen = leads[lead].fed_by, seen + 1
    return None


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
        cost=knob.cost, re_clocks=re_clocks, stands=holder.ref(field),
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
    """Other servo classes of the stock: those of the same body first, then by how far their mass is from this one's."""
    now = creature.servos[means.model]
    stock = creature.stock_tables.servos
    others = [name for name in stock if name not in (means.model, now.like) and not stock[name].measured]
    others.sort(key=lambda name: (_other_body(stock[name], now), abs(stock[name].mass - now.mass), name))
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
        near=sum(not _other_body(stock[name], now) for name in others),
    )


def _other_body(servo: ServoClass, now: ServoClass) -> bool:
    return any(abs(a - b) > 2e-3 for a, b in zip(servo.body[:2], now.body[:2], strict=True))


def _of_skin(creature: Creature, chain: Chain, strip: Strip, field: str, ref: Ref, written: bool) -> Turn | None:
    """Softer materials of the same family, or backings that hold less, the nearest first."""
    now = getattr(strip, field)
    if field == "material":
        stuffs = creature.stock_tables.skins
        stiff = {name: stuffs[name].modulus for name in stuffs if name.split("_")[0] == now.split("_")[0]}
    else:
        stiff = {name: backing.factor for name, backing in creature.stock_tables.backings.items()}
    others = sorted((name for name in stiff if stiff[name] < 0.95 * stiff[now]), key=lambda name: (-stiff[name], name))
    if not others:
        return None
    cost = MATERIAL_COST if field == "material" else BACKING_COST
    return Turn(
        ref=ref,
        written=written,
        says=field,
        chains=(chain,),
        now=now,
        choices=tuple(others),
        kind=None,
        cost=cost,
        near=len(others),
    )


def turned(creature: Creature, changes: Mapping[Turn, Value]) -> Creature:
    """Return a creature with some knobs at other values; everything that is not touched is the same object."""
    out = creature
    for turn, value in changes.items():
        for chain in turn.chains:
            out = _set(out, chain, value)
        if turn.says == "servo" and isinstance(value, str) and value not in out.servos:
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
