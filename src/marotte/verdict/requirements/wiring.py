"""power.wire, power.fuse: what the leads bear.

Two limits of a wire, for two questions. All day it is loaded by 700 circular mils an ampere, so that it stays cool and loses
little. In a fault the fuse must go before the wire does: that is judged by what the wire bears in free air, halved because it
lies among others, in foam and under fur.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.units import show
from marotte.creature.schema.stock import Ampacity
from marotte.creature.schema.supply import Lead
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.power import unfed
from marotte.verdict.workings import Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results


AMONG_OTHERS: Final = 0.5
"""Share of its current in free air that a wire bears among others (NFPA 70:2014, table 310.15(B)(3)(a): 50 % for 10 to 20 wires
that carry current; from copies of the table on the web)."""


@dataclass(frozen=True, slots=True)
class Wire:
    """The lead that comes nearest to what its wire, or its fuse, bears."""

    name: str
    lead: Lead
    ampacity: Ampacity
    rms_a: float

    @property
    def bears(self) -> float:
        """What the wire bears among others before it is damaged [A]."""
        return AMONG_OTHERS * self.ampacity.chassis


def _leads(creature: Creature, results: Results) -> list[Wire]:
    assert not isinstance(results.response, Unknown)
    assert creature.supply is not None
    rails, table = results.response.rails, creature.stock_tables.ampacity
    out: list[Wire] = []
    for k, name in enumerate(rails.leads):
        lead = creature.supply.leads.get(name)
        if lead is not None:
            out.append(Wire(name, lead, ampacity_of(lead, table), float(rails.rms_a[k])))
    return out


def ampacity_of(lead: Lead, table: Mapping[int, Ampacity]) -> Ampacity:
    """Return the row of a wire's number, or of the next thinner one."""
    return table[min((gauge for gauge in table if gauge >= lead.awg), default=max(table))]


def _gather_wire(creature: Creature, results: Results, about: str) -> Wire | Unknown | NotClaimed:
    nothing = unfed(creature, results)
    if nothing is not None:
        return nothing
    leads = _leads(creature, results)
    if not leads:
        return NotClaimed(why="no lead is written")
    return max(leads, key=lambda wire: (wire.rms_a / wire.ampacity.bundled, wire.name))


def _find_wire(args: Wire) -> Found:
    return Found(
        needed=Quantity(value=args.ampacity.bundled, unit="A"),
        has=Quantity(value=args.rms_a, unit="A"),
        rests_on=args.lead.refs(),
    )


def _work_wire(w: Writer, args: Wire, found: Found) -> None:
    what = f"current with which AWG {args.ampacity.awg} is loaded in a bundle"
    w.need(w.rule("I_d", what, args.ampacity.bundled, "A", "700 circular mils an ampere (common practice, no source)"))
    w.read(
        "I_rms", "current over the worst minute, root mean square", f"drive: rails.rms_a[{args.name}]", args.rms_a, "A"
    )


def _say_wire(args: Wire, found: Found, grade: Grade) -> Said:
    bears = show(args.ampacity.bundled, "A")
    text = f"the lead {args.name} carries {show(args.rms_a, 'A', 2)} of the {bears} with which AWG {args.lead.awg} is loaded in a bundle"
    return Said(sentence=f"{text[0].upper()}{text[1:]} to stay cool, over its worst minute.", clause=text)


WIRE = Requirement(
    name="wire",
    number=2,
    asks="Over its worst minute no lead carries more than its wire is loaded with in a bundle, to stay cool and lose little.",
    unit="A",
    rule=Rule("at_most"),
    thresholds=Thresholds(
        0.0, -0.25,
        "The table of the stock, for bundled wire, is on the safe side: a quarter over is only just (common practice, no source).",
    ),
    method="power",
    subjects=lambda creature: ["power"],
    gather=_gather_wire,
    find=_find_wire,
    work=_work_wire,
    say=_say_wire,
    example="power",
    weight=0.7,
)  # fmt: skip


def _gather_fuse(creature: Creature, results: Results, about: str) -> Wire | Unknown | NotClaimed:
    nothing = unfed(creature, results)
    if nothing is not None:
        return nothing
    fused = [wire for wire in _leads(creature, results) if wire.lead.fuse is not None]
    if not fused:
        return NotClaimed(why="no fuse is written")
    return max(fused, key=lambda wire: (_outlives(wire), wire.rms_a / (wire.lead.fuse or 1.0), wire.name))


def _outlives(wire: Wire) -> bool:
    """Return whether the wire would go before its fuse."""
    return wire.lead.fuse is not None and wire.lead.fuse > wire.bears


def _find_fuse(args: Wire) -> Found:
    assert args.lead.fuse is not None
    return Found(
        needed=Quantity(value=args.lead.fuse, unit="A"),
        has=Quantity(value=args.rms_a, unit="A"),
        passed=False if _outlives(args) else None,
    )


def _work_fuse(w: Writer, args: Wire, found: Found) -> None:
    w.need(w.given(args.lead, "fuse"))
    free = w.given(args.ampacity, "chassis")
    share = w.rule("k_n", "share of it among others", AMONG_OTHERS, "1", "NFPA 70, 310.15(B)(3)(a): 10 to 20 wires")
    w.worked("I_w", "current that its wire bears in a fault, which the fuse may not exceed", f"{share}*{free}", "A")
    w.read(
        "I_rms", "current over the worst minute, root mean square", f"drive: rails.rms_a[{args.name}]", args.rms_a, "A"
    )


def _say_fuse(args: Wire, found: Found, grade: Grade) -> Said:
    fuse = show(args.lead.fuse or 0.0, "A")
    if _outlives(args):
        text = f"the wire of {args.name} (AWG {args.lead.awg}) bears {show(args.bears, 'A')} among others, and burns before its {fuse} fuse blows"
        return Said(sentence=f"{text[0].upper()}{text[1:]}.", clause=text)
    text = f"the {fuse} fuse of {args.name} carries {show(args.rms_a, 'A', 2)} over its worst minute"
    wire = f"it is no more than the {show(args.bears, 'A')} that its wire (AWG {args.lead.awg}) bears among others"
    return Said(sentence=f"{text[0].upper()}{text[1:]}; {wire}.", clause=text)


FUSE = Requirement(
    name="fuse",
    number=2,
    asks="No fuse blows in the show, and none outlives its wire.",
    unit="A",
    rule=Rule("at_most"),
    thresholds=Thresholds(
        0.25, 0.0,
        "A fuse run at more than three quarters of its rating ages (common practice, no source). A fuse rated above half of what its wire bears "
        "in free air fails: so much it bears among others. It takes the competent person and the maker's curves to choose one.",
    ),
    method="power",
    subjects=lambda creature: ["power"],
    gather=_gather_fuse,
    find=_find_fuse,
    work=_work_fuse,
    say=_say_fuse,
    example="power",
    weight=0.9,
)  # fmt: skip
