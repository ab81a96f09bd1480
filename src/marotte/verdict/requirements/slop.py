"""<function>.slop: lost motion in millimetres at the place where it shows, all along the chain from the servo."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.mech import Jammed, Slop
from marotte.basis.units import show
from marotte.creature.anatomy import PARTS
from marotte.creature.naming import named
from marotte.creature.schema.functions import Function, TellsAt
from marotte.creature.schema.mechs import Cable, Linkage
from marotte.creature.schema.servos import ServoClass
from marotte.mech.slop import slop
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.subjects import driven, servo_of
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

LIMITS: Final[dict[str, float]] = {"eyes": 1.0e-3, "mouth": 2.0e-3, "ears": 10.0e-3}
OTHERS: Final = 2.0e-3
"""By what moves [m]: a line of white between lids, a lip that does not meet, an ear that nods by itself."""


@dataclass(frozen=True, slots=True)
class Args:
    """What the requirement reads."""

    slop: Slop
    function: Function
    tells: TellsAt | None
    mech: Linkage
    servo: ServoClass
    group: str
    rates: float
    """Sum of |output per input| over its inputs, where the slop is worst."""
    unit: str
    kept: str
    """What keeps it on one side over its whole travel: "its spring", "its skin" or nothing."""


def _kept(creature: Creature, about: str, mech: Linkage) -> str:
    function = creature.functions[about]
    low, high = function.travel
    spring = function.load.spring
    if spring is not None and not low < spring.slack_at < high:
        return "its spring"
    if isinstance(mech, Cable) and mech.returns == "spring" and (mech.preload or 0.0) > 0.0:
        return "its return spring"
    for skin in creature.skins.values():
        if about in skin.holds and not low < float(skin.sculpted_at.get(about, function.neutral)) < high:
            return "its skin"
    return ""


def _gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
    transmission = results.transmission_of(about)
    if isinstance(transmission, Jammed):
        return Unknown(why="the mechanism does not go together; see its mech finding")
    if isinstance(transmission, Unknown):
        return transmission
    mechanism, function = results.mech_of(about), creature.functions[about]
    servo = servo_of(creature, about)
    assert servo is not None
    servos = (servo,) * len(mechanism.inputs)
    found = results.cache.again(slop, about, function, mechanism.record, transmission, servos)
    if isinstance(found, Unknown):
        return found
    gears = next(part.new_m for part in found.parts if part.name == "gears")
    rates = gears / (servo.play * found.arm_m) if servo.play > 0.0 else 0.0
    return Args(
        found,
        function,
        function.tells_at,
        mechanism.record,
        servo,
        PARTS[function.part].group,
        rates,
        results.unit_of(about),
        _kept(creature, about, mechanism.record),
    )


def _find(args: Args) -> Found:
    needed = Quantity(value=LIMITS.get(args.group, OTHERS), unit="m")
    return Found(
        needed=needed, has=Quantity(value=args.slop.new_m, unit="m"), rests_on=args.slop.rests_on | args.mech.refs()
    )


def _work(w: Writer, args: Args, found: Found) -> None:
    w.need(w.rule("s_max", "lost motion that is borne where it shows", found.needed.value, "m", PRACTICE))
    arm = ""
    if args.tells is not None and args.unit == "rad":
        arm = "*" + w.given(args.tells, "arm")
    terms: list[str] = []
    for part in args.slop.parts:
        if part.name == "gears" and args.rates > 0.0 and (arm or args.unit == "m"):
            play = w.given(args.servo, "play")
            per = "1" if args.unit == "rad" else "m/rad"
            rate = w.read("r", "output per input, all its servos", f"mech: rate[{args.slop.function}]", args.rates, per)
            terms.append(w.worked("s_gears", "gears", f"{play}*{rate}{arm}", "m"))
        else:
            name = part.name.replace(" ", "_")
            terms.append(
                w.read(f"s_{name}", f"{part.name}: {part.note}", f"mech: slop[{args.slop.function}]", part.new_m, "m")
            )
    w.worked("s_all", "lost motion, at its widest", " + ".join(terms), "m")


def _say(args: Args, found: Found, grade: Grade) -> Said:
    name, point = named(args.slop.function), args.tells.point if args.tells else "tab"
    most = max(args.slop.parts, key=lambda part: part.new_m)
    text = f"the {name} has {show(args.slop.new_m, 'm')} of slop at its {point}"
    tail = f", {show(args.slop.worn_m, 'm', 2)} when worn; most of it from the {most.name} ({show(most.new_m, 'm', 2)})"
    if args.kept:
        tail += f"; {args.kept} keeps it on one side: less shows wherever that pulls harder than friction and weight"
    return Said(sentence=f"{text[0].upper()}{text[1:]}{tail}.", clause=text)


SLOP = Requirement(
    name="slop",
    number=1,
    asks="Lost motion from gears, spline, joints, wire, bracket and bearing together, new, at the place where the function shows.",
    unit="m",
    rule=Rule("at_most"),
    thresholds=Thresholds(
        0.0, -0.5,
        "1 mm at lids and pupils, 2 mm at the mouth and the face, 10 mm at an ear's tip; half as much again is only just (common "
        "practice, no source).",
    ),
    method="slop",
    subjects=driven,
    gather=_gather,
    find=_find,
    work=_work,
    say=_say,
    local=True,
    weight=0.5,
)  # fmt: skip
