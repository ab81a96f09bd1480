"""Poses and moods: percent of the way from neutral to that end of a function's travel."""

from __future__ import annotations

from typing import Annotated, TypeAlias

from pydantic import Field

from marotte.basis.units import RATIO
from marotte.creature.schema.base import Name, Record
from marotte.creature.schema.quantities import q

Way = Annotated[float, q(RATIO, "w", "way from neutral to an end; below zero is towards the low end", ge=-1.0, le=1.0)]
Pose: TypeAlias = dict[Name, Way]


class Poses(Record):
    """Named sets of positions. A plain name of a pair means both sides; the narrower name wins."""

    mouth: dict[Name, Pose] = Field(default_factory=dict)
    """The 14 mouth shapes and neutral, by the names in docs/methods/mouth-shapes.md."""
    moods: dict[Name, Pose] = Field(default_factory=dict)
    named: dict[Name, Pose] = Field(default_factory=dict)
