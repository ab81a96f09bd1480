"""First-order heating: T(t) = P R (1 - exp(-t / tau)), and the two-node step in the limits where it must become that."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.linalg import expm

from marotte.drive.heat import two_node_step

WATTS, K_PER_W, TAU_S = 6.0, 15.0, 600.0


def one_node(seconds: float) -> float:
    """The winding alone: the case bound to the air by next to nothing."""
    found = two_node_step(
        np.zeros((1, 2)), np.array([WATTS]), np.array([seconds]), np.array([TAU_S / K_PER_W]), np.array([1e-3]),
        np.array([K_PER_W]), np.array([1e-6]),
    )  # fmt: skip
    return float(found[0, 0])


def test_steady_rise_is_power_times_resistance() -> None:
    assert one_node(1e5) == pytest.approx(90.0, rel=1e-6)


def test_rise_after_five_minutes() -> None:
    assert one_node(300.0) == pytest.approx(35.412, abs=1e-3)


def test_time_to_sixty_kelvin() -> None:
    assert one_node(659.17) == pytest.approx(60.0, abs=1e-3)
    assert -TAU_S * math.log(1 - 60.0 / (WATTS * K_PER_W)) == pytest.approx(659.17, abs=5e-3)


@pytest.mark.parametrize("seconds", [0.5, 12.0, 700.0])
def test_two_nodes_agree_with_the_matrix_exponential(seconds: float) -> None:
    """Against scipy's expm of the same two equations."""
    c_w, c_c, r_wc, r_ca, watts = 3.0, 20.0, 10.0, 20.0, 1.7
    start = np.array([[4.0, 9.0]])
    m = np.array([[-1 / (c_w * r_wc), 1 / (c_w * r_wc)], [1 / (c_c * r_wc), -1 / (c_c * r_wc) - 1 / (c_c * r_ca)]])
    steady = np.array([watts * (r_wc + r_ca), watts * r_ca])
    wanted = steady + expm(m * seconds) @ (start[0] - steady)
    one = [np.array([x]) for x in (watts, seconds, c_w, c_c, r_wc, r_ca)]
    found = two_node_step(start, *one)
    assert found[0] == pytest.approx(wanted, rel=1e-9)


def test_windows_in_a_row_are_one_long_step() -> None:
    arrays = [np.array([x]) for x in (3.0, 20.0, 10.0, 20.0)]
    rise = np.zeros((1, 2))
    for _ in range(10):
        rise = two_node_step(rise, np.array([2.0]), np.array([6.0]), *arrays)
    whole = two_node_step(np.zeros((1, 2)), np.array([2.0]), np.array([60.0]), *arrays)
    assert rise == pytest.approx(whole, rel=1e-9)
