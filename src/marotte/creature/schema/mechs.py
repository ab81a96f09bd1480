"""What carries the force: ``mech``. One record a kind; the solver of each lives in mech/kinds/.

Clocking is part of every linkage: an angle of horn or arm *at the function's neutral*. Angles of a planar four-bar are
measured from the ground line, which runs from the input axle to the output axle, the way the output opens.
"""

from __future__ import annotations

from typing import Annotated, Literal, TypeAlias

from pydantic import Field, model_validator

from marotte.basis.units import ANGLE, DEG, FORCE, LENGTH, MASS, NUMBER, RATIO, STIFFNESS, TORQUE, TWIST
from marotte.creature.schema.base import Name, Record, Word
from marotte.creature.schema.quantities import Direction, Knob, Point, q

LENGTH_KNOB = Knob(low=0.6, high=1.6, step=0.5e-3, cost=1)
CLOCK_KNOB = Knob(low=-60 * DEG, high=60 * DEG, step=DEG, cost=0)
"""Re-clocking is a change by an angle, not by a factor: low and high are differences."""

Horn = Annotated[float, q(LENGTH, "r", "horn, from its axle to the ball", gt=0, le=0.5, knob=LENGTH_KNOB)]
Rod = Annotated[float, q(LENGTH, "l", "rod, between its two joints", gt=0, le=3.0, knob=LENGTH_KNOB)]
Arm = Annotated[float, q(LENGTH, "a", "arm, from the output's axle to the ball", gt=0, le=0.5, knob=LENGTH_KNOB)]
Clock = Annotated[float, q(ANGLE, "theta", "clocking", ge=-7, le=7, knob=CLOCK_KNOB)]
Slop = Annotated[float, q(LENGTH, "s_j", "lost motion of the rod's joints together", ge=0, le=0.01)]
Friction = Annotated[float, q(TORQUE, "tau_f", "dry friction at the input", ge=0, le=10)]
Turns = Literal["with", "against"]
Slides = Literal["out", "in"]


class Linkage(Record):
    """What every mech may say."""

    slop: Slop | None = None
    """Both ball joints of the rod; absent: of the stock."""
    friction: Friction = 0.0
    efficiency: Annotated[float, q(RATIO, "eta", "efficiency from input to output", gt=0.05, le=1)] = 1.0
    room: Annotated[float, q(LENGTH, "l_room", "longest rod that fits", gt=0, le=3)] | None = None


class Direct(Linkage):
    """The means sits on the function's own axis."""

    kind: Literal["direct"] = "direct"
    ratio: Annotated[float, q(NUMBER, "i", "output per input", gt=0, le=20)] = 1.0
    plate: Annotated[float, q(LENGTH, "a_p", "from the hinge to the fingertips", gt=0, le=0.5)] | None = None
    """Of a mouth or plate that fingers open straight: the input is then the way of the fingertips, loads are forces."""


class FourBar(Linkage):
    """A planar four-bar: horn, rod, arm, ground."""

    kind: Literal["four_bar"] = "four_bar"
    horn: Horn
    rod: Rod
    arm: Arm
    ground: Annotated[
        float, q(LENGTH, "g", "ground, from the input axle to the output axle", gt=0, le=3, knob=LENGTH_KNOB)
    ]
    branch: Literal["open", "crossed"] = "open"
    """Which of the two ways it can be put together."""
    arm_at_neutral: Clock | None = None
    """Angle of the arm from the ground line at the function's neutral; write this or ``horn_at_neutral``."""
    horn_at_neutral: Clock | None = None
    arm_turns: Turns = "with"
    """Whether the arm's angle grows ("with") or shrinks ("against") as the function's position grows."""

    @model_validator(mode="after")
    def _one_clocking(self) -> FourBar:
        if (self.arm_at_neutral is None) == (self.horn_at_neutral is None):
            raise ValueError("a four-bar needs one clocking: arm_at_neutral or horn_at_neutral, not both")
        return self


class CrankSlider(Linkage):
    """A horn that pushes a slide through a rod; ``offset`` is how far the slide's line passes the axle."""

    kind: Literal["crank_slider"] = "crank_slider"
    horn: Horn
    rod: Rod
    offset: Annotated[float, q(LENGTH, "e", "offset of the slide from the axle", ge=-0.5, le=0.5)] = 0.0
    horn_at_neutral: Clock = 90 * DEG
    """Angle of the horn from the slide's direction, away from the axle, at the function's neutral."""
    branch: Literal["open", "crossed"] = "open"
    """Open: the slide lies on the far side of the horn's ball; crossed: on the near side."""
    slides: Slides = "out"
    """Whether the slide goes out, away from the axle, or in, as the function's position grows."""


