"""The planar four-bar: invariants, clocking, and what it says of bad geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.mech import Jammed, Transmission
from marotte.creature.schema.mechs import FourBar
from marotte.mech.case import Limits
from tests.mech.rigs import DEG, JAW, LID, function, jaw, moved, slope, sound

lengths = st.fixed_dictionaries(
    {
        "horn": st.floats(0.006, 0.03),
        "rod": st.floats(0.03, 0.12),
        "arm": st.floats(0.008, 0.04),
        "ground": st.floats(0.03, 0.12),
    }
)
clock = st.floats(-170 * DEG, 170 * DEG)
branch = st.sampled_from(["open", "crossed"])
turns = st.sampled_from(["with", "against"])
calm = settings(deadline=None, max_examples=120)


def made(size, angle, way, sense, neutral=0.0, travel=(-15 * DEG, 20 * DEG), of="arm_at_neutral"):
    record = FourBar(**size, **{of: angle}, branch=way, arm_turns=sense)
    return record, moved(record, function("jaw", *travel, neutral))


def gap(record: FourBar, found: Transmission, neutral: float) -> float:
    """Largest miss of the rod's length over the span [m], by plane trigonometry apart from the engine's."""
    sense = 1.0 if record.arm_turns == "with" else -1.0
    way = 1.0 if found.rate[0, 0][found.grid[0].size // 2] > 0 else -1.0
    assert way == 1.0  # a positive input drives the output up
    best = math.inf
    for direction in (1.0, -1.0):
        horn = found.clocking["horn"] + direction * found.grid[0]
        arm = found.clocking["arm"] + sense * (found.position[0] - neutral)
        x = record.ground + record.arm * np.cos(arm) - record.horn * np.cos(horn)
        y = record.arm * np.sin(arm) - record.horn * np.sin(horn)
        best = min(best, float(np.abs(np.hypot(x, y) - record.rod).max()))
    return best


@calm
@given(lengths, clock, branch, turns, st.floats(-10 * DEG, 10 * DEG))
def test_the_loop_closes_within_1e_9_m(size, angle, way, sense, neutral):
    record, found = made(size, angle, way, sense, neutral)
    assume(isinstance(found, Transmission))
    assert gap(record, found, neutral) < 1e-9


@calm
@given(lengths, clock, branch, turns)
def test_rate_is_the_slope_of_position_and_bend_the_slope_of_rate(size, angle, way, sense):
    _, found = made(size, angle, way, sense)
    assume(isinstance(found, Transmission))
    grid, rate, bend = found.grid[0], found.rate[0, 0], found.bend[0, 0]
    step = grid[1] - grid[0]
    rough = float(np.abs(np.diff(bend, 3)).max()) / step**3 if step > 1e-5 else math.inf
    assume(rough * step**4 < 1e-3)  # where five samples see the curve at all
    assert np.abs(slope(found.position[0], grid) - rate[2:-2]).max() < 1e-6 + rough * step**4
    assert np.abs(slope(rate, grid) - bend[2:-2]).max() < 1e-5 + 10 * rough * step**3


@calm
@given(lengths, clock, branch, turns, st.floats(0.2, 5.0))
def test_scaling_every_length_changes_no_angle_and_no_ratio(size, angle, way, sense, by):
    _, one = made(size, angle, way, sense)
    scaled = {name: value * by for name, value in size.items()}
    assume(scaled["horn"] < 0.5 and scaled["arm"] < 0.5 and scaled["ground"] < 3 and scaled["rod"] < 3)
    _, two = made(scaled, angle, way, sense)
    assert type(one) is type(two)
    if isinstance(one, Transmission) and isinstance(two, Transmission):
        assert one.position == pytest.approx(two.position, abs=1e-9)
        assert one.rate == pytest.approx(two.rate, abs=1e-6)
        assert one.angle == pytest.approx(two.angle, abs=1e-7)


@calm
@given(lengths, st.floats(5 * DEG, 170 * DEG), branch, turns)
def test_the_mirror_about_the_ground_line_moves_the_same(size, angle, way, sense):
    _, one = made(size, angle, way, sense)
    _, two = made(size, -angle, way, "against" if sense == "with" else "with")
    assert type(one) is type(two)
    if isinstance(one, Transmission) and isinstance(two, Transmission):
        assert one.grid[0] == pytest.approx(two.grid[0], abs=1e-9)
        assert one.position == pytest.approx(two.position, abs=1e-9)


@calm
@given(lengths, clock, branch, turns)
def test_clocking_by_the_horn_or_by_the_arm_is_the_same_linkage(size, angle, way, sense):
    _, by_arm = made(size, angle, way, sense)
    assume(isinstance(by_arm, Transmission))
    horn = by_arm.clocking["horn"]
    found = [made(size, horn, other, sense, of="horn_at_neutral")[1] for other in ("open", "crossed")]
    same = [
        t
        for t in found
        if isinstance(t, Transmission) and abs(math.remainder(t.clocking["arm"] - angle, 2 * math.pi)) < 1e-7
    ]
    assert same
    assert same[0].rate[0, 0, 0] == pytest.approx(by_arm.rate[0, 0, 0], rel=1e-6)


@calm
@given(lengths, clock, branch, turns)
def test_input_zero_is_neutral_and_a_positive_input_drives_up(size, angle, way, sense):
    _, found = made(size, angle, way, sense, neutral=3 * DEG)
    assume(isinstance(found, Transmission))
    assert found.grid[0][0] <= 1e-12
    assert found.grid[0][-1] >= -1e-12
    assert np.interp(0.0, found.grid[0], found.position[0]) == pytest.approx(3 * DEG, abs=1e-4)
    assert (found.rate[0, 0] > 0.0).all()


@calm
@given(lengths, clock, branch, turns)
def test_no_span_goes_past_its_limits_and_what_is_cut_off_is_told(size, angle, way, sense):
    limits = Limits()
    _, found = made(size, angle, way, sense)
    assume(isinstance(found, Transmission))
    assume(not any(fault.at == 0.0 for fault in found.faults))  # neutral itself unsound: followed, with a fault
    assert found.angle is not None
    assert found.angle.min() > limits.angle - 1e-6
    assert np.abs(found.rate).max() < limits.ratio + 1e-6
    reached = (found.position[0].min(), found.position[0].max())
    cut = [fault for fault in found.faults if fault.serious]
    whole = reached[0] < -15 * DEG + 1e-6 and reached[1] > 20 * DEG - 1e-6
    assert whole == (not cut)


def test_play_is_slop_over_the_arm_at_the_rods_angle():
    found = sound(FourBar(**LID, arm_at_neutral=90 * DEG, slop=0.0002), function("lid_upper", 0.0, 62 * DEG))
    assert found.play_at is not None
    assert found.play_at[0] == pytest.approx(0.0002 / (LID["arm"] * np.sin(found.joints["arm"])), rel=1e-9)
    assert found.play[0] == found.play_at.max()


def test_lengths_that_cannot_close_say_which_rod_would():
    found = moved(FourBar(**{**JAW, "ground": 0.164}, arm_at_neutral=90 * DEG), function("jaw", 0.0, 22 * DEG))
    assert isinstance(found, Jammed)
    assert "a rod between 151.5 and 179.5 mm would" in found.why
    assert found.faults[0].serious


def test_a_travel_past_the_horns_dead_point_is_unreachable():
    found = jaw(arm_deg=110.0, high_deg=60.0)
    assert [fault.kind for fault in found.faults] == ["unreachable"]
    assert "turns back" in found.faults[0].sentence
    assert found.position[0].max() < 60 * DEG


def test_a_travel_past_the_toggle_says_that_it_can_flip():
    found = sound(FourBar(**LID, arm_at_neutral=121 * DEG), function("lid_upper", 0.0, 62 * DEG))
    assert [fault.kind for fault in found.faults] == ["branch"]
    assert "flip" in found.faults[0].sentence


def test_a_four_bar_cannot_slide_a_brow():
    found = moved(FourBar(**JAW, arm_at_neutral=90 * DEG), function("brow", 0.0, 0.008))
    assert isinstance(found, Jammed)
    assert "crank_slider" in found.why


def test_results_are_read_only_and_finite():
    found = jaw()
    for array in (found.position, found.rate, found.bend, found.angle, found.play, *found.grid):
        assert array is not None
        assert not array.flags.writeable
        assert np.isfinite(array).all()
        assert array.flags.c_contiguous
