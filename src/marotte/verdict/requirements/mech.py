"""<mechanism>.mech: whether it goes together, and whether every rod meets what it moves squarely enough over the travel."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from marotte.basis.contracts.common import F64, Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.mech import Jammed, MechFault, Transmission
from marotte.basis.given import Ref
from marotte.basis.units import DEG, show
from marotte.creature.naming import agrees, named
from marotte.creature.schema.base import Record
from marotte.creature.schema.functions import Function
from marotte.creature.schema.means import Air
from marotte.creature.schema.mechs import Cable, FourBar, PullPull
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.mech_words import of_its_kind, overloaded
from marotte.verdict.points import Point
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.workings import Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

LEAST_ANGLE = 40.0 * DEG
"""Transmission angle that linkage design asks for (R. L. Norton, *Design of Machinery*: at least 40 deg; from memory)."""


@dataclass(frozen=True, slots=True)
class Args:
    """What the requirement reads."""

    name: str
    mech: Record
    function: Function
    faults: tuple[MechFault, ...]
    angle: float | None
    """Least transmission angle over the travel [rad]; None where the mech has no rod, or does not go together."""
    position: float
    """Of the first output, where the angle is least."""
    arm_angle: float
    """Of a four-bar's arm from the ground line, there [rad]."""
    unit: str
    rests_on: frozenset[Ref]
    also: str = ""
    """What else a builder wants to know of this kind: cross-talk, what a wire loses, when a rod whips, faults that are not serious."""


def _gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
    mechanism = creature.mechs[about]
    if isinstance(creature.means[mechanism.inputs[0]], Air):
        return NotClaimed(why="air moves it, and what air reaches is not computed")
    transmission = results.mechs.transmissions[about]
    function = creature.functions[mechanism.outputs[0]]
    unit = results.unit_of(mechanism.outputs[0])
    if isinstance(transmission, Jammed):
        return Args(
            about,
            mechanism.record,
            function,
            transmission.faults,
            None,
            function.neutral,
            0.0,
            unit,
            mechanism.record.refs(),
        )
    if isinstance(transmission, Unknown):
        return transmission
    serious = tuple(fault for fault in transmission.faults if fault.serious)
    points = _points(results, about) if isinstance(mechanism.record, (Cable, PullPull)) else ()
    serious += overloaded(mechanism.record, transmission, max((point.torque for point in points), default=0.0))
    also = of_its_kind(transmission)
    if transmission.angle is None:
        return Args(
            about, mechanism.record, function, serious, None, function.neutral, 0.0, unit, transmission.rests_on, also
        )
    worst = np.unravel_index(int(np.argmin(_inside(creature, transmission))), transmission.angle.shape)
    position = float(transmission.position[(0, *worst)])
    arm = 0.0
    if isinstance(mechanism.record, FourBar):
        sense = 1.0 if mechanism.record.arm_turns == "with" else -1.0
        arm = transmission.clocking["arm"] + sense * (position - function.neutral)
    return Args(
        about, mechanism.record, function, serious, float(transmission.angle[worst]), position, arm, unit,
        transmission.rests_on, also,
    )  # fmt: skip


def _points(results: Results, about: str) -> list[Point]:
    """Return the instants at which most is wanted of what pushes a mechanism: in the part, at rest, over its travel."""
    worst, held = results.worst.get(about, ()), results.held.get(about, ())
    found = [] if isinstance(worst, Unknown) else list(worst)
    found += [] if isinstance(held, Unknown) else [point for pose in held for point in pose]
    heaviest = results.operating.heaviest.get(about)
    return found if heaviest is None else [*found, heaviest]


def _inside(creature: Creature, transmission: Transmission) -> F64:
    """Return the transmission angle where every output stands inside its travel, and pi where one does not."""
    assert transmission.angle is not None
    inside = np.ones(transmission.angle.shape, dtype=np.bool_)
    for k, name in enumerate(transmission.outputs):
        low, high = creature.functions[name].travel
        tiny = 1e-6 * (high - low)
        inside &= (transmission.position[k] >= low - tiny) & (transmission.position[k] <= high + tiny)
    return np.where(inside, transmission.angle, np.pi) if inside.any() else transmission.angle


def _find(args: Args) -> Found:
    if args.angle is None:
        count = Quantity(value=float(len(args.faults)), unit="1")
        return Found(needed=Quantity(value=0.0, unit="1"), has=count, passed=not args.faults, rests_on=args.rests_on)
    needed, has = Quantity(value=LEAST_ANGLE, unit="rad"), Quantity(value=args.angle, unit="rad")
    return Found(needed=needed, has=has, passed=False if args.faults else None, rests_on=args.rests_on)


