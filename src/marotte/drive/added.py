"""What one island did over all windows, added up: worst values, sums, lag, rails. A function of its windows alone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from marotte.basis.contracts.common import F64, I64, Bool, f64
from marotte.basis.ticks import SERIES_EVERY
from marotte.drive import keep as k
from marotte.drive.islands import Island
from marotte.drive.plan import DELAY, DRIVE0, FRAME, N_IN, N_OUT, OUT0, SUM_ROWS
from marotte.drive.windows import (
    CURRENT,
    LAGS,
    PEAK_COLS,
    SPEED,
    TORQUE,
    TORQUE_AT,
    USE,
    USE_AT,
    VOLTS,
    VOLTS_AT,
    WindowResult,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """One island over some windows. k windows, d drives, n outputs, l leads."""

    sums: F64
    """(k, d, quantity)."""
    peaks: F64
    """(d, windows.PEAK_COLS)."""
    error: F64
    """(n,) largest |asked - reached|."""
    error_at: I64
    lag: F64
    """(n,) delay that explains the series best, in samples of 240 Hz."""
    later: Bool
    """(n,) whether it is that or more: the longest delay that is tried explains the series best."""
    follows: F64
    """(n,) how much of what is asked it explains, from 0 to 1."""
    low: F64
    """(l,) lowest voltage of each lead; infinite without windows."""
    low_at: I64
    high: F64
    """(l,) highest current of each lead."""
    high_at: I64
    squares: F64
    """(l, seconds) A2*s by second, from ``first_second`` on."""
    first_second: int
    charge: F64
    """(l,) [C]."""


def add(island: Island, results: Sequence[WindowResult]) -> Added:
    """Return the whole of an island from its windows, in their order; where values are equal the earlier one stands."""
    drives, outputs, leads = len(island.drives), len(island.functions), len(island.leads)
    seen = [result.peaks for result in results]
    peaks = np.zeros((drives, PEAK_COLS))
    for column, at in ((USE, USE_AT), (TORQUE, TORQUE_AT)):
        peaks[:, column], peaks[:, at] = _most(0.0, [p[:, column] for p in seen], [p[:, at] for p in seen], drives)
    for column in (SPEED, CURRENT):
        peaks[:, column] = np.max([np.zeros(drives), *(p[:, column] for p in seen)], axis=0)
    least, peaks[:, VOLTS_AT] = _most(-np.inf, [-p[:, VOLTS] for p in seen], [p[:, VOLTS_AT] for p in seen], drives)
    peaks[:, VOLTS] = -least
    error, error_at = _most(0.0, [r.error for r in results], [r.error_at for r in results], outputs)
    rails = [result.lead_peaks for result in results]
    low, low_at = _most(-np.inf, [-r[:, k.LOW_V] for r in rails], [r[:, k.LOW_AT] for r in rails], leads)
    high, high_at = _most(0.0, [r[:, k.HIGH_A] for r in rails], [r[:, k.HIGH_AT] for r in rails], leads)
    first = min((result.first_second for result in results), default=0)
    last = max((result.first_second + result.lead_squares.shape[1] for result in results), default=1)
    squares, charge = np.zeros((leads, last - first)), np.zeros(leads)
    total, asked2 = np.zeros((outputs, LAGS)), np.zeros(outputs)
    for result in results:
        at = result.first_second - first
        squares[:, at : at + result.lead_squares.shape[1]] += result.lead_squares
        charge += result.lead_peaks[:, k.LEAD_CHARGE]
        total += result.lag
        asked2 += result.asked2
    lag, later, follows = _best(total, asked2, soonest(island))
    return Added(
        sums=f64(np.stack([r.sums for r in results]) if results else np.zeros((0, drives, SUM_ROWS))),
        peaks=f64(peaks), error=f64(error), error_at=ints(error_at), lag=f64(lag), later=later, follows=f64(follows),
        low=f64(-low), low_at=ints(low_at), high=f64(high), high_at=ints(high_at), squares=f64(squares), first_second=first, charge=f64(charge),
    )  # fmt: skip


def _most(least: float, values: Sequence[F64], at: Sequence[F64 | I64], size: int) -> tuple[F64, F64]:
    """Return the largest of each place over some rows, and what stands at that place of its other row; 0 where none is above ``least``."""
    every, where = np.stack([np.full(size, least), *values]), np.stack([np.zeros(size), *at])
    row, column = every.argmax(axis=0), np.arange(size)
    return every[row, column], where[row, column]


def soonest(island: Island) -> F64:
    """Return (n,) the least delay that each output can have, in samples of 240 Hz.

    A servo hears what was asked as long ago as link and servo take, and then holds it for a frame: on average half a frame.
    """
    plan, out = island.plan, np.zeros(len(island.functions))
    for row in plan.mech_i:
        heard = plan.drive_i[row[DRIVE0] : row[DRIVE0] + row[N_IN]]
        out[row[OUT0] : row[OUT0] + row[N_OUT]] = (heard[:, DELAY] + 0.5 * heard[:, FRAME]).min() / SERIES_EVERY
    return out


def _best(total: F64, asked2: F64, least: F64) -> tuple[F64, Bool, F64]:
    """Return the delay with the least squared error of each row, whether it is that or more, and how much it explains.

    Between samples it is found by a parabola. Nothing is sooner than ``least``, in samples: what seems so is friction, or
    slack, that happens to look like it. Where the error still falls at the longest delay that is tried, all that is known is
    that the delay is no shorter.
    """
    out, later, follows = np.zeros(len(total)), np.zeros(len(total), dtype=np.bool_), np.ones(len(total))
    for n, row in enumerate(total):
        first = min(math.ceil(least[n]), LAGS - 1)
        best = first + int(row[first:].argmin())
        shift = 0.0
        if 0 < best < LAGS - 1:
            left, mid, right = row[best - 1 : best + 2]
            curve = left - 2.0 * mid + right
            shift = min(max(0.5 * (left - right) / curve, -1.0), 1.0) if curve > 0 else 0.0
        out[n] = max(best + shift, least[n])
        if asked2[n] > 0.0:
            later[n] = best == LAGS - 1 and float(row[-1]) < float(row[0])
            follows[n] = max(1.0 - float(row[best]) / float(asked2[n]), 0.0)
    later.flags.writeable = False
    return out, later, follows


def ints(values: F64 | I64) -> I64:
    """Return whole numbers, read-only."""
    out = np.ascontiguousarray(values, dtype=np.int64)
    out.flags.writeable = False
    return out
