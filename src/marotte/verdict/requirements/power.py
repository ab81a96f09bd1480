"""power.current, power.minutes: what the part draws, against what its supply gives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.ticks import clock
from marotte.basis.units import show
from marotte.creature.schema.audience import Limits, Show
from marotte.creature.schema.supply import Cells, Mains, Regulator
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.drive import servo_mechs
from marotte.verdict.workings import Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

NO_SERVOS: Final = "no servo, so nothing draws current"


def unfed(creature: Creature, results: Results) -> NotClaimed | Unknown | None:
    """Return why nothing can be said of what is fed; None where there is something to say."""
    if not servo_mechs(creature):
        return NotClaimed(why=NO_SERVOS)
    if creature.supply is None:
        return NotClaimed(why="no supply is written")
    return results.response if isinstance(results.response, Unknown) else None


@dataclass(frozen=True, slots=True)
class Current:
    """The supply, or the regulator, that comes nearest to its limit."""

    where: str
    source: Mains | Cells | Regulator
    limit: float
    amps: float
    tick: int


def _gather_current(creature: Creature, results: Results, about: str) -> Current | Unknown | NotClaimed:
    if not servo_mechs(creature) or creature.supply is None:
        return NotClaimed(why=NO_SERVOS if creature.supply is not None else "no supply is written")
    if isinstance(results.response, Unknown):
        return results.response
    rails = results.response.rails
    found: list[Current] = []
    for k, name in enumerate(rails.leads):
        lead = creature.supply.leads.get(name)
        source = lead.regulator if lead is not None else creature.supply.battery if k == 0 else None
        if source is not None and source.limit is not None:
            found.append(Current(name, source, source.limit, float(rails.highest_a[k]), int(rails.highest_at[k])))
    if not found:
        return Unknown(why="no current limit is written for the supply", wants=("/supply/battery/limit",))
    return max(found, key=lambda item: (item.amps / item.limit, item.where))


def _find_current(args: Current) -> Found:
    return Found(needed=Quantity(value=args.limit, unit="A"), has=Quantity(value=args.amps, unit="A"), at=args.tick)


def _work_current(w: Writer, args: Current, found: Found) -> None:
    w.need(w.given(args.source, "limit"))
    w.read("I_peak", "highest current", f"drive: rails.highest_a[{args.where}] at {clock(args.tick)}", args.amps, "A")


def _say_current(args: Current, found: Found, grade: Grade) -> Said:
    where = "the supply" if args.where == "battery" else f"the regulator of {args.where}"
    gives = "gives" if args.amps <= args.limit else "is asked for"  # at its limit it gives no more, whatever is asked
    text = f"{where} {gives} {show(args.amps, 'A')} of {show(args.limit, 'A')} at its peak"
    return Said(sentence=f"{text[0].upper()}{text[1:]}, at {clock(args.tick)}.", clause=text)


CURRENT = Requirement(
        name="current",
        number=1,
        asks="The highest current of the part stays under the limit of the supply and of every regulator.",
        unit="A",
        rule=Rule("at_most"),
        thresholds=Thresholds(
            0.25, 0.0, "A supply run at more than three quarters of its limit has nothing left for a stalled servo (common practice, no source)."
        ),
        method="power",
        subjects=lambda creature: ["power"],
        example="power",
        gather=_gather_current,
        find=_find_current,
        work=_work_current,
        say=_say_current,
        weight=0.8,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Minutes:
    """The pack and what is asked of it."""

    pack: Cells
    mean_a: float
    limits: Limits
    show: Show

    @property
    def lasts(self) -> float:
        """Seconds that one pack lasts at the part's mean current."""
        return self.pack.capacity * self.pack.usable / self.mean_a

    @property
    def wanted(self) -> float:
        """Seconds that it must last."""
        return self.show.call_length if self.limits.minutes is None else self.limits.minutes


def gather_minutes(creature: Creature, results: Results, about: str) -> Minutes | Unknown | NotClaimed:
    """Return the pack and what is asked of it."""
    supply = creature.supply
    if not servo_mechs(creature) or supply is None:
        return NotClaimed(why=NO_SERVOS if supply is not None else "no supply is written")
    if not isinstance(supply.battery, Cells):
        return NotClaimed(why="a fixed supply does not run down")
    if isinstance(results.response, Unknown):
        return results.response
    mean = results.response.rails.mean_a
    if mean <= 0.0:
        return NotClaimed(why="the part draws nothing")
    return Minutes(supply.battery, mean, creature.limits, creature.show)


def _find_minutes(args: Minutes) -> Found:
    return Found(needed=Quantity(value=args.wanted, unit="s"), has=Quantity(value=args.lasts, unit="s"))


def _work_minutes(w: Writer, args: Minutes, found: Found) -> None:
    if args.limits.minutes is not None:
        w.need(w.given(args.limits, "minutes"))
    else:
        w.need(w.given(args.show, "call_length"))
    charge, usable = w.given(args.pack, "capacity"), w.given(args.pack, "usable")
    mean = w.read("I_mean", "mean current of the part", "drive: rails.mean_a", args.mean_a, "A")
    w.worked("t_pack", "time that one pack lasts", f"{charge}*{usable}/{mean}", "s")


def _say_minutes(args: Minutes, found: Found, grade: Grade) -> Said:
    what = "one call" if args.limits.minutes is None else "the time asked for"
    text = f"one pack lasts {show(args.lasts, 's', 2)}, and {what} is {show(args.wanted, 's')}"
    return Said(
        sentence=f"{text[0].upper()}{text[1:]}: at the part's mean of {show(args.mean_a, 'A', 2)}.", clause=text
    )


MINUTES = Requirement(
        name="minutes",
        number=1,
        asks="One pack lasts as long as the brief asks (absent: one call) at the mean current of the part.",
        unit="s",
        rule=Rule("at_least"),
        thresholds=Thresholds(
            0.25, 0.0, "A quarter more than is asked: packs age and mornings are cold (common practice, no source)."
        ),
        method="power",
        subjects=lambda creature: ["power"],
        example="power",
        gather=gather_minutes,
        find=_find_minutes,
        work=_work_minutes,
        say=_say_minutes,
        weight=0.7,
)  # fmt: skip
