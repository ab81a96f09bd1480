"""Two rods on one eye: closure, rates, symmetry, cross-talk."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.mech import Jammed
from marotte.basis.frames import rotation
from marotte.creature.schema.mechs import GimbalArms, TwoRodGimbal
from marotte.mech.kernels_gimbal import needed
from marotte.mech.kinds.two_rod_gimbal import rods_of
from tests.mech.rigs import DEG, eye, function, moved, slope

calm = settings(deadline=None, max_examples=15)
eyes = st.fixed_dictionaries(
    {
        "horn": st.floats(0.009, 0.016),
        "rod": st.floats(0.03, 0.08),
        "second_rod": st.one_of(st.none(), st.floats(0.03, 0.08)),
        "arms": st.builds(
            GimbalArms, spacing=st.floats(0.012, 0.02), height=st.floats(0.007, 0.012), back=st.floats(0.0, 0.004)
        ),
    }
)


def inside(found, turn=28 * DEG, lift=18 * DEG):
    return (np.abs(found.position[0]) < turn) & (np.abs(found.position[1]) < lift)


@calm
@given(eyes, st.sampled_from(["left", "right"]))
def test_both_rods_keep_their_length_within_1e_9_m(size, side):
    found = eye(side, **size)
    record = TwoRodGimbal(**size)
    rods = rods_of(record, (0.0, 0.0), side)
    for i, j in zip(*np.nonzero(inside(found)), strict=True):
        t, s = found.position[:, i, j]
        pose = rotation((0, 1, 0), t) @ rotation((1, 0, 0), -s)
        for rod, u in zip(rods, (found.grid[0][i], found.grid[1][j]), strict=True):
            angle = rod[7] + u
            horn = rod[3:6] + rod[6] * np.array([0.0, np.sin(angle), np.cos(angle)])
            assert np.linalg.norm(pose @ rod[:3] - horn) == pytest.approx(rod[8], abs=1e-9)


@calm
@given(eyes)
def test_rates_and_bends_are_slopes(size):
    found = eye(**size)
    core = inside(found, 20 * DEG, 12 * DEG)
    for out in (0, 1):
        for axis in (0, 1):
            keep = [slice(2, -2) if k == axis else slice(None) for k in (0, 1)]
            here = core[tuple(keep)]
            rate, bend = found.rate[out, axis][tuple(keep)], found.bend[out, axis][tuple(keep)]
            assert np.abs(slope(found.position[out], found.grid[axis], axis) - rate)[here].max() < 2e-4
            assert np.abs(slope(found.rate[out, axis], found.grid[axis], axis) - bend)[here].max() < 5e-3


@calm
@given(eyes)
def test_the_right_eye_is_the_left_ones_mirror_and_gaze_goes_together(size):
    left, right = eye("left", **size), eye("right", **size)
    for axis in (0, 1):
        assert left.grid[axis] == pytest.approx(right.grid[axis], abs=1e-9)
    # the outer rod of the right eye does what the inner one of the left does: turn has the other sign
    assert left.position[1] == pytest.approx(right.position[1], abs=1e-8)
    assert left.position[0] == pytest.approx(-right.position[0], abs=1e-8)


def test_together_they_lift_against_each_other_they_turn():
    found = eye()
    mid = found.grid[0].size // 2
    rate = found.rate[:, :, mid, mid]
    assert rate[1, 0] == pytest.approx(rate[1, 1], rel=0.01)
    assert rate[1, 0] > 0.5
    assert rate[0, 0] == pytest.approx(-rate[0, 1], rel=0.01)
    assert abs(rate[0, 0]) > 0.5


def test_taking_hold_behind_the_centre_costs_cross_talk():
    rim = [eye().facts[name] for name in ("turning_lifts_rad", "lifting_turns_rad")]
    far_back = eye(arms=GimbalArms(spacing=0.016, height=0.010, back=0.010), turn_deg=20.0, lift_deg=12.0)
    assert rim[0] < 2 * DEG
    assert far_back.facts["turning_lifts_rad"] > 3 * rim[0]


@pytest.mark.parametrize("back", [0.0, 0.005, 0.010])
def test_cross_talk_is_what_the_travel_shows_and_not_the_grids_corners(back):
    record = TwoRodGimbal(horn=0.012, rod=0.044, arms=GimbalArms(spacing=0.016, height=0.010, back=back))
    found = eye(turn_deg=25.0, arms=record.arms)
    rods = rods_of(record, (0.0, 0.0), None)
    # the other way round: for each turn the lift at which both horns stand equally far against each other
    lifts = np.linspace(-12 * DEG, 12 * DEG, 4801)
    worst = 0.0
    for turn in (-25 * DEG, 25 * DEG):
        wanted = needed(np.full(lifts.size, turn), lifts, rods, np.ones(2))
        worst = max(worst, abs(float(lifts[np.argmin(np.abs(wanted[0] + wanted[1]))])))
    assert found.facts["turning_lifts_rad"] == pytest.approx(worst, rel=0.03, abs=0.02 * DEG)


def test_more_travel_than_the_horns_give_is_told_place_by_place():
    found = eye(turn_deg=60.0, horn=0.009)
    assert found.faults
    assert all("sound only to" in fault.sentence for fault in found.faults)
    assert np.isfinite(found.position).all()


def test_rods_level_with_the_eye_lift_nothing():
    record = TwoRodGimbal(horn=0.012, rod=0.044, arms=GimbalArms(spacing=0.016))
    found = moved(record, function("eye_turn", -0.4, 0.4), function("eye_lift", -0.3, 0.3), inputs=("a", "b"))
    assert isinstance(found, Jammed)
    assert "height" in found.why


def test_a_gimbal_needs_two_functions():
    record = TwoRodGimbal(horn=0.012, rod=0.044, arms=GimbalArms(spacing=0.016, height=0.01))
    assert isinstance(moved(record, function("eye_turn", -0.4, 0.4), inputs=("a", "b")), Jammed)
