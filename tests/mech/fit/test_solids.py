from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.common import F64
from marotte.basis.frames import rotation
from marotte.mech.fit.kernels_out import ellipsoid_distance
from marotte.mech.fit.solids import Solid, ball, box, capsule, frame_of, gap_of, out_of, pack, sector

EYE = np.eye(3)
finite = st.floats(-0.05, 0.05)
places = st.tuples(finite, finite, finite).map(np.array)
sizes = st.tuples(*(st.floats(0.005, 0.05),) * 3).map(np.array)
turns = (
    st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(-1, 1), st.floats(0, 6.3))
    .filter(lambda v: math.hypot(*v[:3]) > 1e-3)
    .map(lambda v: rotation((v[0], v[1], v[2]), v[3]))
)


def boxes() -> st.SearchStrategy[Solid]:
    return st.builds(box, places, turns, sizes)


def solids() -> st.SearchStrategy[Solid]:
    balls = st.builds(ball, places, st.floats(0.002, 0.03))
    capsules = st.builds(capsule, places, places, st.floats(0.001, 0.01)).filter(
        lambda c: float(np.linalg.norm(c.points[0] - c.points[1])) > 1e-3
    )
    sweeps = st.builds(
        lambda at, turn, radius, low, span: sector(at, turn[0], turn[2], radius, low, low + span, 0.004),
        places, turns, st.floats(0.008, 0.02), st.floats(-3, 3), st.floats(0.2, 6.28),
    )  # fmt: skip
    return st.one_of(boxes(), balls, capsules, sweeps)


def moved(solid: Solid, by: F64) -> Solid:
    return Solid(solid.points + by, solid.radius, solid.normals, solid.edges)


def test_two_balls_are_apart_by_their_centres_less_their_radii() -> None:
    assert gap_of(ball((0, 0, 0), 0.02), ball((0.1, 0, 0), 0.03))[0] == pytest.approx(0.05)
    assert gap_of(ball((0, 0, 0), 0.02), ball((0.04, 0, 0), 0.03))[0] == pytest.approx(-0.01)


@pytest.mark.parametrize(
    "at, wanted",
    [
        ((0.03, 0.0, 0.0), 0.01),  # face to face
        ((0.03, 0.03, 0.0), 0.01 * math.sqrt(2)),  # edge to edge
        ((0.03, 0.03, 0.03), 0.01 * math.sqrt(3)),  # corner to corner
        ((0.015, 0.002, 0.0), -0.005),
    ],
)
def test_two_square_boxes_have_the_gap_that_a_rule_would_show(at: tuple[float, float, float], wanted: float) -> None:
    assert gap_of(box((0, 0, 0), EYE, [0.02] * 3), box(at, EYE, [0.02] * 3))[0] == pytest.approx(wanted, abs=1e-12)


def test_a_turned_box_touches_with_its_corner() -> None:
    """A cube of 20 turned by 45 degrees reaches 14.142 from its centre."""
    turned = box((0.03, 0, 0), rotation((0.0, 0.0, 1.0), math.pi / 4), [0.02] * 3)
    assert gap_of(box((0, 0, 0), EYE, [0.02] * 3), turned)[0] == pytest.approx(0.02 - 0.01 * math.sqrt(2), abs=1e-12)


def test_a_capsule_through_a_box_overlaps_by_its_depth() -> None:
    rod = capsule(np.array([-0.1, 0.005, 0.0]), np.array([0.1, 0.005, 0.0]), 0.002)
    assert gap_of(rod, box((0, 0, 0), EYE, [0.02] * 3))[0] == pytest.approx(-(0.005 + 0.002))


def test_a_sector_holds_what_its_arm_sweeps() -> None:
    first, axis = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    for low, high in ((-0.5, 0.6), (-1.0, 2.5), (0.0, 2 * math.pi)):
        swept = sector(np.zeros(3), first, axis, 0.014, low, high, 0.003)
        for angle in np.linspace(low, high, 50):
            tip = ball((0.014 * math.cos(angle), 0.014 * math.sin(angle), 0.0), 0.0)
            assert gap_of(tip, swept)[0] <= 1e-9
    narrow = sector(np.zeros(3), first, axis, 0.014, -0.5, 0.6, 0.003)
    assert gap_of(ball((-0.003, 0, 0), 0.0), narrow)[0] > 0.002


@settings(deadline=None, max_examples=150)
@given(solids(), solids())
def test_moving_along_the_way_that_frees_by_the_depth_frees(one: Solid, other: Solid) -> None:
    value, normal = gap_of(one, other)
    assert np.linalg.norm(normal) == pytest.approx(1.0, abs=1e-6)
    if value < 0:
        assert gap_of(moved(one, (-value + 1e-6) * normal), other)[0] >= -1e-7
    elif value > 1e-7:
        # they meet then; they may only touch, where they lie flush side by side
        assert gap_of(moved(one, -(value + 1e-4) * normal), other)[0] <= 1e-9


@settings(deadline=None, max_examples=150)
@given(solids(), solids(), places, turns)
def test_a_gap_is_the_same_both_ways_and_from_anywhere(one: Solid, other: Solid, by: F64, turn: F64) -> None:
    def carried(s: Solid) -> Solid:
        return Solid(s.points @ turn.T + by, s.radius, s.normals @ turn.T, s.edges @ turn.T)

    value = gap_of(one, other)[0]
    assert gap_of(other, one)[0] == pytest.approx(value, abs=2e-8)
    assert gap_of(carried(one), carried(other))[0] == pytest.approx(value, abs=2e-8)


@settings(deadline=None, max_examples=150)
@given(places, st.tuples(*(st.floats(0.02, 0.09),) * 3))
def test_the_nearest_point_of_an_ellipsoid_lies_square_to_it(point: F64, half: tuple[float, float, float]) -> None:
    """Independent second method: nearest of 4,000 points of the surface, refined by descent on its two angles."""
    from scipy.optimize import minimize

    def away(v: F64) -> float:
        s = np.array([math.cos(v[0]) * math.cos(v[1]), math.cos(v[0]) * math.sin(v[1]), math.sin(v[0])])
        return float(((s * half - point) ** 2).sum())

    grid = [(a, b) for a in np.linspace(-1.5, 1.5, 25) for b in np.linspace(-math.pi, math.pi, 41)]
    starts = sorted(grid, key=lambda v: away(np.array(v)))[:4]
    best = min(minimize(away, np.array(v), tol=1e-18).fun for v in starts)
    found = ellipsoid_distance(*point, *half)
    assert abs(found) == pytest.approx(math.sqrt(max(best, 0.0)), abs=2e-6)
    assert (found <= 0) == (float(((point / half) ** 2).sum()) <= 1.0)


def test_a_box_in_a_ball_stays_inside_by_its_corners() -> None:
    """Corner of a cube of 40 at 34.641 from the centre."""
    found = out_of(pack([box((0, 0, 0), EYE, [0.04] * 3)]), (0.0, 0.0, 0.0), np.full(3, 0.05))
    assert found[0] == pytest.approx(0.02 * math.sqrt(3) - 0.05, abs=1e-9)


def test_a_body_s_long_side_along_its_shaft_is_refused() -> None:
    with pytest.raises(ValueError, match="long side"):
        frame_of((0.0, 0.0, 1.0), (0.0, 0.0, -2.0))
