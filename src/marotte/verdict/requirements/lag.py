"""<function>.lag: how far behind what is asked a function runs, seen over the whole part."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.units import show
from marotte.creature.anatomy import PARTS
from marotte.creature.naming import agrees, named
from marotte.creature.schema.functions import Function
from marotte.creature.schema.supply import Link
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.subjects import driven
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

MOUTH_S: Final = 0.125
"""Lag of a mouth that its performer can still lead away (see the page)."""
EYES_S: Final = 0.100
OTHERS_S: Final = 0.150
FOLLOWS: Final = 0.5
"""Share of the asked movement, squared, that must be reached late before a delay is spoken of (a rule of this project)."""
LIMITS: Final[dict[str, tuple[float, str]]] = {
    "mouth": (
        MOUTH_S,
        "a performer leads by some 80 ms and a late mouth is seen at 45 ms (ITU-R BT.1359-1); the lead is " + PRACTICE,
    ),
    "eyes": (EYES_S, "two to three frames of film; " + PRACTICE),
}


@dataclass(frozen=True, slots=True)
class Args:
    """What the requirement reads."""

    name: str
    function: Function
    lag: float
    more: bool
    """Whether it is that or more."""
    group: str
    link: Link | None


def _gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
    if isinstance(results.response, Unknown):
        return results.response
    transmission = results.transmission_of(about)
    if isinstance(transmission, Unknown):
        return Unknown(why=f"the mechanism of the {named(about)} could not be computed")
    assert not isinstance(results.demand, Unknown)
    if not np.ptp(results.demand.motion.row(about)):
        return NotClaimed(why="the part asks nothing of it")
    worst = results.response.worst
    function, row = creature.functions[about], worst.functions.index(about)
    if worst.follows[row] < FOLLOWS:
        share = show(float(worst.follows[row]), "%", 2)
        if worst.later[row]:
            latest = show(float(worst.lag[row]), "s", 2)
            why = f"{share} of what is asked of it arrives within {latest}: see its drive and hold"
        else:
            why = f"{share} of what is asked of it arrives at all: what is missed is no delay, see its drive and hold"
        return NotClaimed(why=why)
    return Args(
        about, function, float(worst.lag[row]), bool(worst.later[row]), PARTS[function.part].group,
        creature.supply.link if creature.supply is not None else None,
    )  # fmt: skip


def _limit(args: Args) -> tuple[float, str]:
    return LIMITS.get(args.group, (OTHERS_S, "three to four frames of film; " + PRACTICE))


def _find(args: Args) -> Found:
    return Found(
        needed=Quantity(value=_limit(args)[0], unit="s"), has=Quantity(value=args.lag, unit="s", more=args.more)
    )


def _work(w: Writer, args: Args, found: Found) -> None:
    limit, why = _limit(args)
    w.need(w.rule("t_max", "lag that is borne", limit, "s", why))
    w.read(
        "t_lag",
        "delay that best explains what is reached"
        + (": that or more, for no longer one is tried" if args.more else ""),
        f"drive: worst.lag[{args.name}], over the whole part",
        args.lag,
        "s",
    )


def _say(args: Args, found: Found, grade: Grade) -> Said:
    late = f"more than {show(args.lag, 's', 2)}" if args.more else show(args.lag, "s", 3)
    text = f"the {named(args.name)} {agrees(args.name, 'runs', 'run')} {late} behind what is asked"
    inside = ""
    if args.link is not None and args.link.delay > 0.0:
        what = "the radio link" if args.link.kind == "radio" else "the wire"
        inside = f", {show(args.link.delay, 's')} of it in {what}"
    return Said(sentence=f"{text[0].upper()}{text[1:]}{inside}; {show(_limit(args)[0], 's')} is borne.", clause=text)


LAG = Requirement(
        name="lag",
        number=2,
        asks="Over the whole part a function runs no further behind what is asked of it than its performer can lead away.",
        unit="s",
        rule=Rule("at_most"),
        thresholds=Thresholds(
            0.0, -0.25,
            "The limit by what moves: mouth 125 ms, eyes 100 ms, the rest 150 ms; a quarter more is only just (common practice, no "
            "source; the mouth's rests on ITU-R BT.1359-1).",
        ),
        method="hits",
        subjects=driven,
        gather=_gather,
        find=_find,
        work=_work,
        say=_say,
        weight=0.6,
)  # fmt: skip
