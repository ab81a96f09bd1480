"""Crank-sliders, ball-ended rods, bell-cranks, tee bars: closure, rates, mirror, scale, and bad geometry."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Jammed, Transmission
from marotte.basis.frames import rotation
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Mechanism
from marotte.creature.schema.mechs import BallRod, BellCrank, CrankSlider, Direct, FourBar, TeeBar
from marotte.mech.kinds.ball_rod import from_forward
from marotte.mech.solve import transmission
from tests.mech.rigs import DEG, JAW, function, moved, slope, sound

calm = settings(deadline=None, max_examples=80)
part_of_turn = st.floats(-170 * DEG, 170 * DEG)
axis = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: sum(x * x for x in v) > 0.1)

sliders = st.builds(
    CrankSlider,
    horn=st.floats(0.006, 0.02),
    rod=st.floats(0.03, 0.09),
    offset=st.floats(-0.012, 0.012),
    horn_at_neutral=st.floats(40 * DEG, 140 * DEG),
    branch=st.sampled_from(["open", "crossed"]),
    slides=st.sampled_from(["out", "in"]),
)


@calm
@given(sliders)
def test_the_slider_crank_closes_and_its_rates_are_slopes(record):
    found = moved(record, function("brow", -0.004, 0.005))
    assume(isinstance(found, Transmission))
    grid, q = found.grid[0], found.position[0]
    way = 1.0 if record.slides == "out" else -1.0
    side = 1.0 if record.branch == "open" else -1.0
    misses = []
    for sense in (1.0, -1.0):
        angle = record.horn_at_neutral + sense * grid
        x, y = record.horn * np.cos(angle), record.horn * np.sin(angle)
        x0 = record.horn * np.cos(record.horn_at_neutral) + side * np.sqrt(
            record.rod**2 - (record.horn * np.sin(record.horn_at_neutral) - record.offset) ** 2
        )
        misses.append(np.abs(np.hypot(x0 + way * q - x, record.offset - y) - record.rod).max())
    assert min(misses) < 1e-9
    assert np.abs(slope(q, grid) - found.rate[0, 0][2:-2]).max() < 1e-7
    assert np.abs(slope(found.rate[0, 0], grid) - found.bend[0, 0][2:-2]).max() < 1e-5
    assert found.output_units == ("m",)
    assert (found.rate > 0.0).all()


def test_a_slide_that_goes_in_is_the_one_that_goes_out_seen_backwards():
    out, back = (
        sound(CrankSlider(horn=0.01, rod=0.05, offset=0.004, slides=way), function("brow", -0.004, 0.004))
        for way in ("out", "in")
    )
    assert np.interp(0.2, out.grid[0], out.position[0]) == pytest.approx(
        -np.interp(-0.2, back.grid[0], back.position[0])
    )


def test_a_rod_too_short_for_its_slide_says_how_long_it_must_be():
    found = moved(CrankSlider(horn=0.02, rod=0.008, offset=0.0), function("brow", -0.004, 0.004))
    assert isinstance(found, Jammed)
    assert "longer than 20.0 mm would" in found.why


rods = st.fixed_dictionaries(
    {
        "horn": st.floats(0.007, 0.014),
        "arm": st.floats(0.008, 0.016),
        "rod": st.floats(0.02, 0.06),
        "horn_at": st.tuples(st.floats(-0.02, 0.02), st.floats(-0.03, 0.03), st.floats(-0.05, -0.02)),
        "horn_axis": axis,
        "arm_at_neutral": part_of_turn,
        "branch": st.sampled_from(["open", "crossed"]),
    }
)


def space_gap(record, found, part_axis, neutral):
    """Largest miss of the rod's length [m], by rotation matrices apart from the engine's own joints."""
    (h1, _), (a1, _) = from_forward(record.horn_axis), from_forward(part_axis)
    misses = []
    for sense in (1.0, -1.0):
        gaps = []
        for u, q in zip(found.grid[0], found.position[0], strict=True):
            horn = np.array(record.horn_at) + record.horn * (
                rotation(record.horn_axis, found.clocking["horn"] + sense * u) @ np.array(h1)
            )
            arm = np.array(record.arm_at) + record.arm * (
                rotation(part_axis, record.arm_at_neutral + q - neutral) @ np.array(a1)
            )
            gaps.append(abs(np.linalg.norm(arm - horn) - record.rod))
        misses.append(max(gaps))
    return min(misses)


@settings(deadline=None, max_examples=40)
@given(rods)
def test_the_ball_rod_closes_in_space_within_1e_9_m(size):
    record = BallRod(**size, arm_at=(0.0, 0.0, 0.0))
    found = moved(record, function("lid_upper", -10 * DEG, 40 * DEG, 5 * DEG))
    assume(isinstance(found, Transmission))
    assert space_gap(record, found, (1.0, 0.0, 0.0), 5 * DEG) < 1e-9


@settings(deadline=None, max_examples=40)
@given(rods)
def test_the_right_ball_rod_is_the_left_ones_mirror(size):
    record = BallRod(**{**size, "horn_at": "horn"}, arm_at="eye")
    left = (float(size["horn_at"][0]), size["horn_at"][1], size["horn_at"][2])
    points = {
        "horn_left": left, "horn_right": (-left[0], left[1], left[2]),
        "eye_left": (0.04, 0.0, 0.0), "eye_right": (-0.04, 0.0, 0.0),
    }  # fmt: skip
    both = [
        moved(record, function("lid_upper", -10 * DEG, 40 * DEG, side=side), points=points)
        for side in ("left", "right")
    ]
    assert type(both[0]) is type(both[1])
    if isinstance(both[0], Transmission) and isinstance(both[1], Transmission):
        assert both[0].position == pytest.approx(both[1].position, abs=1e-12)


def test_a_ball_rod_in_one_plane_is_the_planar_four_bar():
    plane = sound(FourBar(**JAW, arm_at_neutral=75 * DEG), function("jaw", 0.0, 22 * DEG))
    # in the plane x = 0 with the ground line forward: angles about x grow from forward downwards, so "down" is the plane's up
    flat = BallRod(
        horn=JAW["horn"], rod=JAW["rod"], arm=JAW["arm"], horn_at=(0.0, 0.0, -JAW["ground"]), arm_at=(0.0, 0.0, 0.0),
        arm_at_neutral=75 * DEG,
    )  # fmt: skip
    space = sound(flat, function("jaw", 0.0, 22 * DEG))
    assert space.position == pytest.approx(plane.position, abs=1e-12)
    assert space.rate == pytest.approx(plane.rate, abs=1e-10)
    assert space.bend == pytest.approx(plane.bend, abs=1e-8)
    assert space.clocking["horn"] == pytest.approx(plane.clocking["horn"])


def test_a_rod_that_leans_past_the_cone_of_its_ball_is_told():
    record = BallRod(
        horn=0.01, rod=0.038, arm=0.01, horn_at=(0.03, 0.0, -0.03), arm_at=(0.0, 0.0, 0.0), cone=20 * DEG,
        arm_at_neutral=-90 * DEG,
    )  # fmt: skip
    found = sound(record, function("lid_upper", -5 * DEG, 20 * DEG))
    assert {fault.kind for fault in found.faults} >= {"cone"}
    assert any("leans" in fault.sentence for fault in found.faults)


def test_a_written_horn_angle_that_the_rod_contradicts_is_told():
    record = BallRod(
        horn=0.01, rod=0.040, arm=0.01, horn_at=(0.0, 0.0, -0.04), arm_at=(0.0, 0.0, 0.0), arm_at_neutral=-90 * DEG,
        horn_at_neutral=-60 * DEG,
    )  # fmt: skip
    found = sound(record, function("lid_upper", -5 * DEG, 20 * DEG))
    assert [told.code for told in found.told][-1] == "horn_angle"
    assert found.clocking["horn"] == pytest.approx(-90 * DEG, abs=1e-6)


def test_a_ball_rod_that_cannot_reach_says_which_rod_would():
    record = BallRod(horn=0.01, rod=0.010, arm=0.01, horn_at=(0.0, 0.0, -0.04), arm_at=(0.0, 0.0, 0.0))
    found = moved(record, function("lid_upper", 0.0, 20 * DEG))
    assert isinstance(found, Jammed)
    assert "mm would" in found.why


def test_a_named_point_that_is_nowhere_is_unknown_not_a_number():
    found = moved(BallRod(horn=0.01, rod=0.04, arm=0.01, horn_at="nowhere"), function("lid_upper", 0.0, 0.3))
    assert isinstance(found, Unknown)
    assert found.wants


CRANK = {"horn": 0.012, "rod": 0.034, "in_arm": 0.012, "out_arm": 0.016, "ground": 0.036}


def test_a_bell_crank_is_its_two_links_one_after_the_other():
    record = BellCrank(**CRANK, next_rod=0.05, out_arm_at_neutral=85 * DEG)
    whole = sound(record, function("lip_corner", -0.005, 0.006))
    first = sound(
        FourBar(horn=0.012, rod=0.034, arm=0.012, ground=0.036, arm_at_neutral=90 * DEG),
        function("other_turn", -0.5, 0.5, axis=(1.0, 0.0, 0.0)),
    )
    second = sound(CrankSlider(horn=0.016, rod=0.05, horn_at_neutral=85 * DEG), function("lip_corner", -0.005, 0.006))
    for u, q in zip(whole.grid[0][::40], whole.position[0][::40], strict=True):
        # a growing crank angle draws the tab in: the whole counts its input the other way
        crank = float(np.interp(-u, first.grid[0], first.position[0]))
        assert q == pytest.approx(np.interp(-crank, second.grid[0], second.position[0]), abs=2e-7)
    assert np.abs(slope(whole.position[0], whole.grid[0]) - whole.rate[0, 0][2:-2]).max() < 1e-7
    assert np.abs(slope(whole.rate[0, 0], whole.grid[0]) - whole.bend[0, 0][2:-2]).max() < 1e-5
    assert set(whole.joints) == {"horn", "crank", "second crank arm", "tab"}


def test_a_bell_crank_before_an_arm_needs_its_ground():
    found = moved(BellCrank(**CRANK, next_rod=0.05, next_arm=0.014), function("jaw", 0.0, 0.3))
    assert isinstance(found, Unknown)
    assert "next_ground" in found.why
    turns = sound(BellCrank(**CRANK, next_rod=0.05, next_arm=0.014, next_ground=0.052), function("jaw", 0.0, 0.3))
    assert turns.output_units == ("rad",)


def test_a_tee_bar_shares_one_stroke_and_stops_where_the_first_tab_does():
    inner, outer = function("brow_inner", -0.005, 0.009), function("brow_outer", -0.004, 0.006)
    found = sound(TeeBar(shares=(0.6, 0.4), horn=0.02, rod=0.06), inner, outer)
    assert found.position[0] * 0.4 == pytest.approx(found.position[1] * 0.6, abs=1e-12)
    assert found.rate.shape == (2, 1, 361)
    assert found.position[0].max() <= 0.009 + 1e-9
    assert found.position[1].max() <= 0.006 + 1e-9
    kinds = [(fault.kind, fault.output) for fault in found.faults]
    assert ("shares", "out0") in kinds or ("shares", "out1") in kinds


def test_an_input_that_a_servo_cannot_give_is_refused():
    brow = function("brow_inner", -0.005, 0.009)
    mechanism = Mechanism(name="brows", record=TeeBar(shares=(1.0,)), inputs=("brows",), outputs=("brow",))
    found = transmission(mechanism, {"brow": brow}, {}, PARTS, pushed_by=("servo",))
    assert isinstance(found, Jammed)
    assert "a servo turns" in found.why
    assert isinstance(transmission(mechanism, {"brow": brow}, {}, PARTS, pushed_by=("hand",)), Transmission)


def test_fingers_on_a_plate_push_a_way_not_an_angle():
    found = sound(Direct(plate=0.06), function("beak", 0.0, 35 * DEG))
    assert found.input_units == ("m",)
    assert found.grid[0][-1] == pytest.approx(0.06 * 35 * DEG)
    assert found.rate[0, 0, 0] == pytest.approx(1 / 0.06)


def test_a_rod_longer_than_its_room_is_told():
    found = sound(FourBar(**JAW, arm_at_neutral=80 * DEG, room=0.05), function("jaw", 0.0, 20 * DEG))
    assert [fault.kind for fault in found.faults] == ["room"]