def _work(w: Writer, args: Args, found: Found) -> None:
    if args.angle is None:
        w.read("n", "serious faults found", f"mech: transmission[{args.name}].faults", len(args.faults), "1")
        return
    if not isinstance(args.mech, FourBar):
        w.read("mu_min", "least transmission angle", f"mech: transmission[{args.name}].angle", args.angle, "rad")
        return
    four = args.mech
    r, rod, a, g = (w.given(four, name) for name in ("horn", "rod", "arm", "ground"))
    if four.arm_at_neutral is not None:
        start = w.given(four, "arm_at_neutral", symbol="theta_0", meaning="arm from the ground line at neutral")
    else:
        sense = 1.0 if four.arm_turns == "with" else -1.0
        at_neutral = args.arm_angle - sense * (args.position - args.function.neutral)
        start = w.read(
            "theta_0",
            "arm from the ground line at neutral",
            f"mech: transmission[{args.name}].clocking",
            at_neutral,
            "rad",
        )
    q = w.read(
        "q", "position where the angle is least", f"mech: transmission[{args.name}].position", args.position, args.unit
    )
    q0 = w.given(args.function, "neutral", symbol="q_0", meaning="neutral", unit=args.unit)
    sign = "+" if four.arm_turns == "with" else "-"
    theta = w.worked("theta", "arm from the ground line there", f"{start} {sign} ({q} - {q0})", "rad")
    d = w.worked("d", "from the input axle to the arm's ball", f"sqrt({g}**2 + {a}**2 + 2*{g}*{a}*cos({theta}))", "m")
    b1 = w.worked("beta_1", "between rod and that line", f"acos(({rod}**2 + {d}**2 - {r}**2)/(2*{rod}*{d}))", "rad")
    b2 = w.worked("beta_2", "between arm and that line", f"acos(({d}**2 + {a}**2 - {g}**2)/(2*{d}*{a}))", "rad")
    joint = "-" if _folded(w.values[b1] - w.values[b2], args.angle) else "+"
    mu = w.worked("mu", "between rod and arm", f"abs({b1} {joint} {b2})", "rad")
    far = w.worked("mu_arm", "the same, taken to the acute side", f"min({mu}, pi - {mu})", "rad")
    base = w.worked(
        "b", "square of that line seen from the rod's other end", f"({r}**2 + {rod}**2 - {d}**2)/(2*{r}*{rod})", "1"
    )
    near = w.worked(
        "mu_horn", "between rod and horn, on the acute side", f"min(acos({base}), pi - acos({base}))", "rad"
    )
    if abs(w.values[far] - args.angle) <= abs(w.values[near] - args.angle):
        w.worked("mu_min", "least transmission angle", far, "rad")
    else:
        w.worked("mu_min", "least transmission angle", f"min({far}, {near})", "rad")


def _folded(angle: float, wanted: float) -> bool:
    acute = min(abs(angle), math.pi - abs(angle))
    return abs(acute - wanted) < 1e-6


def _say(args: Args, found: Found, grade: Grade) -> Said:
    name = named(args.name)
    if args.faults:
        first = args.faults[0].sentence.rstrip(".")
        short = first.split(": ", 1)[-1]
        more = f" (and {len(args.faults) - 1} more)" if len(args.faults) > 1 else ""
        return Said(sentence=f"The {name}: {short}{more}.", clause=f"the {name}: {short}")
    also = f"; {args.also}" if args.also else ""
    if args.angle is None:
        return Said(
            sentence=f"The {name} {agrees(name, 'goes', 'go')} together throughout{also}.",
            clause=f"the {name} {agrees(name, 'goes', 'go')} together",
        )
    text = f"the rod of the {name} meets its arm at {show(args.angle, 'rad')} at worst, at {show(args.position, args.unit)}"
    need = f"; {show(LEAST_ANGLE, 'rad')} is asked for"
    return Said(sentence=f"{text[0].upper()}{text[1:]}{need}{also}.", clause=text)


MECH = Requirement(
        name="mech",
        number=2,
        asks="The mechanism goes together over the whole travel, and its rods meet what they move squarely enough.",
        unit="rad",
        rule=Rule("at_least"),
        thresholds=Thresholds(
            0.0, -0.25,
            "40 deg of transmission angle are asked for in linkage design (Norton, Design of Machinery, from memory); down to "
            "30 deg it works with good joints and little load (common practice, no source). A serious fault fails whatever the "
            "angle.",
        ),
        method="transmission-angle",
        subjects=lambda creature: list(creature.mechs),
        gather=_gather,
        find=_find,
        work=_work,
        say=_say,
    local=True,
        weight=0.8,
)  # fmt: skip
