"""Keyed curves on the 240 Hz series: the smoothest way from one key to the next, holding before, between equal ones and after.

Between two keys a curve is the minimum-jerk polynomial 10 s^3 - 15 s^4 + 6 s^5 (Flash and Hogan 1985, J Neurosci 5:1688;
peak speed 15/8 of the mean), so every move starts and stops dead.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from marotte.basis.compiled import compiled
from marotte.basis.contracts.common import F32, F64, I64
from marotte.basis.ticks import SERIES_EVERY


def min_jerk(share: F64 | float) -> F64 | float:
    """Return the way gone (0 to 1) at a share of the time (clipped to 0 to 1)."""
    s = np.clip(share, 0.0, 1.0)
    return s * s * s * (10.0 + s * (6.0 * s - 15.0))  # type: ignore[no-any-return]


@dataclass(slots=True)
class Keys:
    """Keys of several curves, each for one row of the series; curves of one row add up."""

    rows: list[int] = field(default_factory=list)
    starts: list[int] = field(default_factory=lambda: [0])
    ticks: list[int] = field(default_factory=list)
    values: list[float] = field(default_factory=list)

    def curve(self, row: int, keys: Sequence[tuple[int, float]]) -> None:
        """Add a curve: (tick, value), ticks never falling. Fewer than two keys or nothing but zeros: nothing is added."""
        values = [value for _, value in keys]
        if not any(values):
            return
        self.rows.append(row)
        self.ticks += [tick for tick, _ in keys]
        self.values += values
        self.starts.append(len(self.ticks))

    def bump(self, row: int, value: float, up: int, full: int, leave: int, gone: int) -> None:
        """Add a rise to a value between two ticks, a hold, and a fall back to nothing."""
        if value:
            self.rows.append(row)
            self.ticks += (up, full, leave, gone)
            self.values += (0.0, value, value, 0.0)
            self.starts.append(len(self.ticks))

    def packed(self) -> Curves:
        """Return them as arrays, to be added stretch by stretch."""
        starts, ticks = np.array(self.starts, np.int64), np.array(self.ticks, np.int64)
        back = np.flatnonzero(np.diff(ticks) < 0) + 1
        assert np.isin(back, starts).all(), "keys of a curve go back in time"
        return Curves(np.array(self.rows, np.int64), starts, ticks, np.array(self.values, np.float64))

    def add_to(self, out: F64) -> None:
        """Add all curves to the rows of ``out`` (rows, samples), float64, sample i at tick 5 i."""
        self.packed().add_to(out)


class Curves(NamedTuple):
    """Curves one after another: ``starts`` (curves + 1,) tells which of the ``ticks`` and ``values`` are whose."""

    rows: I64
    starts: I64
    ticks: I64
    values: F64

    def add_to(self, out: F64, first: int = 0) -> None:
        """Add all of them to the rows of ``out`` (rows, samples), float64, whose sample i is at tick 5 (first + i)."""
        assert out.dtype == np.float64
        assert out.flags.c_contiguous
        if self.rows.size:
            _add_curves(*self, SERIES_EVERY, first, out)


@compiled()
def _add_curves(rows: I64, starts: I64, ticks: I64, values: F64, every: int, first: int, out: F64) -> None:
    stop = first + out.shape[1]
    for c in range(rows.shape[0]):
        row = rows[c]
        head = starts[c]
        tail = starts[c + 1] - 1
        if values[head] != 0.0:
            for i in range(first, min(stop, -(-ticks[head] // every))):
                out[row, i - first] += values[head]
        for k in range(head, tail):
            begin = max(first, -(-ticks[k] // every))
            end = min(stop, -(-ticks[k + 1] // every))
            if begin >= stop:
                break
            a = values[k]
            b = values[k + 1]
            if a == b:
                if a != 0.0:
                    for i in range(begin, end):
                        out[row, i - first] += a
                continue
            length = ticks[k + 1] - ticks[k]
            for i in range(begin, end):
                s = (i * every - ticks[k]) / length
                out[row, i - first] += a + (b - a) * (s * s * s * (10.0 + s * (6.0 * s - 15.0)))
        if values[tail] != 0.0:
            for i in range(max(first, -(-ticks[tail] // every)), stop):
                out[row, i - first] += values[tail]


@compiled()
def add_steps(values: F32, spans: F64, out: F64) -> None:
    """Add to ``out`` (samples,) how far each row of ``values`` (rows, samples), float32, steps from sample to sample, by its span."""
    for row in range(values.shape[0]):
        before = np.float64(values[row, 0])
        for i in range(1, values.shape[1]):
            now = np.float64(values[row, i])
            if now != before:
                out[i] += abs(now - before) / spans[row]
                before = now


@compiled()
def settle(values: F64, neutral: F64, low: F64, high: F64) -> None:
    """Add to each row of ``values`` (rows, samples) its neutral, and keep it inside its travel."""
    for row in range(values.shape[0]):
        for i in range(values.shape[1]):
            values[row, i] = min(max(values[row, i] + neutral[row], low[row]), high[row])


@compiled()
def peaks(values: F32, firsts: I64, lasts: I64, out: F64) -> None:
    """Put into ``out`` (spans,) the greatest of ``values`` (samples,), float32, from the first to the last sample of each span."""
    for k in range(firsts.shape[0]):
        most = values[firsts[k]]
        for i in range(firsts[k] + 1, lasts[k] + 1):
            most = max(most, values[i])
        out[k] = most
