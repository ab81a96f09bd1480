"""Joints as rows of numbers: what the kernels read.

A joint is where a rod's end may be: on a circle (``turn``) or on a line (``slide``). As a row of ten numbers it is
``kind, c (3), a (3), b (3)``; the rod's end at joint variable v lies at ``c + cos(v) a + sin(v) b`` (turn, v [rad],
a and b at right angles and as long as the arm) or at ``c + v a`` (slide, v [m], a of length 1). Lengths in metres.
"""

from __future__ import annotations

import math

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.frames import Vec, unit

TURN = 0.0
SLIDE = 1.0
EX: Vec = (1.0, 0.0, 0.0)
EY: Vec = (0.0, 1.0, 0.0)


def turn(centre: Vec, e1: Vec, e2: Vec, arm: float, angle: float, sense: float = 1.0) -> F64:
    """Return a turning joint, (10,), whose variable is 0 where the arm stands at an angle from e1 towards e2.

    Args:
        centre: centre of the circle [m].
        e1: unit vector from which angles count.
        e2: unit vector at right angles to e1, towards which they grow.
        arm: radius [m].
        angle: the arm's angle where the variable is 0 [rad].
        sense: +1 where the angle grows with the variable, -1 where it shrinks.
    """
    c, s = math.cos(angle), math.sin(angle)
    u, w = np.array(e1), np.array(e2)
    return np.concatenate(([TURN], centre, arm * (c * u + s * w), arm * sense * (c * w - s * u)))


def slide(origin: Vec, direction: Vec) -> F64:
    """Return a sliding joint, (10,), whose variable is the distance [m] from the origin along a direction."""
    return np.concatenate(([SLIDE], origin, unit(direction), (0.0, 0.0, 0.0)))


def shifted(joint: F64, by: float) -> F64:
    """Return a joint whose variable is 0 where it was ``by`` before."""
    out = joint.copy()
    if joint[0] == SLIDE:
        out[1:4] += by * joint[4:7]
        return out
    c, s = math.cos(by), math.sin(by)
    out[4:7] = c * joint[4:7] + s * joint[7:10]
    out[7:10] = c * joint[7:10] - s * joint[4:7]
    return out


def reversed_joint(joint: F64) -> F64:
    """Return a joint whose variable counts the other way round."""
    out = joint.copy()
    if joint[0] == SLIDE:
        out[4:7] *= -1.0
    else:
        out[7:10] *= -1.0
    return out


def place(joint: F64, v: float) -> F64:
    """Return the rod's end, (3,) [m], at a joint variable."""
    if joint[0] == SLIDE:
        return np.asarray(joint[1:4] + v * joint[4:7])
    return np.asarray(joint[1:4] + math.cos(v) * joint[4:7] + math.sin(v) * joint[7:10])


def stub_axis(joint: F64) -> F64:
    """Return the unit axis about which a joint turns, (3,); of a slide, a vector of zeros."""
    if joint[0] == SLIDE:
        return np.zeros(3)
    axis = np.cross(joint[4:7], joint[7:10])
    return np.asarray(axis / np.linalg.norm(axis))
