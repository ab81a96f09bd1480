"""Results of all islands in all windows -> one Response."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from marotte.basis.contracts.common import F32, F64, I64, Bool, Motion, Told, f32, f64
from marotte.basis.contracts.drive import Peaks, Response
from marotte.basis.contracts.script import Window
from marotte.basis.ticks import SERIES_EVERY, SERIES_HZ, on_series
from marotte.drive import windows as worst_
from marotte.drive.added import Added, add, ints
from marotte.drive.heat import winding_rise
from marotte.drive.islands import Island
from marotte.drive.leads import BATTERY
from marotte.drive.model import DriveModel
from marotte.drive.plain import follow
from marotte.drive.plan import PLAIN, SUM_ROWS
from marotte.drive.supplied import rails_of
from marotte.drive.upstream import Above
from marotte.drive.windows import WindowResult


def gather(
    model: DriveModel,
    parts: Sequence[Island],
    motion: Motion,
    windows: Sequence[Window],
    results: Sequence[Sequence[WindowResult]],
    over: Sequence[Above],
    added: Sequence[Added] | None = None,
) -> Response:
    """Return the Response from the results of all islands in all windows.

    Args:
        model: the drive model.
        parts: its islands, as they were run.
        motion: what was asked.
        windows: the windows, in the order of the results.
        results: by island, then by window.
        over: what ``aboves`` returned for them.
        added: what ``add`` returned for each island, where that is known already.
    """
    whole = added if added is not None else [add(part, rows) for part, rows in zip(parts, results, strict=True)]
    reached, error, error_at = _reached(model, parts, motion, windows, results, whole)
    rails = rails_of(model, parts, windows, whole, over)
    drives = tuple(row.name for row in model.drives)
    at = {name: i for i, name in enumerate(drives)}
    sums = np.zeros((len(windows), len(drives), SUM_ROWS))
    peaks = np.zeros((len(drives), worst_.PEAK_COLS))
    peaks[:, worst_.VOLTS] = np.inf
    for part, one in zip(parts, whole, strict=True):
        lines = [at[name] for name in part.drives]
        sums[:, lines], peaks[lines] = one.sums, one.peaks
    if not windows:
        peaks[:, worst_.VOLTS] = 0.0
    told = [*model.told]
    if any(len(part.roots) == 1 and part.leads[part.roots[0]] == BATTERY for part in parts) and len(model.leads) > 1:
        told += _dropped_told(model, parts)
    lag, later, follows = _lag(model, parts, whole)
    worst = Peaks(
        drives=drives, functions=model.functions, error=f64(error), error_at=ints(error_at),
        torque_use=f64(peaks[:, worst_.USE]), torque_use_at=ints(peaks[:, worst_.USE_AT]), torque=f64(peaks[:, worst_.TORQUE]),
        torque_at=ints(peaks[:, worst_.TORQUE_AT]), speed=f64(peaks[:, worst_.SPEED]), current=f64(peaks[:, worst_.CURRENT]),
        voltage=f64(peaks[:, worst_.VOLTS]), voltage_at=ints(peaks[:, worst_.VOLTS_AT]), lag=f64(lag), later=later,
        follows=f64(follows),
    )  # fmt: skip
    return Response(
        reached=reached,
        worst=worst,
        sums=f64(sums),
        rails=rails,
        heat=f64(winding_rise(model, sums)),
        substeps=max((part.plan.substeps for part in parts), default=1),
        told=tuple(told),
    )


def _dropped_told(model: DriveModel, parts: Sequence[Island]) -> list[Told]:
    names = [row.name for row in model.leads if row.regulator != PLAIN and row.parent >= 0]
    joined = [name for part in parts if part.leads[part.roots[0]] == BATTERY for name in names if name in part.leads]
    if not joined:
        return []
    sentence = (
        f"The regulators of {', '.join(joined)} are run together with the {BATTERY}: it does not always hold them up"
    )
    return [Told(code="joined", sentence=sentence)]


def _reached(
    model: DriveModel,
    parts: Sequence[Island],
    motion: Motion,
    windows: Sequence[Window],
    results: Sequence[Sequence[WindowResult]],
    added: Sequence[Added],
) -> tuple[Motion, F64, I64]:
    at = {name: i for i, name in enumerate(motion.names)}
    lines = [at[name] for name in model.functions]
    values: F32 = motion.values[lines]  # a copy
    index = {name: i for i, name in enumerate(model.functions)}
    error, error_at = np.zeros(len(lines)), np.zeros(len(lines), dtype=np.int64)
    for plain in model.plain:
        row = index[plain.function]
        if plain.law == "exact":
            continue
        for span in windows:
            lo, hi = _columns(motion, span)
            back = max(lo - SERIES_HZ // 2, 0)
            values[row, lo:hi] = follow(plain, motion.row(plain.function)[back:hi])[lo - back :]
        off = np.abs(values[row].astype(np.float64) - motion.row(plain.function))
        error[row], error_at[row] = (
            off.max(initial=0.0),
            motion.start + SERIES_EVERY * int(off.argmax()) if off.size else 0,
        )
    for part, rows, one in zip(parts, results, added, strict=True):
        places = [index[name] for name in part.functions]
        error[places], error_at[places] = one.error, one.error_at
        for span, result in zip(windows, rows, strict=True):
            lo, hi = _columns(motion, span)
            for place, row in zip(places, result.reached, strict=True):
                values[place, lo:hi] = row[: hi - lo]
    values.flags.writeable = False  # handed on as it is, not copied: half an hour of thirty functions is 50 MB
    reached = Motion(
        names=model.functions, units=tuple(motion.units[line] for line in lines), start=motion.start,
        every=motion.every, values=f32(values),
    )  # fmt: skip
    return reached, error, error_at


def _columns(motion: Motion, span: Window) -> tuple[int, int]:
    lo = (on_series(span.start) - motion.start) // SERIES_EVERY
    hi = -(-(span.stop - motion.start) // SERIES_EVERY)
    return max(lo, 0), min(hi, motion.samples)


def _lag(model: DriveModel, parts: Sequence[Island], added: Sequence[Added]) -> tuple[F64, Bool, F64]:
    """Return the delay [s] that best explains each function's series, whether it is that or more, and how much it explains."""
    count = len(model.functions)
    out, later, follows = np.zeros(count), np.zeros(count, dtype=np.bool_), np.ones(count)
    index = {name: i for i, name in enumerate(model.functions)}
    for plain in model.plain:
        out[index[plain.function]] = plain.amount if plain.law == "delay" else 0.0
    for part, one in zip(parts, added, strict=True):
        places = [index[name] for name in part.functions]
        out[places], later[places], follows[places] = one.lag / SERIES_HZ, one.later, one.follows
    later.flags.writeable = False
    return out, later, follows
