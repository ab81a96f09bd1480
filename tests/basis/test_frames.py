"""Rotations and the mirror, held against scipy's Rotation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from marotte.basis.frames import Vec, mirrored, mirrored_axis, rotation, unit

COMPONENT = st.floats(-10, 10, allow_nan=False)
AXIS = st.tuples(COMPONENT, COMPONENT, COMPONENT).filter(lambda v: np.linalg.norm(v) > 1e-3)
ANGLE = st.floats(-7, 7, allow_nan=False)


@given(AXIS, ANGLE)
def test_rotation_agrees_with_an_independent_library(axis: Vec, angle: float) -> None:
    theirs = Rotation.from_rotvec(np.array(unit(axis)) * angle).as_matrix()
    np.testing.assert_allclose(rotation(axis, angle), theirs, atol=1e-12)


@given(AXIS, ANGLE, st.tuples(COMPONENT, COMPONENT, COMPONENT))
def test_a_mirrored_part_turns_the_mirrored_way_by_the_same_angle(axis: Vec, angle: float, point: Vec) -> None:
    turned = rotation(axis, angle) @ np.array(point)
    other = rotation(mirrored_axis(axis), angle) @ np.array(mirrored(point))
    np.testing.assert_allclose(other, mirrored(tuple(turned)), atol=1e-9)


def test_a_jaw_that_opens_takes_the_chin_down() -> None:
    chin = rotation((1, 0, 0), np.radians(20)) @ np.array([0, 0, 0.1])
    assert chin[1] < 0


def test_no_direction_is_an_error() -> None:
    with pytest.raises(ValueError, match="zero"):
        unit((0.0, 0.0, 0.0))
