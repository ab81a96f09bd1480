"""Minimum-jerk moves against their closed form.

Flash and Hogan 1985, J Neurosci 5:1688. Peak speed 15/8 D/T = 1.875 D/T; peak acceleration 5.7735 D/T2 (10/sqrt(3)); values by
arithmetic outside this project. Tolerance: sampling at 240 Hz over one second of motion.
"""

from __future__ import annotations

import numpy as np
import pytest

from marotte.script.curves import Keys, min_jerk


def test_peak_speed_and_acceleration_of_the_polynomial() -> None:
    t = np.linspace(0.0, 1.0, 200001)
    x = np.asarray(min_jerk(t))
    v = np.gradient(x, t)
    a = np.gradient(v, t)
    assert v.max() == pytest.approx(1.875, rel=1e-6)
    assert a.max() == pytest.approx(5.7735, rel=1e-4)


def test_a_keyed_move_has_that_peak_speed_and_starts_and_stops_dead() -> None:
    keys = Keys()
    keys.curve(0, ((240, 0.0), (1440, 3.0)))  # 3 units in one second
    out = np.zeros((1, 480))
    keys.add_to(out)
    speed = np.diff(out[0]) * 240
    assert speed.max() == pytest.approx(1.875 * 3.0, rel=1e-3)
    assert out[0, :49].max() == 0.0
    assert np.all(out[0, 288:] == 3.0)
    assert abs(speed[48]) < 0.01
    assert abs(speed[287]) < 0.01