class BallRod(Linkage):
    """A ball-ended rod in space, from a horn on one axis to an arm on another."""

    kind: Literal["ball_rod"] = "ball_rod"
    horn: Horn
    rod: Rod
    arm: Arm
    horn_at: Name | Point
    """Centre of the horn's axle: a name under ``build.points``, or a place."""
    horn_axis: Direction = (1.0, 0.0, 0.0)
    horn_at_neutral: Clock | None = None
    """Absent: where the rod's length puts it. Written, it chooses between the two places that the rod allows; the rod
    wins, and a difference is told."""
    arm_at: Name | Point | None = None
    """A point on the output's axis; absent: the part's own place."""
    arm_axis: Direction | None = None
    arm_at_neutral: Clock = 90 * DEG
    """Angle of the arm about its axis by the right-hand rule, from forward (z): for an axis to the left (x) it grows
    downwards. For an axis that points fore and aft it counts from up (y). The horn's angle counts the same way."""
    branch: Literal["open", "crossed"] = "open"
    """Where no horn angle is written. Open: the horn points more the way of the arm; crossed: the other place."""
    cone: Annotated[float, q(ANGLE, "gamma", "half-cone that the ball joints allow", gt=0, le=1.6)] = 30 * DEG


class GimbalArms(Record):
    """Where the two rods take hold behind the eye."""

    spacing: Annotated[float, q(LENGTH, "w", "distance of the two rods", gt=0, le=0.3, knob=LENGTH_KNOB)]
    height: Annotated[float, q(LENGTH, "h", "height of the rods' line over the eye's centre", ge=-0.2, le=0.2)] = 0.0
    back: Annotated[float, q(LENGTH, "b", "how far behind the eye's centre the rods take hold", ge=0, le=0.2)] = 0.0
    """At 0 they take hold in the plane of the eye's centre, as on the rim of a half shell: then turning lifts least."""


class TwoRodGimbal(Linkage):
    """Two rods side by side turn and lift one eye: together they lift, against each other they turn."""

    kind: Literal["two_rod_gimbal"] = "two_rod_gimbal"
    horn: Horn
    rod: Rod
    second_rod: Rod | None = None
    """Of the second means, the inner rod; absent: as long as the first. Rods of two lengths let the servos stand one behind the other."""
    arms: GimbalArms
    horn_at_neutral: Clock = 90 * DEG
    """Angle of both horns from the rods' direction with the eye at neutral."""


class BellCrank(Linkage):
    """A bell-crank before another mech: the first rod turns it, it drives the next."""

    kind: Literal["bell_crank"] = "bell_crank"
    horn: Horn
    rod: Rod
    in_arm: Arm
    out_arm: Arm
    ground: Annotated[float, q(LENGTH, "g", "ground, from the input axle to the crank's axle", gt=0, le=3)]
    in_arm_at_neutral: Clock = 90 * DEG
    out_arm_at_neutral: Clock = 90 * DEG
    """Angle of the second arm from the next ground line, which runs from the crank's axle to the output's axle; where
    it pulls a tab straight, from the direction in which the tab goes out."""
    branch: Literal["open", "crossed"] = "open"
    """Which of the two ways the first rod can be put together."""
    next_rod: Rod | None = None
    """From the crank's second arm to the output or its tab; absent: long against that arm."""
    next_arm: Arm | None = None
    """Absent: the crank's second arm pulls a tab straight, through ``next_rod``."""
    next_ground: Annotated[float, q(LENGTH, "g_2", "from the crank's axle to the output's axle", gt=0, le=3)] | None = (
        None
    )
    next_offset: Annotated[float, q(LENGTH, "e", "offset of the tab's line from the crank's axle", ge=-0.5, le=0.5)] = (
        0.0
    )
    next_branch: Literal["open", "crossed"] = "open"
    """Which of the two ways the next rod can be put together."""
    arm_turns: Turns = "with"
    """Whether the last arm's angle grows or shrinks as the function's position grows."""
    slides: Slides = "out"
    """Whether the tab goes out, away from the crank, or in, as the function's position grows."""


