"""Where linkages want the shafts of their servos: a linkage that is put together at such a place closes; the method page shows the rings.

Oracles: distances between joints in space, by hand from the places alone, and the engine's own closed linkage.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.common import F64
from marotte.basis.frames import rotation
from marotte.mech.fit.drawn import linkage_of
from marotte.mech.fit.fit import FitParts
from marotte.mech.fit.seat import Pose, Seat, mirror_of, shaft_of
from marotte.mech.fit.solids import frame_of
from marotte.mech.fit.wants import Ring, Want, off_of, slide_at, want_of
from marotte.mech.kinds.two_rod_gimbal import rods_of
from marotte.mech.mechs import mechs
from tests.mech.fit.heads import fitted, head

SERVO = "means: {kind: servo, model: micro}"
JAW = (
    f"  jaw: {{part: jaw, travel: [0 deg, 20 deg], {SERVO}, "
    "mech: {kind: four_bar, horn: 12 mm, rod: 50 mm, arm: 20 mm, ground: 52 mm, arm_at_neutral: 90 deg}}\n"
)
EAR = f"  ear: {{part: ear_swivel, side: left, at: [40 mm, 40 mm, -40 mm], travel: [-40 deg, 40 deg], {SERVO}}}\n"
BROW = (
    f"  brow: {{part: brow_inner, side: SIDE, at: [20 mm, 30 mm, 15 mm], travel: [-6 mm, 6 mm], {SERVO}, "
    "mech: {kind: crank_slider, horn: 11 mm, rod: 30 mm, offset: OFFSET, slides: WAY, horn_at_neutral: CLOCK}}\n"
)
CORNER = (
    f"  corner: {{part: lip_corner, side: SIDE, at: [30 mm, -50 mm, 20 mm], travel: [-5 mm, 8 mm], {SERVO}, "
    "mech: {kind: bell_crank, horn: 12 mm, rod: 40 mm, in_arm: 12 mm, out_arm: 14 mm, ground: 42 mm, slides: in NEXT}}\n"
)
LID = (
    f"  lid: {{part: lid_upper, side: left, travel: [0 deg, 50 deg], {SERVO}, mech: {{kind: ball_rod, horn: 10 mm, rod: 38 mm, arm: 10 mm, "
    "horn_at: [50 mm, 20 mm, -35 mm], horn_axis: [1, 0, 0]}}\n"
)
EYE = (
    "  eye_turn: {part: eye_turn, side: SIDE, travel: [-25 deg, 25 deg]}\n"
    "  eye_lift: {part: eye_lift, side: SIDE, travel: [-15 deg, 15 deg]}\n"
    "mechs:\n  eye: {kind: two_rod_gimbal, moves: [eye_turn, eye_lift], horn: 12 mm, rod: 32 mm, second_rod: 52 mm, "
    "arms: {spacing: 18 mm, height: 9 mm}, means: {a: {kind: servo, model: micro}, b: {kind: servo, model: micro}}}\n"
)
ALL = {
    "four_bar": JAW, "direct": EAR, "ball_rod": LID, "gimbal": EYE.replace("SIDE", "left"),
    "crank_slider": BROW.replace("SIDE", "left").replace("OFFSET", "6 mm").replace("WAY", "in").replace("CLOCK", "80 deg"),
    "bell_crank": CORNER.replace("SIDE", "left").replace(" NEXT", ""),
    "bell_crank, link of its own": CORNER.replace("SIDE", "left").replace(" NEXT", ", next_rod: 25 mm, next_offset: 5 mm"),
}  # fmt: skip


def seats(folder: Path, *functions: str) -> list[Seat]:
    folder.mkdir(exist_ok=True)
    creature = head(folder, *functions)
    return list(FitParts.of(creature, mechs(creature), None).seats)


def sat(seat: Seat, shaft: F64, axis: F64) -> Pose:
    """Return the pose that puts a servo's shaft at a place."""
    other = np.eye(3)[int(np.argmin(np.abs(axis)))]
    frame = frame_of(tuple(axis), tuple(other))
    there = Pose(np.zeros(3), frame)
    return Pose(shaft - shaft_of(seat, there), frame)


def wanted(seat: Seat) -> Want:
    found = want_of(seat)
    assert found is not None
    return found


@pytest.mark.parametrize("kind", ALL)
def test_a_servo_at_each_exact_place_is_off_by_nothing(tmp_path: Path, kind: str) -> None:
    for seat in seats(tmp_path, ALL[kind]):
        shafts, axes = wanted(seat).places()
        assert len(shafts)
        for shaft, axis in zip(shafts, axes, strict=True):
            off = off_of(seat, sat(seat, shaft, axis))
            assert off is not None
            assert off.far == pytest.approx(0.0, abs=1e-9)
            assert off.turned == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("kind", ["crank_slider", "bell_crank", "bell_crank, link of its own", "gimbal"])
def test_at_each_exact_place_the_rod_goes_from_horn_to_the_far_joint_with_its_own_length(
    tmp_path: Path, kind: str
) -> None:
    for seat in seats(tmp_path, ALL[kind]):
        rod = {"a": 0.032, "b": 0.052}[seat.name[-1]] if kind == "gimbal" else seat.record.rod  # type: ignore[attr-defined]
        for shaft, axis in zip(*wanted(seat).places(), strict=True):
            horn, drawn = linkage_of(seat, sat(seat, shaft, axis))
            assert horn is not None
            assert drawn is not None
            near, far = drawn[0].points
            assert np.linalg.norm(near - shaft) == pytest.approx(seat.horn, abs=1e-9)
            assert np.linalg.norm(far - near) == pytest.approx(rod, abs=1e-6)
            if kind == "crank_slider":
                assert far == pytest.approx(seat.goal, abs=1e-6)


