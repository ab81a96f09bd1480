"""One island over one window: a pure function of its arguments, fit to be kept by their digests; and its full traces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np

from marotte.basis.contracts.common import F32, F64, I64, Motion, f32, f64
from marotte.basis.contracts.script import Window
from marotte.basis.digest import digest
from marotte.basis.frames import G0, rotation
from marotte.basis.ticks import SERIES_EVERY, TICKS_PER_SECOND, on_series
from marotte.drive import batch
from marotte.drive.islands import Island
from marotte.drive.kernels import run_trace
from marotte.drive.plain import follow
from marotte.drive.plan import SUM_ROWS, fresh, kept

RUN_IN = TICKS_PER_SECOND // 2
"""Ticks that a window runs before it counts."""
LAGS = 85
"""Delays that are tried, in samples of 240 Hz: up to 0.35 s; the run-in holds them."""
THIN = 12
"""For the lag every twelfth sample is compared: 20 Hz."""
MOVES = 1e-3
"""A function whose asked position spans less than this in a window [rad, or m in thousandths] says nothing about lag."""

USE, USE_AT, TORQUE, TORQUE_AT, SPEED, CURRENT, VOLTS, VOLTS_AT, PEAK_COLS = range(9)
"""Columns of ``WindowResult.peaks``, in the order of the kept lanes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowResult:
    """What one island did in one window. n outputs, d drives, l leads, p samples of 240 Hz."""

    island: str
    window: str
    start: int
    stop: int
    sums: F64
    """(d, quantity): contracts.drive.SUMS."""
    peaks: F64
    """(d, PEAK_COLS)."""
    lead_peaks: F64
    """(l, kernels.LEAD_PEAKS)."""
    lead_squares: F64
    """(l, seconds) A2*s by absolute second."""
    first_second: int
    drawn: F32
    """(l, p) highest current of each lead in each sample [A]."""
    reached: F32
    """(n, p)."""
    error: F64
    """(n,) largest |asked - reached|."""
    error_at: I64
    lag: F64
    """(n, LAGS) squared error, less its mean, against the asked series so many samples late; 0 where it stood still."""
    asked2: F64
    """(n,) squared way of the asked series from its mean, at the same samples; 0 where it stood still."""
    _digest: list[bytes] = field(default_factory=list, compare=False, repr=False)

    def __digest__(self) -> bytes:
        if not self._digest:
            names = (
                "island",
                "window",
                "start",
                "stop",
                "sums",
                "peaks",
                "lead_peaks",
                "lead_squares",
                "drawn",
                "reached",
            )
            self._digest.append(digest(("WindowResult", *(getattr(self, name) for name in names))))
        return self._digest[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Slice:
    """What one window asks, with the run-in before it."""

    command: F32
    """(rows of ``Island.asked``, samples)."""
    gravity: F64
    """(samples, 2, 3) [m/s2]: in the frame of the head, and upright."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """Everything of one island in one window, tick by tick."""

    island: Island
    start: int
    drive: F64
    """(7, d, ticks): input position, speed, target, torque, current, voltage, duty."""
    reached: F64
    """(n, ticks)."""
    leads: F64
    """(2, l, ticks): voltage, current."""


TRACE_ROWS = ("theta", "omega", "target", "torque", "amps", "volts", "duty")


def gravity_series(motion: Motion, first: int = 0, last: int | None = None) -> F64:
    """Return (samples, 2, 3) gravity [m/s2] in the frame of the head, from the rows that hold it, and upright.

    ``first`` and ``last`` are the samples from and up to which it is wanted. Turn is about +y, nod about -x (up), tilt about
    -z, one after another from the neck up; a missing row is zero.
    """
    count = len(range(motion.samples)[first:last])
    out = np.zeros((count, 2, 3))
    out[:, 1, 1] = -G0
    turns = {
        name: motion.row(name)[first:last].astype(np.float64) if name in motion.names else np.zeros(count)
        for name in ("head_nod", "head_tilt")
    }
    nod, tilt = turns["head_nod"], turns["head_tilt"]
    # head = turn(+y, a) nod(-x, b) tilt(-z, c); gravity in the head = transpose of it times down; the turn drops out
    out[:, 0, 0] = G0 * np.cos(nod) * np.sin(tilt)
    out[:, 0, 1] = -G0 * np.cos(nod) * np.cos(tilt)
    out[:, 0, 2] = -G0 * np.sin(nod)
    return out


def gravity_at(nod: float, tilt: float) -> F64:
    """Return (3,) gravity [m/s2] in a head that is held at a nod and a tilt [rad], by the rotations themselves."""
    head = rotation((-1.0, 0.0, 0.0), nod) @ rotation((0.0, 0.0, -1.0), tilt)
    return np.asarray(head.T @ np.array([0.0, -G0, 0.0]))


def cut(island: Island, motion: Motion, gravity: F64 | None, window: Window) -> Slice:
    """Return what a window asks of an island: ``cut_rows`` of the rows that it reads."""
    return cut_rows(island.asked, motion, gravity, window)


def cut_rows(names: tuple[str, ...], motion: Motion, gravity: F64 | None, window: Window) -> Slice:
    """Return what a window asks of some functions; before its beginning a motion stands still.

    Args:
        names: whose rows.
        motion: asked positions, 240 Hz.
        gravity: (samples, 2, 3) of ``gravity_series``; None: it is found for this window.
        window: start and stop in ticks.

    Raises:
        KeyError: the motion has no row for one of them.
    """
    if motion.every != SERIES_EVERY:
        raise ValueError(f"the drive takes a series of one sample in {SERIES_EVERY} ticks, not {motion.every}")
    first = (on_series(window.start) - RUN_IN - motion.start) // SERIES_EVERY
    last = -(-(window.stop - motion.start) // SERIES_EVERY) + 1
    at = {name: k for k, name in enumerate(motion.names)}
    missing = [name for name in names if name not in at]
    if missing:
        raise KeyError(f"the motion has no row for {', '.join(missing)}")
    lines = [at[name] for name in names]
    inside = slice(max(first, 0), max(min(last, motion.samples), 1))
    pad = (
        max(-first, 0),
        max(last - motion.samples, 0),
    )  # the motion stands still before its beginning and after its end
    command = motion.values[lines, inside]
    pull = gravity_series(motion, inside.start, inside.stop) if gravity is None else gravity[inside]
    if pad != (0, 0):
        command = np.pad(command, ((0, 0), pad), mode="edge")
        pull = np.pad(pull, (pad, (0, 0), (0, 0)), mode="edge")
    return Slice(command=f32(command), gravity=f64(pull))


def _played(island: Island, asked: Slice, window: Window) -> tuple[F64, int, int]:
    """Return what the plain functions do, the tick at which the run-in begins, and the ticks that count."""
    n = len(island.functions)
    played = np.zeros((len(island.plain), asked.command.shape[1]))
    for row, plain in enumerate(island.plain):
        played[row] = follow(plain, asked.command[n + row])
    start = on_series(window.start)
    assert asked.command.shape[1] * SERIES_EVERY >= RUN_IN + window.stop - start
    return played, start - RUN_IN, window.stop - start


def window(island: Island, asked: Slice, span: Window, finer: int = 1) -> WindowResult:
    """Run an island over a window.

    Args:
        island: what runs.
        asked: its command and gravity from the start of the run-in.
        span: the window.
        finer: times the substeps; for checks of the step only.
    """
    return run_windows(island, (asked,), (span,), finer)[0]


def run_windows(
    island: Island, asked: Sequence[Slice], spans: Sequence[Window], finer: int = 1
) -> tuple[WindowResult, ...]:
    """Run an island over some windows, one after another; see ``window``. The interpreter is free meanwhile."""
    plan = island.plan if finer == 1 else island.plan._replace(substeps=island.plan.substeps * finer)
    leads, n = len(island.leads), len(island.functions)
    ready = [_played(island, one, span) for one, span in zip(asked, spans, strict=True)]
    table, found = batch.run(
        plan, leads, n, len(island.plain), [one.command for one in asked], [played for played, _, _ in ready],
        [one.gravity for one in asked], [(tick0, length) for _, tick0, length in ready], RUN_IN, LAGS, THIN, MOVES,
    )  # fmt: skip
    out: list[WindowResult] = []
    for w, (span, row) in enumerate(zip(spans, table.tolist(), strict=True)):
        start, samples = row[batch.TICK0] + RUN_IN, -(-row[batch.LENGTH] // SERIES_EVERY)
        bins, bin0, into = row[batch.BINS], row[batch.FIRST_BIN], row[batch.INTO]
        each = kept(plan, found.drives[w])
        out.append(
            WindowResult(
                island=island.name, window=span.id, start=start, stop=span.stop, sums=f64(each[:, :SUM_ROWS]),
                peaks=f64(each[:, SUM_ROWS:]), lead_peaks=_own(found.lead_peaks[w]),
                lead_squares=_own(found.squares[leads * bin0 : leads * (bin0 + bins)].reshape(leads, bins)),
                first_second=start // TICKS_PER_SECOND,
                drawn=_own(found.drawn[leads * into : leads * (into + samples)].reshape(leads, samples)),
                reached=_own(found.reached[n * into : n * (into + samples)].reshape(n, samples)),
                error=_own(found.error[w]), error_at=_at(start, found.worst[w]), lag=_own(found.lag[w]),
                asked2=_own(found.asked2[w]),
            )
        )  # fmt: skip
    return tuple(out)


A = TypeVar("A", F32, F64)


def _own(part: A) -> A:
    """Return a part of an array as one of its own: windows are kept and let go one by one."""
    out = part.copy()
    out.flags.writeable = False
    return out


def _at(start: int, sample: I64) -> I64:
    out = np.asarray(start + SERIES_EVERY * sample, dtype=np.int64)
    out.flags.writeable = False
    return out


def trace_island(island: Island, asked: Slice, span: Window, finer: int = 1) -> Trace:
    """Run an island over a window and keep every tick."""
    played, tick0, length = _played(island, asked, span)
    outs = np.ascontiguousarray(asked.command[: len(island.functions)], dtype=np.float64)
    plan = island.plan if finer == 1 else island.plan._replace(substeps=island.plan.substeps * finer)
    drive = np.zeros((len(TRACE_ROWS), len(island.drives), length))
    rows, leads = np.zeros((len(island.functions), length)), np.zeros((2, len(island.leads), length))
    run_trace(
        plan, fresh(plan, len(island.plain)), outs, played, asked.gravity, tick0, RUN_IN, length, drive, rows, leads
    )
    return Trace(island=island, start=tick0 + RUN_IN, drive=f64(drive), reached=f64(rows), leads=f64(leads))
