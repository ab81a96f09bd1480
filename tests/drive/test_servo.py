"""A servo from its datasheet: lines through stall and free running, rows between voltages, what no motor can do."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.creature.schema.servos import MeasuredPoint, ServoPoint
from marotte.drive.servo import (
    available_torque_nm,
    current_for_torque_a,
    gear_losses,
    motor,
    row_at,
    speed_at_torque_rad_s,
)
from tests.drive.rigs import servo


def test_stall_torque_is_the_advertised_one_derated() -> None:
    assert motor(servo(), 6.0).stall_torque_nm == pytest.approx(0.25)
    assert motor(servo(derate=1.0), 6.0).stall_torque_nm == pytest.approx(0.5)


def test_free_speed_and_currents_are_those_of_the_row() -> None:
    made = motor(servo(), 7.4)
    assert made.free_speed_rad_s == pytest.approx(10.5)
    assert made.stall_current_a == pytest.approx(1.8)
    assert made.free_current_a == pytest.approx(0.18)


def test_rows_are_interpolated_between_and_scaled_beyond() -> None:
    middle = row_at(servo(), 6.7)
    assert middle.free_speed_rad_s == pytest.approx(9.6)
    assert row_at(servo(), 3.0).free_speed_rad_s == pytest.approx(8.7 / 2)
    assert row_at(servo(), 14.8).stall_torque_nm == pytest.approx(0.6 * 0.5 * 2)


@settings(deadline=None, max_examples=60)
@given(volts=st.floats(4.0, 9.0), share=st.floats(0.0, 1.0))
def test_torque_and_speed_lie_on_one_line_for_any_voltage(volts: float, share: float) -> None:
    made = motor(servo(), volts)
    speed = share * made.free_speed_rad_s
    has = float(available_torque_nm(made, speed))
    assert has == pytest.approx(made.stall_torque_nm * (1 - share), abs=1e-9)
    assert float(speed_at_torque_rad_s(made, has)) == pytest.approx(speed, abs=1e-6)


def test_a_servo_cannot_run_faster_than_free() -> None:
    made = motor(servo(), 6.0)
    assert float(available_torque_nm(made, 1.01 * made.free_speed_rad_s)) == 0.0


def test_gears_never_make_energy() -> None:
    losses = gear_losses(motor(servo(), 6.0))
    assert (losses[:, 1] >= 0).all()
    assert (losses[:, 2] >= 0).all()


def test_a_datasheet_that_promises_more_power_than_it_draws_is_told() -> None:
    wonder = servo(points=(ServoPoint(at=6.0, stall=3.0, free=12.0, stall_current=1.0),), derate=1.0)
    made = motor(wonder, 6.0)
    assert [told.code for told in made.told] == ["servo_power"]
    assert made.stall_torque_nm == pytest.approx(3.0)
    assert made.free_speed_rad_s == pytest.approx(12.0)
    assert made.stall_current_a > 1.0
    # at its best point the power out is below the power in
    speed = np.linspace(0.1, 11.9, 50)
    out = available_torque_nm(made, speed) * speed
    drawn = 6.0 * (6.0 - made.back_emf_vs * speed) / made.resistance_ohm
    assert (out <= drawn * (1 + 1e-9)).all()


def test_stall_torque_takes_the_stall_current_and_no_load_the_free_one() -> None:
    made = motor(servo(), 6.0)
    assert float(current_for_torque_a(made, made.stall_torque_nm)) == pytest.approx(made.stall_current_a)
    assert float(current_for_torque_a(made, 0.0)) == pytest.approx(made.free_current_a)


def test_a_bench_test_is_used_near_its_voltage_only() -> None:
    rows = tuple(
        MeasuredPoint(at=6.0, torque=t, speed=s, current=c)
        for t, s, c in ((0.0, 8.5, 0.2), (0.1, 7.0, 0.5), (0.2, 5.0, 0.9), (0.25, 3.0, 1.3))
    )
    tested = servo(measured=rows)
    assert motor(tested, 6.2).from_test
    assert not motor(tested, 7.4).from_test


def test_rows_of_a_bench_test_that_fold_back_are_left_out_and_told() -> None:
    rows = tuple(
        MeasuredPoint(at=6.0, torque=t, speed=s, current=c)
        for t, s, c in ((0.0, 8.5, 0.2), (0.1, 7.0, 0.5), (0.15, 7.5, 0.45), (0.2, 5.0, 0.9))
    )
    made = motor(servo(measured=rows), 6.0)
    assert [told.code for told in made.told] == ["servo_fold"]
    assert (np.diff(made.currents_a) > 0).all()
    assert (np.diff(made.torques_nm) >= 0).all()


def test_a_voltage_of_zero_is_refused() -> None:
    with pytest.raises(ValueError, match="above zero"):
        motor(servo(), 0.0)
