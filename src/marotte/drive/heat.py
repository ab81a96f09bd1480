"""Winding heat: two nodes, winding and case, from the window sums.

The winding is heated by I2R, cools into the case, and the case into the air of the skull; both are linear, so each window
is one exact step of a 2 x 2 system with its mean heat.
"""

from __future__ import annotations

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.contracts.drive import SUMS
from marotte.basis.ticks import TICK_S
from marotte.drive.model import DriveModel
from marotte.drive.supply import COPPER_PER_K


def two_node_step(
    rise: F64, watts: F64, seconds: F64, winding_heat: F64, case_heat: F64, winding_to_case: F64, case_to_air: F64
) -> F64:
    """Return (d, 2) rises [K] of winding and case after a time of steady heat.

    Args:
        rise: (d, 2) before.
        watts: (d,) heat into the winding.
        seconds: (d,) how long.
        winding_heat: (d,) [J/K].
        case_heat: (d,) [J/K].
        winding_to_case: (d,) [K/W].
        case_to_air: (d,) [K/W].
    """
    a = 1.0 / (winding_heat * winding_to_case)
    b = 1.0 / (case_heat * winding_to_case)
    c = 1.0 / (case_heat * case_to_air)
    steady = np.stack((watts * (winding_to_case + case_to_air), watts * case_to_air), axis=1)
    mean = 0.5 * (a + b + c)
    root = np.sqrt(np.maximum(mean**2 - a * c, 1e-30))  # always real: mean^2 - a c >= (a - c)^2 / 4
    fast, slow = -mean - root, -mean + root
    e_fast, e_slow = np.exp(fast * seconds), np.exp(slow * seconds)
    # exp(M t) = (e_slow (M - fast) - e_fast (M - slow)) / (slow - fast), with M = [[-a, a], [b, -b - c]]
    off = rise - steady
    moved = np.stack((-a * off[:, 0] + a * off[:, 1], b * off[:, 0] - (b + c) * off[:, 1]), axis=1)
    span = (slow - fast)[:, None]
    left = e_slow[:, None] * (moved - fast[:, None] * off)
    right = e_fast[:, None] * (moved - slow[:, None] * off)
    return steady + (left - right) / span


def winding_rise(model: DriveModel, sums: F64) -> F64:
    """Return (k, d) the winding's rise over the air round the servo [K] at the end of each window, from cold.

    Args:
        model: the drive model.
        sums: (k, d, quantity) of the Response.
    """
    drives = model.drives
    out = np.zeros(sums.shape[:2])
    if not drives:
        return out
    ohm = np.array([row.motor.resistance_ohm / row.count for row in drives])
    thermal = np.array([row.thermal for row in drives], dtype=np.float64)
    count = np.array([float(row.count) for row in drives])
    rise = np.zeros((len(drives), 2))
    for k in range(len(sums)):
        seconds = sums[k, :, SUMS.index("ticks")] * TICK_S
        # the winding's resistance grows with its heat; a window is short against that
        warm = 1.0 + COPPER_PER_K * rise[:, 0]
        watts = sums[k, :, SUMS.index("current2_a2s")] * ohm * warm / np.maximum(seconds, TICK_S) / count
        rise = two_node_step(rise, watts, seconds, *thermal.T)
        out[k] = rise[:, 0]
    return out
