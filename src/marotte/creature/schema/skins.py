"""Skins: one stored energy in one stretch, drawn on by the functions that hold it."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field, model_validator

from marotte.basis.units import ARM, LENGTH, NUMBER, RATIO
from marotte.creature.schema.base import Name, Record, Word
from marotte.creature.schema.quantities import Knob, Position, q

Hold = Annotated[float, q((ARM, NUMBER), "h", "stretch per position of a function", ge=-2, le=2)]

THINNER = Knob(low=0.4, high=1.0, step=0.5e-3, cost=3)
NARROWER = Knob(low=0.5, high=1.0, step=5e-3, cost=3)
LONGER = Knob(low=1.0, high=1.6, step=5e-3, cost=4)


class Strip(Record):
    """The stretch of skin that bears the pull."""

    material: Name
    """A skin of the stock."""
    thickness: Annotated[float, q(LENGTH, "t", "thickness", gt=0, le=0.05, knob=THINNER)]
    width: Annotated[float, q(LENGTH, "w", "width across the pull", gt=0, le=1, knob=NARROWER)]
    length: Annotated[float, q(LENGTH, "L_0", "free length along the pull", gt=0, le=1, knob=LONGER)]
    backing: Literal["none", "net", "knit", "woven"] = "none"
    """What is cast in behind it."""
    relief: Annotated[float, q(RATIO, "rho", "share of the width that creases or slits relieve", ge=0, le=0.9)] = 0.0


class SkinCard(Record):
    """One skin with its holds."""

    pairable: ClassVar[bool] = True

    side: Literal["left", "right"] | None = None
    """Made by sides: both; of one that stands alone, written."""
    strip: Strip | None = None
    curve: Word | None = None
    """A file of measurements in the creature folder: stretch and force, two columns with units in their heads."""
    sculpted_at: dict[Name, Position] = Field(default_factory=dict)
    """Where each function stood when the skin was cast: no force there. Absent functions: at neutral."""
    pushes: bool = False
    """Whether it also pushes; thin skin buckles instead."""
    holds: dict[Name, Hold] = Field(min_length=1)

    @model_validator(mode="after")
    def _one_law(self) -> SkinCard:
        if (self.strip is None) == (self.curve is None):
            raise ValueError("a skin needs one law of force: strip, or curve with a file of measurements")
        return self
