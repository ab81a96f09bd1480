"""Servos: the usual five datasheet numbers per voltage, or measured points, and what a builder knows beside them."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import Field, model_validator

from marotte.basis.units import (
    ANGLE,
    CURRENT,
    FREQUENCY,
    HEAT_CAPACITY,
    INERTIA,
    KELVIN,
    LENGTH,
    MASS,
    MONEY,
    RATIO,
    SPEED,
    THERMAL,
    TIME,
    TORQUE,
    VOLTAGE,
)
from marotte.creature.schema.base import Name, Record, Word
from marotte.creature.schema.quantities import q

SAME_HOLES: Final = 2e-3
"""How far [m] the sides of two cases may differ that screw into the same holes (common practice, no source)."""
Size = Annotated[float, q(LENGTH, "b", "a side of the body", gt=0, le=0.5)]


class ServoPoint(Record):
    """The servo at one voltage, as advertised or measured."""

    at: Annotated[float, q(VOLTAGE, "V", "voltage of this row", gt=0, le=60)]
    stall: Annotated[float, q(TORQUE, "tau_s", "stall torque, advertised", gt=0, le=500)]
    free: Annotated[float, q(SPEED, "omega_0", "free speed", gt=0, le=200)]
    stall_current: Annotated[float, q(CURRENT, "I_s", "stall current", gt=0, le=200)]
    free_current: Annotated[float, q(CURRENT, "I_0", "current when running free", ge=0, le=50)] | None = None
    """Absent: a tenth of the stall current (common practice, no source)."""


class MeasuredPoint(Record):
    """One row of a bench test at one voltage."""

    at: Annotated[float, q(VOLTAGE, "V", "voltage of the test", gt=0, le=60)]
    torque: Annotated[float, q(TORQUE, "tau", "torque lifted", ge=0, le=500)]
    speed: Annotated[float, q(SPEED, "omega", "speed reached", ge=0, le=200)]
    current: Annotated[float, q(CURRENT, "I", "current drawn", ge=0, le=200)]


class ServoClass(Record):
    """A class of the stock, or a servo of the file (``like`` a class, with what differs)."""

    about: Word | None = None
    """What it is used for."""
    like: Name | None = None
    """The class of the stock that it was filled in from."""
    mass: Annotated[float, q(MASS, "m_s", "mass of the servo with its lead and horn", gt=0, le=5)]
    body: tuple[Size, Size, Size]
    """Length, width and height of the case."""
    shaft: Annotated[
        float, q(LENGTH, "c", "from the middle of the case to the shaft, along its length", ge=0, le=0.2)
    ] = 0.0
    gears: Literal["plastic", "brass", "metal", "titanium"] = "metal"
    """Plastic strips on the first slap."""
    noise: Literal["quiet", "plain", "loud"] = "plain"
    """A rank, where no level was measured."""
    spline: Annotated[int, Field(ge=1, le=60)] = 25
    """Teeth of the output spline."""
    travel: Annotated[float, q(ANGLE, "phi_s", "whole travel of the output", gt=0, le=7)] = 2.0944
    points: tuple[ServoPoint, ...] = Field(min_length=1)
    measured: tuple[MeasuredPoint, ...] = ()
    """A bench test; where there is one it is used, and the points only for other voltages."""
    derate: Annotated[float, q(RATIO, "k_d", "real stall torque over the advertised one", gt=0.05, le=1)] = 0.5
    dead_band: Annotated[float, q(ANGLE, "d_b", "half-width of the dead band", ge=0, le=0.2)] = 0.004
    play: Annotated[float, q(ANGLE, "p_g", "play of the gears at the output, full width", ge=0, le=0.2)] = 0.0087
    frame: Annotated[float, q(FREQUENCY, "f_f", "frames a second that it listens to", gt=0, le=1200)] = 50.0
    inertia: Annotated[float, q(INERTIA, "J_m", "inertia of motor and gears at the output", gt=0, le=1)]
    full_at: Annotated[float, q(ANGLE, "e_f", "error at which it gives all it has", gt=0, le=1)] = 0.0873
    brake_time: Annotated[float, q(TIME, "t_b", "speed term of its loop: error taken off per speed", ge=0, le=0.2)] = (
        0.005
    )
    signal_step: Annotated[float, q(ANGLE, "d_q", "least step of the signal that it tells apart", ge=0, le=0.1)] = (
        0.0016
    )
    """One microsecond of pulse at 90 degrees a millisecond (common practice, no source)."""
    winding_heat: Annotated[float, q(HEAT_CAPACITY, "C_w", "heat capacity of the winding", gt=0, le=1000)]
    case_heat: Annotated[float, q(HEAT_CAPACITY, "C_c", "heat capacity of the case", gt=0, le=5000)]
    winding_to_case: Annotated[float, q(THERMAL, "R_wc", "heat resistance, winding to case", gt=0)] = 10.0
    case_to_air: Annotated[float, q(THERMAL, "R_ca", "heat resistance, case to still air", gt=0)] = 20.0
    winding_limit: Annotated[float, q(KELVIN, "dT_w", "rise that the winding bears", gt=0, le=200)] = 80.0
    response: Annotated[float, q(TIME, "t_r", "delay from signal to drive", ge=0, le=0.5)] = 0.002
    price: Annotated[float, q(MONEY, "c_s", "price", ge=0, le=100000)] | None = None

    @model_validator(mode="after")
    def _rising(self) -> ServoClass:
        volts = [point.at for point in self.points]
        if sorted(set(volts)) != volts:
            raise ValueError("the voltages of points must rise, each once")
        return self

    def same_body(self, other: ServoClass) -> bool:
        """Return whether another's case goes where this one's is: the same length and width, a file's stroke apart."""
        return all(abs(a - b) <= SAME_HOLES for a, b in zip(self.body[:2], other.body[:2], strict=True))
