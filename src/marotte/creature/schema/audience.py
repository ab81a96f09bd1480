"""Audience, show, what is worn, limits."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from marotte.basis.units import HOURS, LENGTH, MASS, MONEY, TEMPERATURE, TIME
from marotte.creature.schema.base import Name, Record, Word
from marotte.creature.schema.quantities import Part, q


class Camera(Record):
    """A camera on the creature."""

    sensor: Word = "super_35"
    """Format of the sensor."""
    focal_length: Annotated[float, q(LENGTH, "f", "focal length", gt=0.001, le=2)]
    distance: Annotated[float, q(LENGTH, "D", "distance to the creature", gt=0.05, le=500)]
    aspect: Word = "16:9"
    """Width to height."""
    pixels: tuple[Annotated[int, Field(ge=16, le=100000)], Annotated[int, Field(ge=16, le=100000)]] = (1920, 1080)
    """Width and height."""
    frames: Annotated[float, Field(ge=1, le=300)] = 25.0
    """Frames a second."""


class Rows(Record):
    """The rows of a house."""

    count: Annotated[int, Field(ge=1, le=200)]
    """How many rows."""
    pitch: Annotated[float, q(LENGTH, "T", "distance from row to row", gt=0.2, le=5)]
    rise: Annotated[float, q(LENGTH, "N", "rise from row to row", ge=0, le=2)] = 0.0
    eye: Annotated[float, q(LENGTH, "e", "eye height when seated", gt=0.3, le=2)] = 1.12


class House(Record):
    """A theatre house."""

    farthest: Annotated[float, q(LENGTH, "D", "distance of the farthest seat", gt=0.5, le=300)]
    rows: Rows | None = None
    playboard: Annotated[float, q(LENGTH, "p", "height of the playboard", ge=0, le=5)] | None = None


class AudienceOf(Record):
    """Who watches, from where."""

    camera: Camera | None = None
    house: House | None = None


class Show(Record):
    """The day."""

    ambient: Annotated[float, q(TEMPERATURE, "T_a", "air temperature", ge=-40, le=60)] = 22.0
    humidity: Part = 0.5
    calls: Annotated[int, Field(ge=1, le=100)] = 1
    """Calls in the day."""
    call_length: Annotated[float, q(TIME, "t_c", "length of one call", gt=0, le=86400)] = 1200.0


class Worn(Record):
    """What someone inside wears."""

    layers: tuple[Word, ...] = ()
    """From the skin outwards, of the stock."""
    coverage: Part = 1.0


class Shop(Record):
    """What a shop pays and how long it takes, where it knows better than the stock."""

    prices: dict[Name, Annotated[float, q(MONEY, "c", "price", ge=0, le=100000, chosen=True)]] = Field(
        default_factory=dict
    )
    """Of one, by class of servo or ``ball_link``; of a kilogram, by skin material."""
    hours: dict[Name, Annotated[float, q(HOURS, "h", "shop hours", ge=0, le=10000, chosen=True)]] = Field(
        default_factory=dict
    )
    """Of one, by the stock's kinds of work: servo, wiring, skin, sculpture, hair..."""


class Limits(Record):
    """What the brief allows."""

    performers: Annotated[int, Field(ge=1, le=20)] | None = None
    """How many people may play it."""
    head_mass: Annotated[float, q(MASS, "m_max", "mass of the head", gt=0, le=100, chosen=True)] | None = None
    hand_mass: Annotated[float, q(MASS, "m_max", "mass on the hand", gt=0, le=100, chosen=True)] | None = None
    shoulder_mass: Annotated[float, q(MASS, "m_max", "mass on the shoulders", gt=0, le=100, chosen=True)] | None = None
    post_mass: Annotated[float, q(MASS, "m_max", "mass on the post", gt=0, le=1000, chosen=True)] | None = None
    cost: Annotated[float, q(MONEY, "c_max", "cost of the parts", ge=0, chosen=True)] | None = None
    hours: Annotated[float, q(HOURS, "h_max", "shop hours", ge=0, chosen=True)] | None = None
    minutes: Annotated[float, q(TIME, "t_max", "time that a battery must last", gt=0, chosen=True)] | None = None
    """Absent: a call's length."""
