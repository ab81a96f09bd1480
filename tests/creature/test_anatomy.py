"""The anatomy: which way is positive, checked by turning a point and looking where it went."""

from __future__ import annotations

import math

import numpy as np
import pytest

from marotte.basis.frames import rotation
from marotte.creature.anatomy import PARTS

LEFT, UP, FORWARD = np.eye(3)


def moved(name: str, side: str | None, start: np.ndarray) -> np.ndarray:
    axis = PARTS[name].axis_for(side)  # type: ignore[arg-type]
    assert axis is not None
    return rotation(axis, 0.3) @ start - start


@pytest.mark.parametrize(
    ("name", "side", "start", "goes"),
    [
        ("jaw", None, FORWARD, -UP),  # the chin drops
        ("beak", None, FORWARD, -UP),
        ("lid_upper", "left", FORWARD, -UP),  # the lid's edge comes down over the eye
        ("lid_upper", "right", FORWARD, -UP),
        ("lid_lower", "left", FORWARD, UP),
        ("lid_lower", "right", FORWARD, UP),
        ("eye_turn", "left", FORWARD, LEFT),
        ("eye_turn", "right", FORWARD, LEFT),  # gaze goes together
        ("eye_lift", "left", FORWARD, UP),
        ("eye_lift", "right", FORWARD, UP),
        ("head_turn", None, FORWARD, LEFT),
        ("head_nod", None, FORWARD, UP),
        ("head_tilt", None, UP, LEFT),
        ("ear_lift", "left", UP, FORWARD),
        ("ear_lift", "right", UP, FORWARD),
        ("ear_swivel", "left", FORWARD, LEFT),
        ("ear_swivel", "right", FORWARD, -LEFT),  # outward
        ("ear_tip", "right", UP, FORWARD),
        ("wing_lift", "left", LEFT, UP),
        ("wing_lift", "right", -LEFT, UP),
        ("tail", None, -FORWARD, UP),
        ("arm", "left", -UP, FORWARD),
        ("body_tip", None, UP, FORWARD),
        ("neck", None, FORWARD, UP),
    ],
)
def test_positive_turn_goes_where_the_part_says(
    name: str, side: str | None, start: np.ndarray, goes: np.ndarray
) -> None:
    assert moved(name, side, start) @ goes > 0.25


@pytest.mark.parametrize(
    ("name", "side", "goes"),
    [
        ("lip_lower", None, -UP), ("lip_upper", "left", UP),
        ("lip_corner", "left", UP - FORWARD), ("lip_corner", "right", UP - FORWARD),
        ("nostril", "left", LEFT), ("nostril", "right", -LEFT),
        ("wing_reach", "right", FORWARD - LEFT), ("brow", "right", UP),
        ("tongue", None, FORWARD), ("hop", None, UP),
    ],
)  # fmt: skip
def test_positive_slide_goes_where_the_part_says(name: str, side: str | None, goes: np.ndarray) -> None:
    axis = PARTS[name].axis_for(side)  # type: ignore[arg-type]
    assert np.asarray(axis) @ (goes / np.linalg.norm(goes)) == pytest.approx(1.0)


def test_every_axis_has_length_one_and_generic_parts_have_none() -> None:
    for part in PARTS.values():
        if part.name.startswith("other_"):
            assert part.axis is None
        else:
            assert part.axis is not None
            assert math.hypot(*part.axis) == pytest.approx(1.0)


def test_right_place_is_the_mirror_of_the_left_and_a_lone_part_is_in_the_middle() -> None:
    for part in PARTS.values():
        left, right = part.place("left"), part.place("right")
        assert left == (-right[0], right[1], right[2])
        assert part.place(None)[0] == 0.0
    assert PARTS["eye_turn"].place("left", 0.088) == pytest.approx((0.044, 0.0, 0.0))
