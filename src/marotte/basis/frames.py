"""Axes, rotations and the mirror.

x to the creature's left, y up, z forward; the origin lies midway between the eye centres. Right-handed: x = y × z.
A positive nod, turn and tilt are given with each part in creature/anatomy.py.
"""

from __future__ import annotations

import math
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

Vec: TypeAlias = tuple[float, float, float]

G0: Final = 9.80665
"""Standard gravity [m/s2], ISO 80000-3."""
DOWN: Final[Vec] = (0.0, -1.0, 0.0)


def mirrored(point: Vec) -> Vec:
    """Return a point [m] mirrored in x: a place on the left becomes its place on the right."""
    return (-point[0], point[1], point[2])


def mirrored_axis(axis: Vec) -> Vec:
    """Return the axis of a rotation mirrored in x.

    A rotation is an axial vector: under the mirror its x component stays and the others turn round, so that the
    mirrored part turns the mirrored way by the same positive angle.
    """
    return (axis[0], -axis[1], -axis[2])


def unit(vector: Vec) -> Vec:
    """Return a vector at length 1.

    Raises:
        ValueError: the vector has no direction.
    """
    size = math.sqrt(vector[0] ** 2 + vector[1] ** 2 + vector[2] ** 2)
    if size < 1e-12:
        raise ValueError("a direction of length zero")
    return (vector[0] / size, vector[1] / size, vector[2] / size)


def rotation(axis: Vec, angle_rad: float) -> NDArray[np.float64]:
    """Return the (3, 3) matrix that turns a vector about a unit axis by an angle [rad] (Rodrigues)."""
    x, y, z = unit(axis)
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    k = 1.0 - c
    return np.array(
        [
            [c + x * x * k, x * y * k - z * s, x * z * k + y * s],
            [y * x * k + z * s, c + y * y * k, y * z * k - x * s],
            [z * x * k - y * s, z * y * k + x * s, c + z * z * k],
        ]
    )
