"""Four-bar and slider-crank worked examples of R. L. Norton, *Design of Machinery*; data and their standing in the JSON."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from marotte.mech.joints import EX, EY, slide, turn
from marotte.mech.kernels import POSITION, RATE, SIN_FAR, follow
from marotte.mech.kinds.four_bar import arm_from_horn, horn_from_arm

CASE = json.loads((Path(__file__).parent / "norton_four_bar.json").read_text())
A, B, C, D = (CASE["lengths_mm"][name] * 1e-3 for name in ("horn", "rod", "arm", "ground"))
THETA2 = np.radians(CASE["theta2_deg"])
TOLERANCE = CASE["tolerance_deg"]


@pytest.mark.parametrize("branch", ["open", "crossed"])
def test_the_arm_stands_where_the_book_has_it_on_both_branches(branch):
    theta4 = arm_from_horn(A, B, C, D, THETA2, branch)
    assert np.degrees(theta4) == pytest.approx(CASE["theta4_deg"][branch], abs=TOLERANCE)
    rod = np.array([D + C * np.cos(theta4) - A * np.cos(THETA2), C * np.sin(theta4) - A * np.sin(THETA2)])
    assert np.degrees(np.arctan2(rod[1], rod[0])) == pytest.approx(CASE["theta3_deg"][branch], abs=TOLERANCE)


def test_the_horn_is_found_back_from_the_arm():
    for branch in ("open", "crossed"):
        theta4 = np.radians(CASE["theta4_deg"][branch])
        horns = [horn_from_arm(A, B, C, D, theta4, way) for way in ("open", "crossed")]
        assert min(abs(np.degrees(horn) - CASE["theta2_deg"]) for horn in horns) < 0.001


def _rows(theta2_deg):
    near, far = turn((0, 0, 0), EX, EY, A, 0.0), turn((D, 0, 0), EX, EY, C, 0.0)
    return follow(np.radians([theta2_deg]), near, far, B, -1.0)[:, 0]


@pytest.mark.parametrize(("theta2", "mu"), CASE["transmission_angle_deg"])
def test_the_transmission_angle_is_the_books(theta2, mu):
    assert np.degrees(np.arcsin(_rows(theta2)[SIN_FAR])) == pytest.approx(mu, abs=TOLERANCE)


def test_ratio_and_torque_ratio_are_the_books():
    rate = _rows(CASE["theta2_deg"])[RATE]
    assert rate == pytest.approx(CASE["omega4_over_omega2"], abs=1e-6)
    assert 1.0 / rate == pytest.approx(CASE["torque_ratio"], abs=1e-5)


@pytest.mark.parametrize(("branch", "sign"), [("open", 1.0), ("crossed", -1.0)])
def test_the_offset_slider_stands_where_the_book_has_it(branch, sign):
    case = CASE["slider"]
    near = turn((0, 0, 0), EX, EY, case["horn_mm"] * 1e-3, 0.0)
    far = slide((0.0, case["offset_mm"] * 1e-3, 0.0), EX)
    rows = follow(np.radians([case["theta2_deg"]]), near, far, case["rod_mm"] * 1e-3, sign)
    assert rows[POSITION, 0] * 1e3 == pytest.approx(case["d_mm"][branch], abs=case["tolerance_mm"])


def test_the_in_line_slider_has_its_place_stroke_and_rate():
    case = CASE["in_line_slider"]
    near, far = turn((0, 0, 0), EX, EY, case["horn_mm"] * 1e-3, 0.0), slide((0, 0, 0), EX)
    rows = follow(np.radians([case["theta_deg"], 1e-6, 180.0 - 1e-6]), near, far, case["rod_mm"] * 1e-3, 1.0)
    assert rows[POSITION, 0] * 1e3 == pytest.approx(case["x_mm"], abs=1e-5)
    assert abs(rows[RATE, 0]) * 1e3 == pytest.approx(case["rate_mm_per_rad"], abs=1e-4)
    assert (rows[POSITION, 1] - rows[POSITION, 2]) * 1e3 == pytest.approx(case["stroke_mm"], abs=1e-6)
