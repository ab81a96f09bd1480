"""The build: sizes of the head, the eyes, the skull, and named points."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from marotte.basis.units import ANGLE, AREA, LENGTH, MASS
from marotte.creature.schema.base import CarriedBy, Name, Record, Word
from marotte.creature.schema.quantities import Point, q


class Eye(Record):
    """The eyes as built."""

    diameter: Annotated[float, q(LENGTH, "d_e", "diameter of an eye", gt=0, le=0.5)]
    spacing: Annotated[float, q(LENGTH, "s_e", "distance between the eye centres", gt=0, le=2)]
    toe_in: Annotated[float, q(ANGLE, "psi", "fixed toe-in of each eye", ge=-0.5, le=0.5)] = 0.0
    fixed: bool = False
    """A fixed-eye creature looks with its head."""


class Skull(Record):
    """What must hold everything."""

    shape: (
        tuple[
            Annotated[float, q(LENGTH, "w", "inner width", gt=0, le=3)],
            Annotated[float, q(LENGTH, "h", "inner height", gt=0, le=3)],
            Annotated[float, q(LENGTH, "d", "inner depth", gt=0, le=3)],
        ]
        | None
    ) = None
    mesh: Word | None = None
    """A scanned or sculpted shape in the creature folder; then no shape is needed."""
    centre: Point = (0.0, 0.0, 0.0)
    hatch: Word | tuple[Word, ...] | None = None
    """Where it opens: one name or several."""
    fur_area: Annotated[float, q(AREA, "A", "area under skin and fur", gt=0, le=20)] | None = None
    vents: bool = False
    """Whether air can pass through it."""


class Build(Record):
    """Sizes and points. x to the creature's left, y up, z forward; origin midway between the eye centres."""

    head_width: Annotated[float, q(LENGTH, "w_h", "width of the head", gt=0, le=3)] | None = None
    eye: Eye | None = None
    skull: Skull | None = None
    neck_bore: Annotated[float, q(LENGTH, "d_n", "bore of the neck, for cables", gt=0, le=0.5)] | None = None
    points: dict[Name, Point] = Field(default_factory=dict)
    """A name ending in _left has its _right by mirror, unless written."""


class Carried(Record):
    """A mass that no function has."""

    mass: Annotated[float, q(MASS, "m", "mass", ge=0, le=200)]
    carried_by: CarriedBy = "skull"
    """What bears the mass."""
    at: Point | None = None
