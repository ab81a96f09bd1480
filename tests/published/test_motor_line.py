"""The straight line of a DC motor against an open table of a measured motor, and the units of a datasheet.

Table: repository electrical-motor-data (open data), one motor at 12 V and at 6 V. Its current and power columns at 6 V
contradict each other (power equals current times 12 V), so only torque and speed are used there.
"""

from __future__ import annotations

import numpy as np
import pytest

from marotte.basis.units import ANGLE, SPEED, TORQUE, parse
from marotte.creature.schema.servos import ServoClass, ServoPoint
from marotte.drive.servo import available_torque_nm, current_for_torque_a, motor, row_at
from tests.drive.rigs import servo

RPM = 2 * np.pi / 60
SLOWED = 8
"""Speeds are taken an eighth as fast, to stay inside what the schema allows a servo; torques and currents are the table's."""
AT_12 = ServoPoint(at=12.0, stall=1.082, free=11708.256 * RPM / SLOWED, stall_current=111.278, free_current=1.1)


def ideal(*points: ServoPoint) -> ServoClass:
    return servo(points=points, derate=1.0)


def test_peak_power_is_a_quarter_of_stall_torque_times_free_speed() -> None:
    """Closed form: P = tau_s * omega_0 / 4, at half the free speed; 1 N*m and 10 rad/s give 2.5 W."""
    made = motor(ideal(ServoPoint(at=6.0, stall=1.0, free=10.0, stall_current=3.0)), 6.0)
    speed = np.linspace(0, 10, 2001)
    power = available_torque_nm(made, speed) * speed
    assert power.max() == pytest.approx(2.5, rel=1e-6)
    assert speed[power.argmax()] == pytest.approx(5.0, abs=0.01)


@pytest.mark.parametrize(
    ("share", "torque_nm", "current_a", "power_w"),
    [(0.5, 0.541, 56.189, 331.656), (0.25, 0.8115, 83.734, 248.742), (0.75, 0.2705, 28.645, 248.742)],
)
def test_the_line_gives_the_table_between_stall_and_free(
    share: float, torque_nm: float, current_a: float, power_w: float
) -> None:
    made = motor(ideal(AT_12), 12.0)
    speed = share * made.free_speed_rad_s
    torque = float(available_torque_nm(made, speed))
    assert torque == pytest.approx(torque_nm, abs=5e-4)  # the table has four digits
    assert float(current_for_torque_a(made, torque)) == pytest.approx(current_a, abs=2e-3)
    assert torque * speed * SLOWED == pytest.approx(power_w, rel=1e-4)


def test_half_the_voltage_gives_half_the_speed_but_not_half_the_torque() -> None:
    """The table: speed ratio 0.480, stall torque ratio 0.597. So rows are interpolated, not scaled, where there are two."""
    at_6 = ServoPoint(at=6.0, stall=0.646, free=5619.3 * RPM / SLOWED, stall_current=62.0)
    both = ideal(at_6, AT_12)
    assert row_at(both, 6.0).free_speed_rad_s / row_at(both, 12.0).free_speed_rad_s == pytest.approx(0.480, abs=5e-4)
    assert row_at(both, 6.0).stall_torque_nm / row_at(both, 12.0).stall_torque_nm == pytest.approx(0.597, abs=5e-4)
    # at half speed of 6 V the table has 0.323 N*m
    made = motor(both, 6.0)
    assert float(available_torque_nm(made, 0.5 * made.free_speed_rad_s)) == pytest.approx(0.323, abs=1e-6)


def test_datasheet_units_come_out_in_si() -> None:
    """kgf*cm and ozf*in by the international pound and standard gravity; s/60deg by definition."""
    assert parse("0.15 s/60deg", SPEED)[1].value == pytest.approx(6.9813, abs=5e-5)
    assert parse("10 kgf*cm", TORQUE)[1].value == pytest.approx(0.980665, abs=1e-9)
    assert parse("138.87 ozf*in", TORQUE)[1].value == pytest.approx(0.980665, rel=1e-4)
    assert parse("10 kgf*cm", TORQUE)[1].value / 0.015 == pytest.approx(65.378, abs=1e-3)  # N at a horn of 15 mm
    assert parse("22.5 deg", ANGLE)[1].value == pytest.approx(np.deg2rad(22.5))
