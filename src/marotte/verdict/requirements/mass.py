"""mass.<carrier>: what each carrier bears, added up from the file, against the limit that the brief sets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.fit import CarrierSheet, MassLine
from marotte.basis.units import show
from marotte.creature.schema.audience import Limits
from marotte.creature.schema.base import Record
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.drive import servo_mechs
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
    """Of a skin: its strip; of all others, what holds ``mass``."""
    count: int
    mass: float
    """All of them together [kg]."""
    stuff: tuple[Record, ...] = ()
    """Of a skin: its material and its backing."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """What one carrier bears, and its limit."""

    carrier: str
    items: tuple[Item, ...]
    total: float
    """The sum as the mass sheet has it [kg]."""
    forgotten: tuple[float, float]
    """What is usually forgotten, least and most [kg]; not in the sum."""
    limits: Limits
    worn: bool = False
    """Whether someone wears the head, so that "skull" is the wearer's own."""


def _record(creature: Creature, line: MassLine) -> tuple[Record, tuple[Record, ...]]:
    """Return the record that a line's mass comes from."""
    if line.kind == "part":
        return creature.functions[line.of].load, ()
    if line.kind == "servo":
        return creature.servos[line.label], ()
    if line.kind == "entry":
        return creature.masses[line.of], ()
    if line.kind == "skin":
        strip = creature.skins[line.of].strip
        assert strip is not None
        stock = creature.stock_tables
        return strip, (stock.skins[strip.material], stock.backings[strip.backing])
    assert creature.supply is not None
    return creature.supply.battery, ()


def sheet(creature: Creature, found: CarrierSheet) -> Sheet:
    """Return the mass sheet of one carrier with its records; servos of one model in one line."""
    items: dict[tuple[str, str], Item] = {}
    for line in found.lines:
        record, stuff = _record(creature, line)
        key = (line.kind, line.label)
        before = items.get(key)
        count, mass = (before.count, before.mass) if before else (0, 0.0)
        items[key] = Item(line.label, record, count + line.count, mass + line.mass, stuff)
    return Sheet(found.carrier, tuple(items.values()), found.total, found.forgotten, creature.limits, _worn(creature))


def _worn(creature: Creature) -> bool:
    return any(person.posture == "in_suit" for person in creature.performers.values())


def _bears(carrier: str, worn: bool) -> str:
    return "the wearer's own head bears" if worn and carrier == "skull" else SAYS[carrier]


def _subjects(creature: Creature) -> list[str]:
    """Return what bears anything that the file gives a mass."""
    carriers = {function.carried_by for function in creature.functions.values() if function.load.mass > 0.0}
    carriers |= {creature.functions[creature.mechs[name].outputs[0]].carried_by for name in servo_mechs(creature)}
    carriers |= {entry.carried_by for entry in creature.masses.values()}
    return [name for name in SAYS if name in carriers]


def _gather(creature: Creature, results: Results, carrier: str) -> Sheet | NotClaimed:
    if carrier not in results.masses.carriers:
        return NotClaimed(why=f"nothing that {_bears(carrier, _worn(creature))} is written")
    found = sheet(creature, results.masses.carriers[carrier])
    field = LIMITS.get(carrier)
    if field is None or getattr(creature.limits, field) is None:
        why = f"{_bears(carrier, _worn(creature))} {show(found.total, 'kg')}; the file sets no limit"
        return NotClaimed(why=why, has=Quantity(value=found.total, unit="kg"))
    return found


def _find(args: Sheet) -> Found:
    limit = float(getattr(args.limits, LIMITS[args.carrier]))
    return Found(needed=Quantity(value=limit, unit="kg"), has=Quantity(value=args.total, unit="kg"))


def _work(w: Writer, args: Sheet, found: Found) -> None:
    w.need(w.given(args.limits, LIMITS[args.carrier], meaning="limit of the brief"))
    terms: list[str] = []
    for item in args.items:
        if item.stuff:
            skin, backing = item.stuff
            width, length = w.given(item.record, "width"), w.given(item.record, "length")
            thick, dense = w.given(item.record, "thickness"), w.given(skin, "density")
            lining = w.given(backing, "mass")
            terms.append(w.worked("m_s", item.label, f"{width}*{length}*({thick}*{dense} + {lining})", "kg"))
        elif item.count == 1:
            terms.append(w.given(item.record, "mass", symbol="m", meaning=f"{item.label}, mass"))
        else:
            one = w.given(item.record, "mass", symbol="m", meaning=f"{item.label}, one")
            many = w.read("n", f"how many {item.label}", "counted in the file", item.count, "1")
            terms.append(f"{many}*{one}")
    w.worked("m_all", f"all of it together, borne by the {args.carrier}", " + ".join(terms), "kg")


def _say(args: Sheet, found: Found, grade: Grade) -> Said:
    limit = show(found.needed.value, "kg")
    text = f"{_bears(args.carrier, args.worn)} {show(args.total, 'kg')} of {limit} allowed"
    heavy = max(args.items, key=lambda item: item.mass)
    most = f"{heavy.count} x {heavy.label}" if heavy.count > 1 else heavy.label
    more = f"; the heaviest entry is {most} with {show(heavy.mass, 'kg')}"
    least, most_ = (show(mass, "kg") for mass in args.forgotten)
    more += f"; what is usually forgotten (glue, screws, wire, paint) would add {least} to {most_} (common practice, no source)"
    return Said(sentence=text[0].upper() + text[1:] + more + ".", clause=text)


MASS = Requirement(
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
        method="masses",
        subjects=_subjects,
        gather=_gather,
        find=_find,
        work=_work,
        say=_say,
        weight=0.6,
        name_first=True,
        example="skull",
)  # fmt: skip