class TeeBar(Linkage):
    """One input shared out over several tabs."""

    kind: Literal["tee_bar"] = "tee_bar"
    shares: tuple[Annotated[float, q(RATIO, "k", "share of the stroke", ge=-4, le=4)], ...]
    horn: Horn | None = None
    """Absent: a stroke comes in straight. A servo turns, so it needs one."""
    rod: Rod | None = None
    """Absent: long against the horn."""
    horn_at_neutral: Clock = 90 * DEG
    """Angle of the horn from the direction in which the bar goes out, at neutral."""


class Cable(Linkage):
    """A wire in a housing."""

    kind: Literal["cable"] = "cable"
    pulls: Literal["both_ways", "one_way"] = "one_way"
    """Whether the wire also pushes."""
    horn: Horn | None = None
    """Radius on a turning input; absent: the input is a stroke."""
    arm: Arm | None = None
    """Radius on a turning output; absent: the output is a stroke."""
    core: Annotated[float, q(LENGTH, "d_w", "thickness of the wire", gt=0, le=0.01)] | Word = "steel_0p8"
    """A thickness, or a wire of the stock."""
    bore: Annotated[float, q(LENGTH, "d_b", "bore of the liner", gt=0, le=0.02)] | None = None
    liner: Word = "ptfe"
    """What the wire runs in, of the stock."""
    bends: tuple[Annotated[float, q(ANGLE, "phi", "bend of the housing", ge=0, le=20)], ...] = ()
    bend_radius: Annotated[float, q(LENGTH, "R", "least radius of the bends", gt=0, le=2)] | None = None
    length: Annotated[float, q(LENGTH, "L", "length of the housing", gt=0, le=60)]
    bare: Annotated[float, q(LENGTH, "L_b", "longest wire without support", ge=0, le=1)] = 0.0
    returns: Literal["spring", "skin", "weight", "none"] = "none"
    """What brings the output back where the wire only pulls."""
    spring: Annotated[float, q((STIFFNESS, TWIST), "k_r", "stiffness of the return at the output", gt=0)] | None = None
    preload: (
        Annotated[float, q((FORCE, TORQUE), "F_0", "pull of the return with the output at neutral", ge=0)] | None
    ) = None


class PullPull(Linkage):
    """A closed loop of wire round two drums or horns."""

    kind: Literal["pull_pull"] = "pull_pull"
    horn: Horn
    arm: Arm
    core: Annotated[float, q(LENGTH, "d_w", "thickness of the wire", gt=0, le=0.01)] | Word = "steel_0p8"
    bore: Annotated[float, q(LENGTH, "d_b", "bore of the liner", gt=0, le=0.02)] | None = None
    liner: Word = "ptfe"
    """What the wire runs in, of the stock."""
    bends: tuple[Annotated[float, q(ANGLE, "phi", "bend of the housing", ge=0, le=20)], ...] = ()
    length: Annotated[float, q(LENGTH, "L", "length of the loop's run", gt=0, le=60)]
    preload: Annotated[float, q(FORCE, "F_0", "pre-tension", ge=0, le=2000)] = 0.0


class HandRod(Linkage):
    """A rod in the hand, pushing straight."""

    kind: Literal["rod"] = "rod"
    length: Annotated[float, q(LENGTH, "L", "length of the rod", gt=0, le=5)]
    outer: Annotated[float, q(LENGTH, "d_o", "outer diameter", gt=0, le=0.1)]
    inner: Annotated[float, q(LENGTH, "d_i", "inner diameter; 0 is solid", ge=0, le=0.1)] = 0.0
    material: Literal["carbon", "steel", "aluminium", "wood", "glass_fibre"] = "carbon"
    """What the rod is made of."""
    end_mass: Annotated[float, q(MASS, "m_e", "mass at the far end, the hand included", ge=0, le=5)] = 0.0


Mech: TypeAlias = Annotated[
    Direct | FourBar | CrankSlider | BallRod | TwoRodGimbal | BellCrank | TeeBar | Cable | PullPull | HandRod,
    Field(discriminator="kind"),
]
MECHS: tuple[type[Linkage], ...] = (
    Direct, FourBar, CrankSlider, BallRod, TwoRodGimbal, BellCrank, TeeBar, Cable, PullPull, HandRod,
)  # fmt: skip
