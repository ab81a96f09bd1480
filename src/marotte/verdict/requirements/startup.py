"""power.startup: what is drawn, and what jumps, when power comes on and every servo runs to its place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.ticks import SERIES_HZ
from marotte.basis.units import show
from marotte.creature.naming import named
from marotte.creature.schema.supply import Cells, Link, Mains, Regulator
from marotte.drive.leads import nominal_volts
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.brownout import SAG
from marotte.verdict.requirements.drive import servo_mechs
from marotte.verdict.requirements.power import NO_SERVOS
from marotte.verdict.upset_words import Swing, quickest
from marotte.verdict.workings import Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

HARMLESS_M_S: Final = 0.5
"""A part that swings slower than this is not worth a word [m/s] (a rule of this project)."""


@dataclass(frozen=True, slots=True)
class Startup:
    """All servos that come on behind one limit."""

    where: str
    source: Mains | Cells | Regulator
    limit: float
    link: Link
    amps: float
    """Highest current that is asked for [A]."""
    at_s: float
    """When, after the first signal."""
    otherwise: float
    """The same if servos started the other way [A]."""
    stalls: float
    """Sum of stall currents [A]: every servo far from its place."""
    count: int
    drive: str
    """The servo to which least voltage comes."""
    rest_v: float
    least_v: float
    under_s: float
    """How long it stands under what is borne."""
    swing: Swing | None

    @property
    def together(self) -> bool:
        """Whether all start at once."""
        return self.link.start == "together"

    @property
    def drops_out(self) -> bool:
        """Whether a servo loses so much voltage that it starts again."""
        return self.least_v < SAG * self.rest_v


def _gather_startup(creature: Creature, results: Results, about: str) -> Startup | Unknown | NotClaimed:
    if not servo_mechs(creature):
        return NotClaimed(why=NO_SERVOS)
    supply = creature.supply
    if supply is None:
        return NotClaimed(why="no supply is written")
    model, upsets = results.model, results.upsets
    if not model.drives:
        return Unknown(why="no mechanism that a servo moves goes together")
    start = supply.link.start
    asked, other = upsets.asked[start], upsets.asked["staggered" if start == "together" else "together"]
    sags = []
    for drive in model.drives:
        rest = nominal_volts(model.leads, drive.lead)
        volts = upsets.given.volts[drive.lead]
        under = float((volts < SAG * rest).sum()) / SERIES_HZ
        sags.append((float(volts.min()) / rest, drive.name, rest, float(volts.min()), under))
    _, servo, rest, least, under = min(sags)
    found: list[Startup] = []
    for k, row in enumerate(model.leads):
        lead = supply.leads.get(row.name)
        source = lead.regulator if lead is not None else supply.battery if k == 0 else None
        below = [drive for drive in model.drives if _hangs_on(results, drive.lead, k)]
        if source is None or source.limit is None or not below:
            continue
        stalls = sum(drive.count * drive.motor.stall_current_a for drive in below)
        found.append(
            Startup(
                where=row.name, source=source, limit=source.limit, link=supply.link, amps=float(asked.amps[k].max()),
                at_s=int(np.argmax(asked.amps[k])) / SERIES_HZ, otherwise=float(other.amps[k].max()), stalls=stalls,
                count=sum(drive.count for drive in below), drive=servo, rest_v=rest, least_v=least, under_s=under,
                swing=quickest(creature, results, upsets.up),
            )
        )  # fmt: skip
    if not found:
        most = float(asked.amps[0].max())
        why = f"no current limit is written for the supply, which is asked for {show(most, 'A', 2)} at power-up"
        return Unknown(why=why, wants=("/supply/battery/limit",))
    return max(found, key=lambda item: (item.amps / item.limit, item.where))


def _hangs_on(results: Results, lead: int, root: int) -> bool:
    at = lead
    while at >= 0:
        if at == root:
            return True
        at = results.model.leads[at].parent
    return False


def _find_startup(args: Startup) -> Found:
    return Found(
        needed=Quantity(value=args.limit, unit="A"), has=Quantity(value=args.amps, unit="A"),
        passed=False if args.drops_out else None, rests_on=args.link.refs(),
    )  # fmt: skip


def _work_startup(w: Writer, args: Startup, found: Found) -> None:
    w.need(w.given(args.source, "limit"))
    w.read("n", "servos behind this limit", "counted in the file", args.count, "1")
    stalls = f"drive: motors behind {args.where}"
    w.read("I_all", "sum of their stall currents: every one of them far from its place", stalls, args.stalls, "A")
    here = f"drive: power-up run of {args.where}"
    way, way_other = ("all at once", "one after another") if args.together else ("one after another", "all at once")
    w.read("I_other", f"highest current if they started {way_other}", here, args.otherwise, "A")
    rest = w.read("U_0", "voltage with nothing drawn", f"drive: servo of {args.drive}", args.rest_v, "V")
    share = w.rule("k_U", "share under which a servo drops out", SAG, "1")
    w.worked("U_min", "least voltage that is borne", f"{share}*{rest}", "V")
    w.read("U", "lowest voltage at a servo, with limits", f"drive: servo of {args.drive}", args.least_v, "V")
    if args.swing is not None:
        swing = args.swing
        speed = w.read("v", "speed of the quickest part", f"drive: {swing.function}", swing.fastest, swing.unit + "/s")
        if swing.inertia > 0.0:
            mass, unit = ("J", "kg*m2") if swing.unit == "rad" else ("m", "kg")
            moved = w.read(mass, "what it carries", f"mech: load of {swing.function}", swing.inertia, unit)
            w.worked("E", "energy with which it strikes what stands in its way", f"{moved}*{speed}**2/2", "J")
    w.read("I_up", f"highest current, over 1/1200 s: they start {way}", f"{here}, {args.at_s:.3f} s on", args.amps, "A")


def _say_startup(args: Startup, found: Found, grade: Grade) -> Said:
    where = "the supply" if args.where == "battery" else f"the regulator of {args.where}"
    how = "all servos jump at once" if args.together else "servos start one after another"
    text = f"at power-up {where} is asked for {show(args.amps, 'A', 3)} of {show(args.limit, 'A')}"
    more = [how]
    if args.drops_out:
        volts = f"{show(args.least_v, 'V', 2)} of {show(args.rest_v, 'V')}"
        dark = (
            f"the servo of the {named(args.drive)} is left with {volts} for {show(args.under_s, 's', 2)} and drops out"
        )
        text, more = (
            f"at power-up {dark}",
            [f"{where} is asked for {show(args.amps, 'A', 3)} of {show(args.limit, 'A')}", how],
        )
    if args.together and grade != "performs":
        more.append(f"one after another it would be {show(args.otherwise, 'A', 2)}")
    if args.swing is not None and args.swing.speed_m_s > HARMLESS_M_S:
        more.append(args.swing.words())
    return Said(sentence=f"{text[0].upper()}{text[1:]}: {'; '.join(more)}.", clause=text)


STARTUP = Requirement(
    name="startup",
    number=2,
    asks="When power comes on and every servo runs from where it lies to its place, the supply does not fold and no servo drops out.",
    unit="A",
    rule=Rule("at_most"),
    thresholds=Thresholds(
        0.25, 0.0,
        "The highest current of a run from rest, with no limit in its way, and a quarter in hand; a servo left with less than four fifths of "
        "its voltage fails (common practice, no source).",
    ),
    method="jumps",
    subjects=lambda creature: ["power"],
    gather=_gather_startup,
    find=_find_startup,
    work=_work_startup,
    say=_say_startup,
    example="power",
    weight=0.6,
)  # fmt: skip
