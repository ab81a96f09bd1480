"""Whatever lengths the file allows: an answer that is finite, or a sentence; never an exception, never NaN."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Jammed, Transmission
from marotte.creature.schema.mechs import (
    BallRod,
    BellCrank,
    Cable,
    CrankSlider,
    Direct,
    FourBar,
    GimbalArms,
    HandRod,
    PullPull,
    TeeBar,
    TwoRodGimbal,
)
from marotte.creature.shelf import shelf
from tests.mech.rigs import function, moved

STOCK = shelf("2026-1")
short, long_ = st.floats(1e-5, 0.5), st.floats(1e-5, 3.0)
angle = st.floats(-7.0, 7.0)
branch = st.sampled_from(["open", "crossed"])
place = st.tuples(*[st.floats(-2.0, 2.0)] * 3)
axis = st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda v: sum(x * x for x in v) > 1e-6)
TURN = ("jaw", (-6.0, 6.0))
SLIDE = ("brow", (-6.0, 6.0))

KINDS = {
    "direct": (TURN, st.builds(Direct, ratio=st.floats(1e-3, 20.0), plate=st.none() | short)),
    "four_bar": (
        TURN,
        st.builds(
            FourBar, horn=short, rod=long_, arm=short, ground=long_, arm_at_neutral=angle, branch=branch,
            arm_turns=st.sampled_from(["with", "against"]),
        ),
    ),
    "crank_slider": (
        SLIDE,
        st.builds(
            CrankSlider, horn=short, rod=long_, offset=st.floats(-0.5, 0.5), horn_at_neutral=angle, branch=branch,
            slides=st.sampled_from(["out", "in"]),
        ),
    ),
    "ball_rod": (
        TURN,
        st.builds(
            BallRod, horn=short, rod=long_, arm=short, horn_at=place, horn_axis=axis, arm_at=place, arm_axis=axis,
            arm_at_neutral=angle, horn_at_neutral=st.none() | angle, branch=branch,
        ),
    ),
    "bell_crank": (
        SLIDE,
        st.builds(
            BellCrank, horn=short, rod=long_, in_arm=short, out_arm=short, ground=long_, in_arm_at_neutral=angle,
            out_arm_at_neutral=angle, branch=branch, next_rod=st.none() | long_, next_offset=st.floats(-0.5, 0.5),
        ),
    ),
    "tee_bar": (SLIDE, st.builds(TeeBar, shares=st.tuples(st.floats(-4, 4)), horn=st.none() | short, rod=st.none() | long_)),
    "cable": (
        TURN,
        st.builds(
            Cable, horn=st.none() | short, arm=st.none() | short, length=st.floats(1e-3, 60.0), bore=st.none() | st.floats(1e-4, 0.02),
            bends=st.lists(st.floats(0.0, 20.0), max_size=3).map(tuple), pulls=st.sampled_from(["both_ways", "one_way"]),
            bare=st.floats(0.0, 1.0), core=st.sampled_from(["steel_0p8", "rope_0p8"]) | st.floats(1e-5, 0.01),
        ),
    ),
    "pull_pull": (TURN, st.builds(PullPull, horn=short, arm=short, length=st.floats(1e-3, 60.0), preload=st.floats(0.0, 2000.0))),
    "rod": (
        ("wing_reach", (-6.0, 6.0)),
        st.builds(HandRod, length=st.floats(1e-3, 5.0), outer=st.floats(1e-4, 0.1), inner=st.floats(0.0, 0.1)),
    ),
}  # fmt: skip


def held(found, output_low, output_high):
    assert isinstance(found, (Transmission, Unknown))
    if isinstance(found, Unknown):
        assert found.why
        if isinstance(found, Jammed):
            assert found.faults
            assert found.faults[0].serious
        return
    for array in (*found.grid, found.position, found.rate, found.bend, found.play, found.angle, found.play_at):
        if array is not None:
            assert np.isfinite(array).all()
    for grid in found.grid:
        assert (np.diff(grid) > 0.0).all()
    assert found.position.min() >= output_low - 1e-6 * (1 + abs(output_low))
    assert found.position.max() <= output_high + 1e-6 * (1 + abs(output_high))
    assert 0.0 <= found.forward <= 1.0
    assert all(np.isfinite(value) for value in found.facts.values())


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_any_lengths_give_a_finite_answer_or_a_sentence(kind):
    (part, (low, high)), records = KINDS[kind]

    @settings(deadline=None, max_examples=100)
    @given(records, st.floats(low, high), st.floats(1e-4, 3.0), st.floats(0.0, 1.0))
    def check(record, start, span, at):
        own = function(part, start, start + span, start + at * span)
        held(moved(record, own, stock=STOCK), start, start + span)

    check()


@settings(deadline=None, max_examples=100)
@given(
    short, long_, st.floats(1e-4, 0.3), st.floats(-0.2, 0.2), st.floats(0.0, 0.2), angle, st.floats(0.02, 1.4),
    st.floats(0.02, 1.4),
)  # fmt: skip
def test_any_gimbal_gives_a_finite_answer_or_a_sentence(horn, rod, spacing, height, back, at, turn, lift):
    arms = GimbalArms(spacing=spacing, height=height, back=back)
    record = TwoRodGimbal(horn=horn, rod=rod, arms=arms, horn_at_neutral=at)
    found = moved(
        record, function("eye_turn", -turn, turn), function("eye_lift", -lift, lift), inputs=("a", "b"), stock=STOCK
    )
    assert isinstance(found, (Transmission, Unknown))
    if isinstance(found, Transmission):
        for array in (*found.grid, found.position, found.rate, found.bend, found.play, found.angle):
            assert array is not None
            assert np.isfinite(array).all()
