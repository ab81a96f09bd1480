"""Performers, their controls, the hand plan."""

from __future__ import annotations

from typing import Annotated, Literal

from marotte.basis.units import LENGTH, MASS, NUMBER, TIME
from marotte.creature.schema.base import Name, Record, Word
from marotte.creature.schema.quantities import Part, Point, Share, q


class Sees(Record):
    """How a performer sees the creature."""

    kind: Literal["monitor", "direct", "mesh", "nothing"] = "direct"
    """What this performer sees the creature by."""
    delay: Annotated[float, q(TIME, "t_m", "delay of the monitor", ge=0, le=2)] = 0.0


class Performer(Record):
    """A person in a place and posture."""

    stature: Annotated[float, q(LENGTH, "H", "stature", ge=1.0, le=2.4)]
    mass: Annotated[float, q(MASS, "M", "body mass", ge=25, le=250)]
    strength: Literal["weak", "typical", "strong"] = "typical"
    """Against people of the same build."""
    sex: Literal["woman", "man"] | None = None
    """Picks the table of strengths; absent: the weaker one."""
    hand_breadth: Annotated[float, q(LENGTH, "b_h", "breadth of the hand", ge=0.05, le=0.13)] | None = None
    head_breadth: Annotated[float, q(LENGTH, "b_k", "breadth of the head", ge=0.11, le=0.2)] | None = None
    head_length: Annotated[float, q(LENGTH, "l_k", "length of the head, brow to back", ge=0.14, le=0.26)] | None = None
    voice: bool = False
    """Whether this performer gives the voice."""
    posture: Literal["standing", "kneeling", "low_stool", "sitting", "lying", "in_suit", "remote"] = "standing"
    """How this performer is while playing."""
    place: Point = (0.0, -0.9, -0.4)
    taken: tuple[Word, ...] = ()
    """Hands and feet that are busy."""
    free: tuple[Word, ...] = ()
    """Hands and feet that are free."""
    sees: Sees = Sees()
    hands: Word | None = None
    """A file of this performer's measured hands in the creature folder."""


class Control(Record):
    """Something that a finger, hand, foot, head or voice moves."""

    kind: Name
    """A control of the stock."""
    of: Name | None = None
    """The performer who works it."""
    site: Word | None = None
    """Where on the body it is worked."""
    travel: Annotated[float, q(LENGTH, "s", "travel of the control", gt=0, le=1)] | None = None


class Mix(Record):
    """One control's weights."""

    mix: dict[Name, Share]
    curve: Annotated[float, q(NUMBER, "gamma", "bend of the response", gt=0.1, le=10)] = 1.0
    dead_zone: Part = 0.0
    lag: Annotated[float, q(TIME, "t_g", "delay that the mix adds", ge=0, le=2)] = 0.0
