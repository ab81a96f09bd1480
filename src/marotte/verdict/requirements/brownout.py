"""power.brownout: the least voltage that reaches a servo, over the part and at the end of a pack."""

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
from marotte.creature.schema.stock import BatteryKind
from marotte.creature.schema.supply import Cells
from marotte.drive.leads import LeadRow, nominal_volts
from marotte.drive.plan import PLAIN
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.power import NO_SERVOS, unfed
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

SAG: Final = 0.8
"""Share of its voltage at rest under which a servo drops out or resets (common practice, no source)."""


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
    nothing = unfed(creature, results)
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