def test_a_planar_four_bar_wants_its_ground_square_to_the_axle(tmp_path: Path) -> None:
    (seat,) = seats(tmp_path, JAW)
    for way in ((0, 1, 0), (0, 0.6, -0.8), (0, 0, -1)):
        for aside in (0.0, 15e-3):
            shaft = seat.goal + 60e-3 * np.array(way) + np.array([aside, 0, 0])
            off = off_of(seat, sat(seat, shaft, np.array([1.0, 0, 0])))
            assert off is not None
            assert off.far == pytest.approx(8e-3, abs=1e-9)


def test_a_servo_whose_horn_swings_across_the_way_of_its_tab_is_askew_by_a_right_angle(tmp_path: Path) -> None:
    (seat,) = seats(tmp_path, ALL["crank_slider"].replace("offset: 6 mm", "offset: 0 mm"))
    shaft = wanted(seat).places()[0][0]
    off = off_of(seat, sat(seat, shaft, np.array([0.0, 1.0, 0.0])))
    assert off is not None
    assert off.turned == pytest.approx(math.pi / 2)


@given(
    st.floats(0.006, 0.02), st.floats(0.02, 0.09), st.floats(-0.01, 0.01), st.floats(0.6, 2.5), st.sampled_from(["open", "crossed"])
)  # fmt: skip
def test_a_slide_stands_where_its_rod_closes(horn: float, rod: float, offset: float, angle: float, branch: str) -> None:
    x = slide_at(horn, rod, offset, angle, branch)
    if x is None:
        assert abs(horn * math.sin(angle) - offset) > rod
        return
    tip = np.array([horn * math.cos(angle), horn * math.sin(angle)])
    assert np.linalg.norm(np.array([x, offset]) - tip) == pytest.approx(rod, rel=1e-9)


@settings(deadline=None, max_examples=25)
@given(st.sampled_from(sorted(ALL)), st.tuples(*(st.floats(-0.03, 0.03),) * 3))
def test_off_is_the_way_to_the_nearest_right_place(
    tmp_path_factory: pytest.TempPathFactory, kind: str, by: tuple[float, float, float]
) -> None:
    seat = seats(tmp_path_factory.mktemp("head"), ALL[kind])[0]
    want = wanted(seat)
    shafts, _ = want.places()
    at = shafts[len(shafts) // 2] + np.array(by)
    off = float(want.off(at[None])[0])
    assert off <= np.linalg.norm(by) + 1e-9  # never farther than the way it was moved
    # and no right place that is sampled is nearer than it says
    assert np.linalg.norm(shafts - at, axis=1).min() >= off - 1e-9
    # and it is a distance: it changes no faster than the place
    step = 1e-4 * np.array([0.6, -0.64, 0.48])
    assert abs(float(want.off((at + step)[None])[0]) - off) <= 1e-4 + 1e-12


@pytest.mark.parametrize("text", [CORNER.replace(" NEXT", ""), EYE])
def test_the_right_one_wants_the_mirror_of_the_left(tmp_path: Path, text: str) -> None:
    left = seats(tmp_path / "left", text.replace("SIDE", "left"))
    right = seats(tmp_path / "right", text.replace("SIDE", "right"))
    for a, b in zip(left, right, strict=True):
        shafts, axes = wanted(a).places()
        turn = rotation((1.0, 0.0, 0.0), 0.3)
        for pose in (sat(a, shafts[0], axes[0]), sat(a, shafts[0] + np.array([3e-3, 5e-3, -2e-3]), turn @ axes[0])):
            one, other = off_of(a, pose), off_of(b, mirror_of(pose))
            assert one is not None
            assert other is not None
            assert one.far == pytest.approx(other.far, abs=1e-9)
            assert one.turned == pytest.approx(other.turned, abs=1e-9)


def test_a_gimbals_rods_stand_straight_at_neutral_one_servo_behind_the_other(tmp_path: Path) -> None:
    a, b = seats(tmp_path, ALL["gimbal"])
    one, other = wanted(a), wanted(b)
    assert isinstance(one, Ring)
    assert isinstance(other, Ring)
    # by hand: ball 9 mm above the centre of the eye at x = 44 mm, horn 12 mm upright under it, rods 32 and 52 mm long
    assert one.at == pytest.approx([0.044 + 0.009, -0.003, -0.032])
    assert other.at == pytest.approx([0.044 - 0.009, -0.003, -0.052])
    rows = rods_of(a.record, (0.0, 0.0), "left")  # type: ignore[arg-type]
    assert rows[:, 8] == pytest.approx([0.032, 0.052])


def test_a_proposed_place_is_where_the_linkage_wants_it_as_long_as_there_is_room(tmp_path: Path) -> None:
    for kind, text in ALL.items():
        folder = tmp_path / kind.replace(",", "").replace(" ", "_")
        folder.mkdir()
        found = fitted(head(folder, text))
        assert not found.unplaced, kind
        assert found.off == (), kind


def test_a_bell_cranks_box_that_cannot_work_is_told_in_words(tmp_path: Path) -> None:
    text = ALL["bell_crank"].replace(
        "model: micro", "model: micro, box: {at: [-20 mm, 40 mm, -40 mm], axis: [0, 1, 0]}"
    )
    notes = [note for note in fitted(head(tmp_path, text)).told if note.code == "fit_off_linkage"]
    assert len(notes) == 1
    assert notes[0].sentence.startswith("the left lip corner: the box puts its shaft ") or "corner" in notes[0].sentence
    assert "deg askew to its horn's swing" in notes[0].sentence
    assert "(the ground to its crank is 42 mm)" in notes[0].sentence
