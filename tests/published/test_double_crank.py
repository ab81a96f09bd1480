"""Double crank of the course code built on Waldron, Kinzel & Agrawal, *Kinematics, Dynamics, and Design of Machinery*,
3rd ed. 2016: ground 1, crank 2, coupler 3.5, output 4. The lengths were seen in the public code; the angles were made by
a closed form and by a root finder.
"""

from __future__ import annotations

import numpy as np
import pytest

from marotte.mech.joints import EX, EY, turn
from marotte.mech.kernels import POSITION, follow

# theta2, (theta3, theta4) of branch 1, of branch 2 [deg]
ROWS = [
    (0, (66.868, 53.576), (-66.868, -53.576)),
    (30, (129.007, 111.576), (-21.419, -3.988)),
    (60, (176.453, 150.847), (3.547, 29.153)),
    (90, (-148.854, 177.281), (21.985, 55.849)),
]
TOLERANCE_DEG = 0.0006  # printed to three decimals


@pytest.mark.parametrize(("theta2", "one", "two"), ROWS)
def test_both_branches_of_the_double_crank(theta2, one, two):
    near, far = turn((0, 0, 0), EX, EY, 2.0, 0.0), turn((1, 0, 0), EX, EY, 4.0, 0.0)
    found = [np.degrees(follow(np.radians([theta2]), near, far, 3.5, sign)[POSITION, 0]) for sign in (1.0, -1.0)]
    for _theta3, theta4 in (one, two):
        assert min(abs((angle - theta4 + 180.0) % 360.0 - 180.0) for angle in found) < TOLERANCE_DEG


def test_the_double_crank_turns_right_round():
    near, far = turn((0, 0, 0), EX, EY, 2.0, 0.0), turn((1, 0, 0), EX, EY, 4.0, 0.0)
    rows = follow(np.linspace(0.0, 2 * np.pi, 721), near, far, 3.5, 1.0)
    assert abs(rows[POSITION, -1] - rows[POSITION, 0]) == pytest.approx(2 * np.pi, abs=1e-9)
