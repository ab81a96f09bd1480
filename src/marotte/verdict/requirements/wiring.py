"""power.brownout, power.wire, power.fuse: what the leads bear, and what reaches the servos."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.ticks import clock
from marotte.basis.units import show
from marotte.creature.naming import named
from marotte.creature.schema.audience import Show
from marotte.creature.schema.base import Record
from marotte.creature.schema.stock import Ampacity, BatteryKind
from marotte.creature.schema.supply import Cells, Lead
from marotte.drive.leads import LeadRow, nominal_volts
from marotte.drive.plan import PLAIN
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.drive import servo_mechs
from marotte.verdict.requirements.power import NO_SERVOS
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

SAG: Final = 0.8
"""Share of its voltage at rest under which a servo drops out or resets (common practice, no source)."""


def _nothing(creature: Creature, results: Results) -> NotClaimed | Unknown | None:
    if not servo_mechs(creature):
        return NotClaimed(why=NO_SERVOS)
    if creature.supply is None:
        return NotClaimed(why="no supply is written")
    return results.response if isinstance(results.response, Unknown) else None


@dataclass(frozen=True, slots=True)
class Pack:
    """The pack at the end of its time."""

    cells: Cells
    kind: BatteryKind
    show: Show
    mean_a: float
    used: float
    calls: int
    volts: float
    """At rest [V]."""
    fresh_v: float
    """Lowest voltage at the servo with the pack half used [V]."""


@dataclass(frozen=True, slots=True)
class Sag:
    """The servo to which least voltage comes."""

    drive: str
    rest_v: float
    least_v: float
    tick: int
    lead: str
    regulated: bool
    records: tuple[Record, ...]
    pack: Pack | None


def _gather_sag(creature: Creature, results: Results, about: str) -> Sag | Unknown | NotClaimed:
    nothing = _nothing(creature, results)
    if nothing is not None:
        return nothing
    assert not isinstance(results.response, Unknown)
    assert creature.supply is not None
    worst, leads, spent = results.response.worst, results.model.leads, results.spent
    found: list[tuple[float, str, Sag]] = []
    for k, name in enumerate(worst.drives):
        lead = results.model.drive(name).lead
        rest, low, tick, pack = nominal_volts(leads, lead), float(worst.voltage[k]), int(worst.voltage_at[k]), None
        battery = creature.supply.battery
        if spent is not None and isinstance(battery, Cells) and spent.least[name][0] < low:
            kind = creature.stock_tables.batteries[battery.kind]
            mean = results.response.rails.mean_a
            pack = Pack(battery, kind, creature.show, mean, spent.used, spent.calls, spent.volts, low)
            low, tick = spent.least[name]
        sag = Sag(
            name,
            rest,
            low,
            tick,
            leads[lead].name,
            _regulated(leads, lead),
            tuple(creature.supply.leads.values()),
            pack,
        )
        found.append((low / rest, name, sag))
    return min(found)[2] if found else NotClaimed(why=NO_SERVOS)


def _regulated(leads: tuple[LeadRow, ...], lead: int) -> bool:
    while leads[lead].parent >= 0:
        if leads[lead].regulator != PLAIN:
            return True
        lead = leads[lead].parent
    return False


def _find_sag(args: Sag) -> Found:
    return Found(
        needed=Quantity(value=SAG * args.rest_v, unit="V"), has=Quantity(value=args.least_v, unit="V"), at=args.tick
    )


def _work_sag(w: Writer, args: Sag, found: Found) -> None:
    rest = w.read("U_0", "voltage with nothing drawn, half used", f"drive: lead {args.lead}", args.rest_v, "V")
    share = w.rule("k_U", "share under which a servo drops out", SAG, "1", PRACTICE)
    w.need(w.worked("U_min", "least voltage that is borne", f"{share}*{rest}", "V"))
    where = f"drive: servo of {args.drive} at {clock(args.tick)}"
    if args.pack is None:
        w.read("U", "lowest voltage at the servo", where, args.least_v, "V")
        return
    pack = args.pack
    w.read("U_half", "lowest voltage at the servo, pack half used", where, pack.fresh_v, "V")
    capacity = w.given(pack.cells, "capacity")
    if pack.calls:
        mean = w.read("I_mean", "mean current of the part", "drive: rails.mean_a", pack.mean_a, "A")
        calls = w.read("n_c", "whole calls that one pack stays in", "counted from what it lasts", pack.calls, "1")
        length = w.given(pack.show, "call_length")
        used = w.worked("x", "share of the pack that is used then", f"{calls}*{length}*{mean}/{capacity}", "1")
    else:
        used = w.given(pack.cells, "usable", symbol="x")
    count = w.read("n_cells", "cells in series", pack.cells.ref("cells"), pack.cells.cells, "1")
    half, other = w.given(pack.kind, "nominal"), w.given(pack.kind, "empty" if pack.used >= 0.5 else "full")
    away = f"(2*{used} - 1)" if pack.used >= 0.5 else f"(1 - 2*{used})"
    volts = w.worked("U_pack", "voltage of the pack at rest then", f"{count}*({half} + ({other} - {half})*{away})", "V")
    if args.regulated:
        w.read("U", "lowest voltage at the servo then", where, args.least_v, "V")
        return
    drop = w.read("dU", "what pack, leads and all servos take at that instant", where, pack.volts - args.least_v, "V")
    w.worked("U", "lowest voltage at the servo then", f"{volts} - {drop}", "V")


def _say_sag(args: Sag, found: Found, grade: Grade) -> Said:
    text = f"the voltage at the servo of the {named(args.drive)} falls to {show(args.least_v, 'V')} of {show(args.rest_v, 'V')}"
    if args.pack is None:
        return Said(sentence=f"{text[0].upper()}{text[1:]}, at {clock(args.tick)}.", clause=text)
    pack = args.pack
    calls = "one call" if pack.calls == 1 else f"{pack.calls} calls" if pack.calls else "what may be used of it"
    text += f" at the end of a pack ({calls}, {show(pack.used, '%', 2)} used)"
    half = f"half used it would be {show(pack.fresh_v, 'V')}"
    return Said(sentence=f"{text[0].upper()}{text[1:]}, at {clock(args.tick)}; {half}.", clause=text)


BROWNOUT = Requirement(
    name="brownout",
    number=2,
    asks="At its lowest over the part, and on a pack at the end of its time, the voltage that reaches a servo stays well above where it "
    "drops out.",
    unit="V",
    rule=Rule("at_least"),
    thresholds=Thresholds(
        0.1, 0.0, "Four fifths of the voltage at rest are borne, a tenth more is wanted (common practice, no source)."
    ),
    method="power",
    subjects=lambda creature: ["power"],
    gather=_gather_sag,
    find=_find_sag,
    work=_work_sag,
    say=_say_sag,
    example="power",
    weight=0.8,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Wire:
    """The lead that comes nearest to what its wire, or its fuse, bears."""

    name: str
    lead: Lead
    ampacity: Ampacity
    rms_a: float


def _leads(creature: Creature, results: Results) -> list[Wire]:
    assert not isinstance(results.response, Unknown)
    assert creature.supply is not None
    rails, table = results.response.rails, creature.stock_tables.ampacity
    out: list[Wire] = []
    for k, name in enumerate(rails.leads):
        lead = creature.supply.leads.get(name)
        gauge = min((g for g in table if lead is not None and g >= lead.awg), default=max(table))
        if lead is not None:
            out.append(Wire(name, lead, table[gauge], float(rails.rms_a[k])))
    return out


def _gather_wire(creature: Creature, results: Results, about: str) -> Wire | Unknown | NotClaimed:
    nothing = _nothing(creature, results)
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
    what = f"current that AWG {args.ampacity.awg} bears among others"
    w.need(w.rule("I_d", what, args.ampacity.bundled, "A", "700 circular mils an ampere (common practice, no source)"))
    w.read(
        "I_rms", "current over the worst minute, root mean square", f"drive: rails.rms_a[{args.name}]", args.rms_a, "A"
    )


def _say_wire(args: Wire, found: Found, grade: Grade) -> Said:
    bears = show(args.ampacity.bundled, "A")
    text = f"the lead {args.name} carries {show(args.rms_a, 'A', 2)} of the {bears} that AWG {args.lead.awg} bears in a bundle"
    return Said(sentence=f"{text[0].upper()}{text[1:]}, over its worst minute.", clause=text)


WIRE = Requirement(
    name="wire",
    number=1,
    asks="Over its worst minute no lead carries more than its wire bears in a bundle.",
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
    nothing = _nothing(creature, results)
    if nothing is not None:
        return nothing
    fused = [wire for wire in _leads(creature, results) if wire.lead.fuse is not None]
    if not fused:
        return NotClaimed(why="no fuse is written")
    return max(fused, key=lambda wire: (_outlives(wire), wire.rms_a / (wire.lead.fuse or 1.0), wire.name))


def _outlives(wire: Wire) -> bool:
    """Return whether the wire would go before its fuse."""
    return wire.lead.fuse is not None and wire.lead.fuse > wire.ampacity.chassis


def _find_fuse(args: Wire) -> Found:
    assert args.lead.fuse is not None
    return Found(
        needed=Quantity(value=args.lead.fuse, unit="A"),
        has=Quantity(value=args.rms_a, unit="A"),
        passed=False if _outlives(args) else None,
    )


def _work_fuse(w: Writer, args: Wire, found: Found) -> None:
    w.need(w.given(args.lead, "fuse"))
    w.given(args.ampacity, "chassis")
    w.read(
        "I_rms", "current over the worst minute, root mean square", f"drive: rails.rms_a[{args.name}]", args.rms_a, "A"
    )


def _say_fuse(args: Wire, found: Found, grade: Grade) -> Said:
    fuse = show(args.lead.fuse or 0.0, "A")
    if _outlives(args):
        text = f"the wire of {args.name} (AWG {args.lead.awg}, {show(args.ampacity.chassis, 'A')}) burns before its {fuse} fuse blows"
        return Said(sentence=f"{text[0].upper()}{text[1:]}.", clause=text)
    text = f"the {fuse} fuse of {args.name} carries {show(args.rms_a, 'A', 2)} over its worst minute"
    return Said(sentence=f"{text[0].upper()}{text[1:]}.", clause=text)


FUSE = Requirement(
    name="fuse",
    number=1,
    asks="No fuse blows in the show, and none outlives its wire.",
    unit="A",
    rule=Rule("at_most"),
    thresholds=Thresholds(
        0.25, 0.0,
        "A fuse run at more than three quarters of its rating ages (common practice, no source). A fuse rated above what its wire bears by itself "
        "fails. It takes the competent person and the maker's curves to choose one.",
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
