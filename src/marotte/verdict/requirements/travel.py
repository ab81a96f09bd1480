"""<function>.travel: what a mechanism and its means give of the travel that the file claims."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.mech import Jammed
from marotte.basis.given import Ref
from marotte.basis.units import show
from marotte.creature.naming import named
from marotte.creature.schema.base import Record
from marotte.creature.schema.functions import Function
from marotte.creature.schema.means import Air, Lever
from marotte.creature.schema.mechs import Direct
from marotte.creature.schema.servos import ServoClass
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.reach import reached_span
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.subjects import moved, servo_of
from marotte.verdict.workings import Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results


@dataclass(frozen=True, slots=True)
class Args:
    """What the requirement reads."""

    name: str
    function: Function
    mech: Record
    servo: ServoClass | None
    low: float
    high: float
    """Ends of what the mechanism reaches inside the travel, within the turn of its servo."""
    by: Literal["mech", "servo", "all"]
    """What ends it first."""
    unit: str
    rests_on: frozenset[Ref]


def _gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
    mechanism = results.mech_of(about)
    transmission = results.transmission_of(about)
    if isinstance(transmission, Jammed):
        return Unknown(why="the mechanism does not go together, so no travel can be told; see its mech finding")
    if isinstance(transmission, Unknown):
        return transmission
    function, servo = creature.functions[about], servo_of(creature, about)
    means = creature.means[mechanism.inputs[0]]
    if isinstance(means, Air):
        return Unknown(why=f"a bulb and a bladder move the {named(about)}, and what air reaches is not computed")
    turn = (
        servo.travel
        if servo
        else means.travel
        if isinstance(means, Lever) and transmission.input_units == ("m",)
        else None
    )
    low, high, by = results.cache.again(reached_span, transmission, about, function.travel, turn)
    unit = results.unit_of(about)
    return Args(about, function, mechanism.record, servo, low, high, by, unit, transmission.rests_on)


def _find(args: Args) -> Found:
    return Found(
        needed=Quantity(value=args.function.span, unit=args.unit),
        has=Quantity(value=args.high - args.low, unit=args.unit),
        rests_on=args.rests_on,
    )


def _work(w: Writer, args: Args, found: Found) -> None:
    low = w.given(args.function, "travel", 0, symbol="q_low", meaning="low end of the travel", unit=args.unit)
    high = w.given(args.function, "travel", 1, symbol="q_high", meaning="high end of the travel", unit=args.unit)
    w.need(w.worked("q_all", "travel claimed", f"{high} - {low}", args.unit))
    if isinstance(args.mech, Direct) and args.servo is not None:
        ratio = w.given(args.mech, "ratio")
        turn = w.given(args.servo, "travel")
        w.worked("q_has", "travel reached", f"min(q_all, {ratio}*{turn})", args.unit)
        return
    bottom = w.read("q_1", "lowest position reached", "mech: span where the mechanism is sound", args.low, args.unit)
    top = w.read("q_2", "highest position reached", "mech: span where the mechanism is sound", args.high, args.unit)
    w.worked("q_has", "travel reached", f"{top} - {bottom}", args.unit)


def _say(args: Args, found: Found, grade: Grade) -> Said:
    name = named(args.name)
    span, reached = show(args.function.span, args.unit), show(args.high - args.low, args.unit)
    if grade in ("performs", "only_just"):
        return (
            Said(
                sentence=f"The {name} has its whole travel of {span}.", clause=f"the {name} reaches {reached} of {span}"
            )
            if (args.by == "all")
            else Said(
                sentence=f"The {name} reaches {reached} of {span}.", clause=f"the {name} reaches {reached} of {span}"
            )
        )
    end = (
        ("the turn of its servo ends" if args.servo else "the pull of its lever ends")
        if args.by == "servo"
        else "its mechanism stops being sound"
    )
    text = f"the {name} reaches {reached} of {span}"
    return Said(sentence=f"{text[0].upper()}{text[1:]}: {end} there.", clause=text)


TRAVEL = Requirement(
        name="travel",
        number=1,
        asks="The mechanism, within the turn of its servo, reaches the whole travel that the file claims for the function.",
        unit="rad or m",
        rule=Rule("at_least"),
        thresholds=Thresholds(
            -0.001, -0.03,
            "Travel wants to be reached and then stopped; more is no gain. Up to 3 % short is put right on the bench with a "
            "tooth of the spline or a turn of the rod end (common practice, no source).",
        ),
        method="margins",
        subjects=moved,
        gather=_gather,
        find=_find,
        work=_work,
        say=_say,
    local=True,
        weight=0.9,
)  # fmt: skip
