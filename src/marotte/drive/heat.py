"""Winding heat: two nodes, winding and case, from the window sums.

The winding is heated by I2R, cools into the case, and the case into the air of the skull; both are linear, so each window
is one exact step of a 2 x 2 system with its mean heat.
"""

from __future__ import annotations

import numpy as np

from marotte.basis.compiled import compiled
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
    thermal = np.stack((winding_heat, case_heat, winding_to_case, case_to_air), axis=1)
    rates, fast, slow = _rates(thermal)
    out = np.array(rise, dtype=np.float64)
    _step(out, np.asarray(watts, dtype=np.float64), np.exp(fast * seconds), np.exp(slow * seconds), rates, thermal)
    return out


def _rates(thermal: F64) -> tuple[F64, F64, F64]:
    """Return (d, 5) a, b, c, fast and slow [1/s] of two-node models (d, 4), and the two rates at which they settle."""
    winding_heat, case_heat, winding_to_case, case_to_air = thermal.T
    a = 1.0 / (winding_heat * winding_to_case)
    b = 1.0 / (case_heat * winding_to_case)
    c = 1.0 / (case_heat * case_to_air)
    mean = 0.5 * (a + b + c)
    root = np.sqrt(np.maximum(mean**2 - a * c, 1e-30))  # always real: mean^2 - a c >= (a - c)^2 / 4
    fast, slow = -mean - root, -mean + root
    return np.stack((a, b, c, fast, slow), axis=1), fast, slow


@compiled(error_model="numpy")
def _step(rise: F64, watts: F64, e_fast: F64, e_slow: F64, rates: F64, thermal: F64) -> None:
    """Take rises (d, 2) one time of steady heat (d,) on; the exponentials are those of the two rates over that time."""
    for d in range(len(rise)):
        a, b, c, fast, slow = rates[d, 0], rates[d, 1], rates[d, 2], rates[d, 3], rates[d, 4]
        inner, outer = thermal[d, 2], thermal[d, 3]
        # exp(M t) = (e_slow (M - fast) - e_fast (M - slow)) / (slow - fast), with M = [[-a, a], [b, -b - c]]
        steady0, steady1 = watts[d] * (inner + outer), watts[d] * outer
        off0, off1 = rise[d, 0] - steady0, rise[d, 1] - steady1
        moved0, moved1 = -a * off0 + a * off1, b * off0 - (b + c) * off1
        left0, left1 = e_slow[d] * (moved0 - fast * off0), e_slow[d] * (moved1 - fast * off1)
        right0, right1 = e_fast[d] * (moved0 - slow * off0), e_fast[d] * (moved1 - slow * off1)
        rise[d, 0] = steady0 + (left0 - right0) / (slow - fast)
        rise[d, 1] = steady1 + (left1 - right1) / (slow - fast)


@compiled(error_model="numpy")
def _over_windows(
    squares: F64, seconds: F64, ohm: F64, count: F64, e_fast: F64, e_slow: F64, rates: F64, thermal: F64, out: F64
) -> None:
    """Fill (k, d) rises at the end of each window; squares and seconds (k, d) are those of the windows."""
    windows, drives = out.shape
    rise, watts = np.zeros((drives, 2)), np.zeros(drives)
    for k in range(windows):
        for d in range(drives):
            # the winding's resistance grows with its heat; a window is short against that
            warm = 1.0 + COPPER_PER_K * rise[d, 0]
            watts[d] = squares[k, d] * ohm[d] * warm / max(seconds[k, d], TICK_S) / count[d]
        _step(rise, watts, e_fast[k], e_slow[k], rates, thermal)
        out[k] = rise[:, 0]


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
    seconds = sums[:, :, SUMS.index("ticks")] * TICK_S
    rates, fast, slow = _rates(thermal)
    squares = np.ascontiguousarray(sums[:, :, SUMS.index("current2_a2s")])
    _over_windows(squares, seconds, ohm, count, np.exp(fast * seconds), np.exp(slow * seconds), rates, thermal, out)
    return out
