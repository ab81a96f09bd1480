"""mass.<carrier>: what each carrier bears, added up from the file, against the limit that the brief sets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import Grade
from marotte.basis.units import show
from marotte.creature.schema.audience import Limits
from marotte.creature.schema.base import Record
from marotte.creature.schema.means import Servo
from marotte.creature.schema.supply import Cells
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said, register
from marotte.verdict.workings import Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

LIMITS = {"hand": "hand_mass", "skull": "head_mass", "shoulders": "shoulder_mass", "post": "post_mass"}
SAYS = {
    "hand": "the hand carries", "skull": "the head weighs", "shoulders": "the shoulders carry", "post": "the post carries",
    "rod": "the rods carry",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Item:
    """One mass of the sheet, or several alike."""

    label: str
    record: Record
    count: int

    @property
    def mass(self) -> float:
        """All of them together [kg]."""
        return float(getattr(self.record, "mass")) * self.count  # noqa: B009 - several records have one


@dataclass(frozen=True, slots=True)
class Sheet:
    """What one carrier bears, and its limit."""

    carrier: str
    items: tuple[Item, ...]
    limits: Limits

    @property
    def total(self) -> float:
        """The sum [kg]."""
        total = 0.0
        for item in self.items:
            total += item.mass
        return total


def items(creature: Creature) -> Iterator[tuple[str, Item]]:
    """Yield (carrier, item) for every mass of a creature: moving parts, servos, other masses, the battery."""
    for name, function in creature.functions.items():
        if function.load.mass > 0.0:
            yield function.carried_by, Item(name, function.load, 1)
    counts: dict[tuple[str, str], int] = {}
    for mech in creature.mechs.values():
        carrier = creature.functions[mech.outputs[0]].carried_by
        for given in mech.inputs:
            means = creature.means[given]
            if isinstance(means, Servo):
                counts[carrier, means.model] = counts.get((carrier, means.model), 0) + means.count
    for (bearer, model), count in sorted(counts.items()):
        yield bearer, Item(model, creature.servos[model], count)
    for name, carried in creature.masses.items():
        yield carried.carried_by, Item(name, carried, 1)
    battery = creature.supply.battery if creature.supply is not None else None
    if isinstance(battery, Cells) and battery.mass is not None and battery.carried_by is not None:
        yield battery.carried_by, Item("battery", battery, 1)


def sheet(creature: Creature, carrier: str) -> Sheet:
    """Return the mass sheet of one carrier, in the order of the file."""
    return Sheet(carrier, tuple(item for by, item in items(creature) if by == carrier), creature.limits)


def _subjects(creature: Creature) -> list[str]:
    carriers = {carrier for carrier, _ in items(creature)}
    return [name for name in SAYS if name in carriers]


def _gather(creature: Creature, results: Results, carrier: str) -> Sheet | NotClaimed:
    found = sheet(creature, carrier)
    field = LIMITS.get(carrier)
    if field is None or getattr(creature.limits, field) is None:
        why = f"{SAYS[carrier]} {show(found.total, 'kg')}; the file sets no limit"
        return NotClaimed(why=why, has=Quantity(value=found.total, unit="kg"))
    return found


def _find(args: Sheet) -> Found:
    limit = float(getattr(args.limits, LIMITS[args.carrier]))
    return Found(needed=Quantity(value=limit, unit="kg"), has=Quantity(value=args.total, unit="kg"))


def _work(w: Writer, args: Sheet, found: Found) -> None:
    w.need(w.given(args.limits, LIMITS[args.carrier], meaning="limit of the brief"))
    terms: list[str] = []
    for item in args.items:
        if item.count == 1:
            terms.append(w.given(item.record, "mass", symbol="m", meaning=f"{item.label}, mass"))
        else:
            one = w.given(item.record, "mass", symbol="m", meaning=f"{item.label}, one")
            many = w.read("n", f"how many {item.label}", "counted in the file", item.count, "1")
            terms.append(f"{many}*{one}")
    w.worked("m_all", f"what {args.carrier} bears together", " + ".join(terms), "kg")


def _say(args: Sheet, found: Found, grade: Grade) -> Said:
    limit = show(found.needed.value, "kg")
    text = f"{SAYS[args.carrier]} {show(args.total, 'kg')} of {limit} allowed"
    heavy = max(args.items, key=lambda item: item.mass)
    most = f"{heavy.count} x {heavy.label}" if heavy.count > 1 else heavy.label
    more = f"; the heaviest entry is {most} with {show(heavy.mass, 'kg')}"
    return Said(sentence=text[0].upper() + text[1:] + more + ".", clause=text)


MASS = register(
    Requirement(
        name="mass",
        number=1,
        asks="What a carrier bears, added up from the file, stays under the limit that the brief sets for it.",
        unit="kg",
        rule=Rule("at_most"),
        thresholds=Thresholds(
            0.13, 0.0,
            "A sum of parts forgets glue, screws and wire: 10 to 15 % is the usual addition (common practice, no source), "
            "so it performs where 15 % more would still be allowed (1 - 1/1.15 = 0.13).",
        ),
        method="mass-sheet",
        subjects=_subjects,
        gather=_gather,
        find=_find,
        work=_work,
        say=_say,
        weight=0.6,
        name_first=True,
    )
)  # fmt: skip
