"""The other way round: from wanted positions to lengths and clocking. docs/methods/sizing.md."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from marotte.basis.contracts.common import F64


class Lengths(NamedTuple):
    """A planar four-bar's lengths for a ground of 1; a negative one is measured with its angle half a turn on."""

    horn: float
    rod: float
    arm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NoLinkage:
    """Why three positions have no linkage."""

    why: str


def freudenstein(horn_angles: F64, arm_angles: F64) -> Lengths | NoLinkage:
    """Return the four-bar of ground 1 whose horn and arm stand at three pairs of angles.

    Freudenstein's equation, K1 cos(arm) - K2 cos(horn) + K3 = cos(horn - arm), is linear in K1 = 1/horn, K2 = 1/arm and
    K3 = (horn^2 - rod^2 + arm^2 + 1) / (2 horn arm): three pairs give three equations
    (Freudenstein 1955, *Approximate synthesis of four-bar linkages*, Trans. ASME 77:853).

    Args:
        horn_angles: (3,) from the ground line [rad].
        arm_angles: (3,) from the ground line [rad].
    """
    horn_at, arm_at = np.asarray(horn_angles, dtype=np.float64), np.asarray(arm_angles, dtype=np.float64)
    matrix = np.stack((np.cos(arm_at), -np.cos(horn_at), np.ones(3)), axis=1)
    if abs(np.linalg.det(matrix)) < 1e-9:
        return NoLinkage(why="the three positions are too close to one another, or mirror one another")
    k1, k2, k3 = np.linalg.solve(matrix, np.cos(horn_at - arm_at))
    if min(abs(k1), abs(k2)) < 1e-9:
        return NoLinkage(why="a link would be endlessly long")
    horn, arm = 1.0 / k1, 1.0 / k2
    rod2 = horn * horn + arm * arm + 1.0 - 2.0 * horn * arm * k3
    if rod2 <= 0.0:
        return NoLinkage(why="no rod joins the three positions")
    return Lengths(float(horn), float(np.sqrt(rod2)), float(arm))


def chebyshev_points(low: float, high: float, count: int = 3) -> F64:
    """Return the places where a synthesis should be exact so that its error between them is small, (count,)."""
    j = np.arange(1, count + 1)
    return np.asarray(0.5 * (low + high) - 0.5 * (high - low) * np.cos((2 * j - 1) * np.pi / (2 * count)))
