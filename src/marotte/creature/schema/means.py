"""Who gives the force: ``means``."""

from __future__ import annotations

from typing import Annotated, Literal, TypeAlias

from pydantic import Field

from marotte.basis.units import ANGLE, FORCE, LENGTH, TIME, VOLUME
from marotte.creature.schema.base import CarriedBy, Name, Record, Word
from marotte.creature.schema.quantities import Direction, Knob, Point, q


class Box(Record):
    """Where a servo's body sits in the skull."""

    at: Point = Field(json_schema_extra={"knob": "place"})
    """Centre of the body."""
    axis: Direction = (0.0, 0.0, 1.0)
    """Direction of its output shaft."""
    along: Direction = (1.0, 0.0, 0.0)
    """Direction of the long side of its body."""
    access: tuple[Word, ...] = ()
    """Hatches it comes out through."""


class Servo(Record):
    """A servo of the file or of the stock."""

    kind: Literal["servo"] = "servo"
    model: Name = Field(json_schema_extra={"knob": "servo"})
    """Name under ``servos``, or a class of the stock."""
    lead: Name | None = None
    """The lead that feeds it; may stay unsaid where there is only one."""
    spline: Annotated[int, Field(ge=1, le=60)] | None = None
    """Teeth of its output spline: clocking goes in steps of one tooth."""
    count: Annotated[int, Field(ge=1, le=4)] = 1
    """Servos that share this load, geared together."""
    carried_by: CarriedBy | None = None
    """What bears the servo itself; absent: what bears its function. A servo in the base pulls through a cable."""
    box: Box | None = None


class Hand(Record):
    """A performer's hand, wrist or forearm, directly."""

    kind: Literal["hand"] = "hand"
    of: Name | None = None
    """The performer who works it."""
    site: Word | None = None
    """Where on the body it is worked."""
    force: Annotated[float, q(FORCE, "F_h", "force that the hand gives at ease", gt=0, le=500)] | None = None


class Lever(Record):
    """A lever or string worked at the far end."""

    kind: Literal["lever"] = "lever"
    control: Name | None = None
    """The control at the far end."""
    of: Name | None = None
    """The performer who works it."""
    site: Word | None = None
    """Where on the body it is worked."""
    travel: Annotated[float, q(LENGTH, "s_l", "pull of the lever", gt=0, le=0.5)] | None = None
    force: Annotated[float, q(FORCE, "F_l", "force that the lever's end gives at ease", gt=0, le=500)] | None = None


class Body(Record):
    """The performer's own body or neck."""

    kind: Literal["body"] = "body"
    of: Name | None = None
    """The performer who works it."""
    site: Word | None = None
    """Where on the body it is worked."""
    lag: Annotated[float, q(ANGLE, "phi_b", "play between body and creature", ge=0, le=1.0)] = 0.0


class Chin(Record):
    """The performer's chin in a cup."""

    kind: Literal["chin"] = "chin"
    of: Name | None = None
    """The performer who works it."""
    ratio: Annotated[float, Field(gt=0, le=10)] = 1.0
    """Output per movement of the chin."""


class Air(Record):
    """A bulb and a bladder."""

    kind: Literal["air"] = "air"
    of: Name | None = None
    """The performer who works it."""
    site: Word | None = None
    """Where on the body it is worked."""
    bulb: Annotated[float, q(VOLUME, "V_b", "volume of the bulb", gt=0, le=0.01)] | None = None
    time: Annotated[float, q(TIME, "t_a", "time to fill or empty", gt=0, le=30)] | None = None


class Screen(Record):
    """A drawn function: no force is needed."""

    kind: Literal["screen"] = "screen"
    delay: Annotated[float, q(TIME, "t_s", "delay of the picture", ge=0, le=2)] = 0.0


Means: TypeAlias = Annotated[Servo | Hand | Lever | Body | Chin | Air | Screen, Field(discriminator="kind")]
MEANS: tuple[type[Record], ...] = (Servo, Hand, Lever, Body, Chin, Air, Screen)
CHANGE_SERVO = Knob(low=1, high=1, step=1, cost=4, ladder="servo")
MOVE_BOX = Knob(low=0.0, high=40e-3, step=1e-3, cost=2, ladder="place")
"""How far a case may be moved from where it is written [m]: new holes in a plate (common practice, no source)."""
