"""Three-position synthesis by Freudenstein's equation; data and their standing in freudenstein.json."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from marotte.mech.joints import EX, EY, turn
from marotte.mech.kernels import POSITION, follow
from marotte.mech.sizing import Lengths, chebyshev_points, freudenstein

BOOK = json.loads((Path(__file__).parent / "freudenstein.json").read_text())


@pytest.mark.parametrize("case", BOOK["cases"], ids=lambda case: case["id"])
def test_the_synthesis_gives_the_exercises_lengths(case):
    found = freudenstein(np.radians(case["theta2_deg"]), np.radians(case["theta4_deg"]))
    assert isinstance(found, Lengths)
    a, b, c = case["abc"]
    assert (found.horn, found.rod, found.arm) == pytest.approx((a, b, c), abs=BOOK["tolerance"])
    k1, k2, _k3 = case["K"]
    assert (1 / found.horn, 1 / found.arm) == pytest.approx((k1, k2), abs=BOOK["tolerance"])


@pytest.mark.parametrize("case", BOOK["cases"], ids=lambda case: case["id"])
def test_the_precision_points_are_chebyshevs(case):
    assert chebyshev_points(*case["range_x"]) == pytest.approx(case["precision_x"], abs=1e-4)
    assert chebyshev_points(0.0, 1.0) == pytest.approx(BOOK["fractions"], abs=1e-6)


def test_the_structural_error_is_the_exercises():
    case = BOOK["cases"][0]
    # exact inputs: 30 + 90 deg over x, 90 + 90 deg over y = x^1.5
    exact = chebyshev_points(1.0, 4.0)

    def theta2(x):
        return np.radians(30.0 + 90.0 * (x - 1.0) / 3.0)

    def theta4(x):
        return np.radians(90.0 + 90.0 * (x**1.5 - 1.0) / 7.0)

    found = freudenstein(theta2(exact), theta4(exact))
    assert isinstance(found, Lengths)
    assert found.horn == pytest.approx(case["abc"][0], abs=2e-5)
    x = np.linspace(1.0, 4.0, 301)
    # a negative length is measured half a turn on
    near = turn((0, 0, 0), EX, EY, abs(found.horn), np.pi)
    far = turn((1, 0, 0), EX, EY, abs(found.arm), np.pi)
    errors = [
        np.abs(np.degrees(np.angle(np.exp(1j * (follow(theta2(x), near, far, found.rod, sign)[POSITION] - theta4(x))))))
        for sign in (1.0, -1.0)
    ]
    error = min(errors, key=lambda item: item.max())
    assert error.max() == pytest.approx(BOOK["structural_error_deg"], abs=1e-3)
    assert x[np.argmax(error)] == pytest.approx(BOOK["structural_error_at"])


def test_three_positions_that_are_one_have_no_linkage():
    same = np.radians([40.0, 40.0, 40.0])
    assert not isinstance(freudenstein(same, same), Lengths)
