"""The servo behind an input: what it really has, written out from its datasheet rows or its bench test."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from marotte.creature.schema.means import Servo
from marotte.creature.schema.servos import ServoClass, ServoPoint
from marotte.verdict.points import Point
from marotte.verdict.requirements.borne import Borne, borne
from marotte.verdict.workings import Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results


@dataclass(frozen=True, slots=True)
class Pull(Borne):
    """One servo input at one instant: what it bears, and what pushes."""

    means: Servo
    servo: ServoClass
    volts: float
    stall_nm: float
    free_rad_s: float
    tested: bool
    """Whether a bench test stands behind the motor, and not the rows of a datasheet."""
    input: int


def pulled(creature: Creature, results: Results, mech: str, point: Point, index: int, where: str) -> Pull:
    """Return what one servo input of a mechanism bears, and what pushes there."""
    given = creature.mechs[mech].inputs[index]
    means = creature.means[given]
    assert isinstance(means, Servo)
    drive = results.model.drive(given)
    load = borne(creature, results, mech, point, where)
    bears: dict[str, Any] = {field.name: getattr(load, field.name) for field in fields(Borne)}
    return Pull(
        **bears,
        means=means,
        servo=creature.servos[means.model],
        volts=drive.motor.volts,
        stall_nm=drive.count * drive.motor.stall_torque_nm,
        free_rad_s=drive.motor.free_speed_rad_s,
        tested=drive.motor.from_test,
        input=index,
    )


def volts_row(servo: ServoClass, volts: float) -> tuple[ServoPoint, ServoPoint, float]:
    """Return the rows round a voltage and the share of the way from the first to the second."""
    points = servo.points
    if volts <= points[0].at or len(points) == 1:
        return points[0], points[0], 0.0
    for low, high in pairwise(points):
        if volts <= high.at:
            return low, high, (volts - low.at) / (high.at - low.at)
    return points[-1], points[-1], 0.0


def write_stall(w: Writer, pull: Pull) -> str:
    """Write the stall torque that the input really has, and return its symbol."""
    if pull.tested:
        return w.read(
            "tau_real", "stall torque of the bench test", f"drive: servo[{pull.means.model}]", pull.stall_nm, "N*m"
        )
    stall = _between(w, pull, "stall", "tau_s", "N*m")
    derate = w.given(pull.servo, "derate")
    if pull.means.count == 1:
        return w.worked("tau_real", "real stall torque", f"{derate}*{stall}", "N*m")
    count = w.read("n_g", "servos geared together", "counted in the file", pull.means.count, "1")
    return w.worked("tau_real", "real stall torque, together", f"{count}*{derate}*{stall}", "N*m")


def write_free(w: Writer, pull: Pull) -> str:
    """Write the free speed at the voltage that reaches the servo, and return its symbol."""
    return _between(w, pull, "free", "omega_0", "rad/s")


def _between(w: Writer, pull: Pull, field: str, symbol: str, unit_: str) -> str:
    low, high, _ = volts_row(pull.servo, pull.volts)
    if math.isclose(pull.volts, low.at, rel_tol=1e-9):
        return w.given(low, field, symbol=symbol)
    volts = w.read("U", "voltage at the servo", f"drive: {pull.name}", pull.volts, "V") if "U" not in w.values else "U"
    first = w.given(low, field, symbol=symbol)
    at = w.rule("U_1", "voltage of this row", low.at, "V", "row of the datasheet")
    if low is high:
        return w.worked(symbol, f"{field} at that voltage", f"{first}*{volts}/{at}", unit_)
    second = w.given(high, field, symbol=symbol)
    other = w.rule("U_2", "voltage of the next row", high.at, "V", "row of the datasheet")
    return w.worked(
        symbol, f"{field} at that voltage", f"{first} + ({second} - {first})*({volts} - {at})/({other} - {at})", unit_
    )
