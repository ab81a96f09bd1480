"""mass.<carrier>: what each carrier bears, added up from the file, against the limit that the brief sets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.fit import CarrierSheet, MassKind, MassLine
from marotte.basis.units import show
from marotte.creature.naming import named
from marotte.creature.schema.audience import Limits
from marotte.creature.schema.base import Record
from marotte.creature.schema.means import Servo
from marotte.creature.schema.supply import Cells
from marotte.mech.masses import FORGOTTEN, skin_bearer
from marotte.mech.skin_pieces import weighed_as
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
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
    kind: MassKind
    whole: bool
    """Whether it was weighed whole, so that nothing of it is forgotten."""
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
    parts: float
    """What that is a share of: all that is added up from pieces, and not weighed whole [kg]."""
    limits: Limits | None
    """None where the brief does not limit this carrier."""
    worn: bool = False
    """Whether someone wears the head, so that "skull" is the wearer's own."""

    @property
    def limit(self) -> float | None:
        """What the brief allows [kg]; None where it says nothing."""
        return None if self.limits is None else getattr(self.limits, LIMITS[self.carrier])


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
        items[key] = Item(line.label, record, count + line.count, mass + line.mass, line.kind, line.whole, stuff)
    field = LIMITS.get(found.carrier)
    limits = creature.limits if field is not None and getattr(creature.limits, field) is not None else None
    return Sheet(
        found.carrier, tuple(items.values()), found.total, found.forgotten, found.parts, limits, _worn(creature)
    )  # fmt: skip


def _worn(creature: Creature) -> bool:
    return any(person.posture == "in_suit" for person in creature.performers.values())


def _bears(carrier: str, worn: bool) -> str:
    return "the wearer's own head bears" if worn and carrier == "skull" else SAYS[carrier]


def _subjects(creature: Creature) -> list[str]:
    """Return what bears anything that the file gives a mass, or has a limit."""
    carriers: set[str] = {function.carried_by for function in creature.functions.values() if function.load.mass > 0.0}
    for mech in creature.mechs.values():
        for name in mech.inputs:
            means = creature.means[name]
            if isinstance(means, Servo):
                carriers.add(means.carried_by or creature.functions[mech.outputs[0]].carried_by)
    carriers |= {entry.carried_by for entry in creature.masses.values()}
    battery = creature.supply.battery if creature.supply is not None else None
    if isinstance(battery, Cells) and battery.mass is not None and battery.carried_by is not None:
        carriers.add(battery.carried_by)
    carriers |= {
        skin_bearer(skin, creature.functions)
        for name, skin in creature.skins.items()
        if skin.strip is not None and weighed_as(name, creature.masses) is None
    }
    carriers |= {carrier for carrier, field in LIMITS.items() if getattr(creature.limits, field) is not None}
    return [name for name in SAYS if name in carriers]


def _gather(creature: Creature, results: Results, carrier: str) -> Sheet | NotClaimed:
    if carrier not in results.masses.carriers:
        return NotClaimed(why=f"nothing that {_bears(carrier, _worn(creature))} is written")
    found = sheet(creature, results.masses.carriers[carrier])
    if found.limits is None:
        why = f"{_bears(carrier, _worn(creature))} {show(found.total, 'kg')}; the file sets no limit"
        return NotClaimed(why=why, has=Quantity(value=found.total, unit="kg"), shown=found)
    return found


def _find(args: Sheet) -> Found:
    assert args.limit is not None  # asked before
    return Found(
        needed=Quantity(value=args.limit, unit="kg"), has=Quantity(value=args.total, unit="kg"),
        performs=args.forgotten[1] / args.limit,
    )  # fmt: skip


def _work(w: Writer, args: Sheet, found: Found) -> None:
    """The last step is what is borne; what is usually forgotten stands before it, and is not in it."""
    if args.limits is not None:
        w.need(w.given(args.limits, LIMITS[args.carrier], meaning="limit of the brief"))
    parts: list[str] = []
    whole: list[str] = []
    for item in args.items:
        (whole if item.whole else parts).append(_term(w, item))
    added = w.worked("m_p", "what is added up from parts", " + ".join(parts) or "0", "kg")
    scale = (
        w.worked("m_w", "what is taken whole: weighed, or a suit as it is worn", " + ".join(whole), "kg")
        if whole
        else ""
    )
    share = w.rule("k_f", "most that is usually forgotten of parts: glue, screws, wire, paint", FORGOTTEN[1], "1")
    w.worked("m_f", "usually forgotten, and not in the sum", f"{share}*{added}", "kg")
    total = f"{added} + {scale}" if whole else added
    w.worked("m_all", f"all of it together, borne by the {args.carrier}", total, "kg")


def _term(w: Writer, item: Item) -> str:
    """Write one line of the sheet, and return it as a term of the sum."""
    if item.stuff:
        skin, backing = item.stuff
        width, length = w.given(item.record, "width"), w.given(item.record, "length")
        thick, dense = w.given(item.record, "thickness"), w.given(skin, "density")
        lining = w.given(backing, "mass")
        return w.worked("m_s", item.label, f"{width}*{length}*({thick}*{dense} + {lining})", "kg")
    if item.count == 1:
        return w.given(item.record, "mass", symbol="m", meaning=f"{item.label}, mass")
    one = w.given(item.record, "mass", symbol="m", meaning=f"{item.label}, one")
    many = w.read("n", f"how many {item.label}", "counted in the file", item.count, "1")
    return f"{many}*{one}"


def _say(args: Sheet, found: Found, grade: Grade) -> Said:
    limit = show(found.needed.value, "kg")
    text = f"{_bears(args.carrier, args.worn)} {show(args.total, 'kg')} of {limit} allowed"
    more = f"; {_heaviest(args)}"
    if args.parts > 0.0:
        least, most = (show(mass, "kg") for mass in args.forgotten)
        whole = ", ".join(dict.fromkeys(named(item.label) for item in args.items if item.whole))
        parts = f", of the {show(args.parts, 'kg')} that are added up from parts"
        of = f"{parts}; to what is taken whole ({whole}) it adds nothing" if whole else ""
        more += f"; what is usually forgotten (glue, screws, wire, paint) would add {least} to {most} (common practice, no source){of}"
    return Said(sentence=text[0].upper() + text[1:] + more + ".", clause=text)


def _heaviest(args: Sheet) -> str:
    """Return what weighs most of what a shop can build lighter, and what the servos come to, which it cannot."""
    servos = [item for item in args.items if item.kind == "servo"]
    built = [item for item in args.items if item.kind != "servo"]
    said = []
    if built:
        heavy = max(built, key=lambda item: item.mass)
        said.append(f"the heaviest entry is {named(heavy.label)} with {show(heavy.mass, 'kg')}")
    if servos:
        count, mass = sum(item.count for item in servos), sum(item.mass for item in servos)
        said.append(f"{'the servo weighs' if count == 1 else f'{count} servos weigh'} {show(mass, 'kg')}")
    return ", ".join(said)


MASS = Requirement(
        name="mass",
        number=2,
        asks="What a carrier bears, added up from the file, stays under the limit that the brief sets for it.",
        unit="kg",
        rule=Rule("at_most"),
        thresholds=Thresholds(
            1.0 - 1.0 / (1.0 + FORGOTTEN[1]), 0.0,
            "A sum of parts forgets glue, screws and wire: 10 to 15 % is the usual addition (common practice, no source), so it performs "
            "where 15 % more would still be allowed: 1 - 1/1.15, and less where something is taken whole, of which nothing is forgotten.",
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
