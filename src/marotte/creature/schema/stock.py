"""What the stock has besides servos: skins and what is laid under and over them, wires, joints, cells, controls, hours."""

from __future__ import annotations

from typing import Annotated, Literal, TypeAlias

from pydantic import Field

from marotte.basis.units import (
    ANGLE,
    AREAL,
    CURRENT,
    DENSITY,
    FORCE,
    FREQUENCY,
    HOURS,
    LENGTH,
    MASS,
    MONEY,
    NUMBER,
    PRESSURE,
    RATIO,
    VOLTAGE,
)
from marotte.creature.schema.base import Record, Word
from marotte.creature.schema.quantities import q

Price: TypeAlias = Annotated[float, q(MONEY, "c", "price", ge=0, le=100000)]


class SkinStuff(Record):
    """What a skin is made of: a neo-Hookean solid with its density and its moods."""

    about: Word
    modulus: Annotated[float, q(PRESSURE, "mu", "shear modulus of the neo-Hookean law", gt=0, le=1e8)]
    density: Annotated[float, q(DENSITY, "rho", "density", gt=0, le=10000)]
    cold: Annotated[float, q(NUMBER, "k_c", "stiffness at 5 degC over that at 22 degC", gt=0, le=10)]
    warm: Annotated[float, q(NUMBER, "k_w", "stiffness at 40 degC over that at 22 degC", gt=0, le=10)]
    creep: Annotated[float, q(RATIO, "k_1", "share of the force lost in the first takes", ge=0, le=0.9)]
    tears_at: Annotated[float, q(NUMBER, "lambda_t", "stretch at which a thin edge starts to tear", gt=1, le=20)]
    price: Price | None = None
    """Of a kilogram."""


class Backing(Record):
    """What is cast in behind a skin."""

    about: Word
    factor: Annotated[float, q(NUMBER, "k_b", "stiffness with the backing over that without", ge=1, le=1000)]
    locks_at: Annotated[float, q(NUMBER, "lambda_b", "stretch at which the backing is taut", gt=1, le=20)]
    mass: Annotated[float, q(AREAL, "m_A", "mass of an area", ge=0, le=20)]


class Fabric(Record):
    """Fur, cloth, feathers on net."""

    about: Word
    mass: Annotated[float, q(AREAL, "m_A", "mass of an area", ge=0, le=20)]
    stretches: Literal["no", "one_way", "both_ways"]
    price: Price | None = None
    """Of a square metre."""


class Wire(Record):
    """A wire, rope or line that pulls (and, if solid, pushes)."""

    about: Word
    thickness: Annotated[float, q(LENGTH, "d_w", "thickness", gt=0, le=0.05)]
    pull: Annotated[float, q(FORCE, "EA", "force per strain in pull", gt=0, le=1e9)]
    breaks_at: Annotated[float, q(FORCE, "F_b", "least breaking strength", gt=0, le=1e7)]
    solid: bool
    """Whether it can push."""


class Liner(Record):
    """What a wire runs in."""

    about: Word
    friction: Annotated[float, q(NUMBER, "mu_l", "friction coefficient of wire on liner", ge=0, le=2)]
    bore: Annotated[float, q(LENGTH, "d_b", "bore", gt=0, le=0.05)]
    outer: Annotated[float, q(LENGTH, "d_o", "outer diameter of the housing", gt=0, le=0.1)]
    bend_radius: Annotated[float, q(LENGTH, "R_min", "least radius of a bend", gt=0, le=2)]


class Joint(Record):
    """A joint at the end of a rod."""

    about: Word
    slop: Annotated[float, q(LENGTH, "s_j", "lost motion of one joint when new", ge=0, le=0.01)]
    cone: Annotated[float, q(ANGLE, "gamma", "half-cone that it allows", gt=0, le=1.6)]
    mass: Annotated[float, q(MASS, "m_j", "mass", ge=0, le=1)]
    price: Price | None = None


class BatteryKind(Record):
    """One cell of a chemistry, open circuit."""

    about: Word
    full: Annotated[float, q(VOLTAGE, "U_f", "cell when full", gt=0, le=5)]
    nominal: Annotated[float, q(VOLTAGE, "U_n", "cell when half used", gt=0, le=5)]
    empty: Annotated[float, q(VOLTAGE, "U_e", "cell where it must stop", gt=0, le=5)]
    hazard: Literal["lithium", "none"]


class ControlKind(Record):
    """Something that a finger, hand, foot or voice moves."""

    about: Word
    axes: tuple[Word, ...]
    """Names of its axes; empty for a control with one."""
    sites: tuple[Word, ...]
    """Where on the body it may be worked, without left or right."""
    rate: Annotated[float, q(FREQUENCY, "f_c", "how fast it is played in small moves", gt=0, le=50)]
    travel: Annotated[float, q(LENGTH, "s_c", "travel", gt=0, le=2)]
    centres: bool
    """Whether it springs back."""
    kind: Literal["smooth", "switch", "automatic"]


class Hours(Record):
    """Shop hours for one thing of a kind."""

    about: Word
    hours: Annotated[float, q(HOURS, "h", "shop hours", ge=0, le=10000)]


class Ampacity(Record):
    """What a wire of one number bears."""

    awg: Annotated[int, Field(ge=0, le=40)]
    chassis: Annotated[float, q(CURRENT, "I_c", "single in free air", gt=0, le=1000)]
    bundled: Annotated[float, q(CURRENT, "I_d", "among others, or long", gt=0, le=1000)]
