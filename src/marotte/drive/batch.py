"""Several windows of one island in one call, so that a thread runs them without asking for the interpreter in between."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from marotte.basis.contracts.common import F32, F64, I64
from marotte.basis.ticks import SERIES_EVERY, TICKS_PER_SECOND
from marotte.drive.compare import compare
from marotte.drive.compiled import entry
from marotte.drive.keep import LEAD_PEAKS
from marotte.drive.kernels import run_window
from marotte.drive.plan import Plan, State, fresh

TICK0, LENGTH, SAMPLES, FROM, INTO, BINS, FIRST_BIN, COLUMNS = range(8)
"""Of a window: absolute tick at which its run-in begins, ticks that count, asked samples; where it begins among the asked
samples, among those that count, and among the bins of seconds; and how many bins it has."""


class Batch(NamedTuple):
    """What was found. k windows, d drives, n outputs, l leads."""

    drives: F64
    """(k, size of State.drive)."""
    lead_peaks: F64
    """(k, l, LEAD_PEAKS)."""
    squares: F64
    """All windows' (l, bins), one after another; likewise ``drawn`` (l, samples) and ``reached`` (n, samples)."""
    drawn: F32
    reached: F32
    error: F64
    """(k, n)."""
    worst: I64
    lag: F64
    """(k, n, lags)."""
    asked2: F64


def run(
    plan: Plan, leads: int, outputs: int, plain: int, asked: Sequence[F32], played: Sequence[F64], gravity: Sequence[F64],
    times: Sequence[tuple[int, int]], run_in: int, lags: int, thin: int, moves: float,
) -> tuple[I64, Batch]:  # fmt: skip
    """Run an island over some windows.

    Args:
        plan: the island.
        leads: how many it has; ``outputs`` and ``plain`` likewise.
        outputs: see there.
        plain: see there.
        asked: of each window, (outputs + plain, samples) from the start of the run-in, 240 Hz.
        played: of each, (plain, samples): what the plain functions do.
        gravity: of each, (samples, 2, 3).
        times: of each, the absolute tick at which the run-in begins, and the ticks that count after it.
        run_in: ticks before a window counts.
        lags: delays that are tried; ``thin`` and ``moves`` as in ``compare``.
        thin: see there.
        moves: see there.

    Returns:
        (k, COLUMNS) of the windows, and what was found.
    """
    table = np.zeros((len(times), COLUMNS), dtype=np.int64)
    at = into = bins = 0
    for w, ((tick0, length), rows) in enumerate(zip(times, asked, strict=True)):
        start, samples = tick0 + run_in, rows.shape[1]
        seconds = (start + max(length, 1) - 1) // TICKS_PER_SECOND - start // TICKS_PER_SECOND + 1
        table[w] = (tick0, length, samples, at, into, seconds, bins)
        at, into, bins = at + samples, into + -(-length // SERIES_EVERY), bins + seconds
    k, blank = len(times), fresh(plan, plain)
    found = Batch(
        drives=np.zeros((k, len(blank.drive))), lead_peaks=np.zeros((k, leads, LEAD_PEAKS)), squares=np.zeros(bins * leads),
        drawn=np.zeros(into * leads, dtype=np.float32), reached=np.zeros(into * outputs, dtype=np.float32),
        error=np.zeros((k, outputs)), worst=np.zeros((k, outputs), dtype=np.int64), lag=np.zeros((k, outputs, lags)),
        asked2=np.zeros((k, outputs)),
    )  # fmt: skip
    _run(
        plan, blank, fresh(plan, plain), table, outputs, plain, np.concatenate([np.ravel(rows) for rows in asked]),
        np.concatenate([np.ravel(rows) for rows in played]), np.concatenate(gravity), run_in, thin, moves, *found,
    )  # fmt: skip
    return table, found


@entry
def _run(
    plan: Plan, blank: State, state: State, table: I64, outputs: int, plain: int, asked: F32, played: F64, gravity: F64,
    run_in: int, thin: int, moves: float,
    drives: F64, lead_peaks: F64, squares: F64, drawn: F32, reached: F32, error: F64, worst: I64, lag: F64, asked2: F64,
) -> None:  # fmt: skip
    """Run the windows one after another, each from a fresh state."""
    rows, leads, most = outputs + plain, lead_peaks.shape[1], 0
    for w in range(len(table)):
        most = max(most, table[w, SAMPLES])
    room = np.empty(outputs * most)
    for w in range(len(table)):
        tick0, length, samples, at, into = (
            table[w, TICK0],
            table[w, LENGTH],
            table[w, SAMPLES],
            table[w, FROM],
            table[w, INTO],
        )
        counted, bins, bin0 = -(-length // SERIES_EVERY), table[w, BINS], table[w, FIRST_BIN]
        state.drive[:] = blank.drive
        state.wait[:] = blank.wait
        state.out[:] = blank.out
        state.lead[:] = blank.lead
        state.mode[:] = blank.mode
        state.skin[:] = blank.skin
        state.rate[:] = blank.rate
        command = asked[rows * at : rows * (at + samples)].reshape(rows, samples)
        outs = room[: outputs * samples].reshape(outputs, samples)
        for n in range(outputs):
            for s in range(samples):
                outs[n, s] = command[n, s]
        mine = reached[outputs * into : outputs * (into + counted)].reshape(outputs, counted)
        run_window(
            plan, state, outs, played[plain * at : plain * (at + samples)].reshape(plain, samples),
            gravity[at : at + samples], tick0, run_in, length, lead_peaks[w],
            squares[leads * bin0 : leads * (bin0 + bins)].reshape(leads, bins),
            drawn[leads * into : leads * (into + counted)].reshape(leads, counted), mine,
        )  # fmt: skip
        drives[w, :] = state.drive
        compare(command, mine, run_in // SERIES_EVERY, thin, moves, error[w], worst[w], lag[w], asked2[w])
