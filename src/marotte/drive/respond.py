"""A Motion in, a Response out: windows in threads, borders checked, rows added in order."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from itertools import chain

import numpy as np

from marotte.basis.contracts.common import F32, F64, I64, Bool, Motion, Told, f32, f64
from marotte.basis.contracts.drive import Peaks, Rails, Response
from marotte.basis.contracts.script import Window
from marotte.basis.ticks import SERIES_EVERY, SERIES_HZ, TICKS_PER_SECOND, on_series
from marotte.drive import windows as worst_
from marotte.drive.added import Added, add, ints
from marotte.drive.heat import winding_rise
from marotte.drive.islands import Island, islands
from marotte.drive.leads import BATTERY, resting_volts
from marotte.drive.model import DriveModel
from marotte.drive.plain import follow
from marotte.drive.plan import LINEAR, PLAIN, SUM_ROWS
from marotte.drive.upstream import Above, above
from marotte.drive.windows import Trace, WindowResult, cut, gravity_series, run_windows, trace_island

RMS_SECONDS = 60
"""The worst stretch over which a wire's heating is judged."""
AT_ONCE = 8
"""So many windows are run in one call."""


def respond(model: DriveModel, motion: Motion, windows: Sequence[Window], threads: int = 1) -> Response:
    """Return how the whole creature answers a motion; the same bytes for any number of threads.

    Args:
        model: the drive model.
        motion: asked positions at 240 Hz, a row for every function of the model.
        windows: what to run; times outside them hold what is asked.
        threads: how many windows are run side by side.
    """
    gravity = gravity_series(motion)
    parts = islands(model)
    results = _run(parts, motion, gravity, windows, threads)
    over = aboves(model, parts, results)
    if any(one.dropped for one in over):
        parts = islands(model, whole=True)
        results = _run(parts, motion, gravity, windows, threads)
        over = aboves(model, parts, results)
    return gather(model, parts, motion, windows, results, over)


def _run(
    parts: tuple[Island, ...], motion: Motion, gravity: F64, windows: Sequence[Window], threads: int
) -> tuple[tuple[WindowResult, ...], ...]:
    """Return the results by island, then by window."""
    tasks = [(part, windows[k : k + AT_ONCE]) for part in parts for k in range(0, len(windows), AT_ONCE)]

    def run(task: tuple[Island, Sequence[Window]]) -> tuple[WindowResult, ...]:
        part, spans = task
        return run_windows(part, [cut(part, motion, gravity, span) for span in spans], spans)

    if threads > 1:
        with ThreadPoolExecutor(max_workers=threads) as pool:
            flat = list(chain.from_iterable(pool.map(run, tasks)))
    else:
        flat = list(chain.from_iterable(map(run, tasks)))
    count = len(windows)
    return tuple(tuple(flat[i * count : (i + 1) * count]) for i in range(len(parts)))


def _leads_inside(model: DriveModel, parts: Iterable[Island]) -> dict[int, tuple[int, int]]:
    """Return lead of the model -> (island, its lead there)."""
    at = {row.name: i for i, row in enumerate(model.leads)}
    return {at[name]: (p, i) for p, part in enumerate(parts) for i, name in enumerate(part.leads)}


def aboves(model: DriveModel, parts: Sequence[Island], results: Sequence[Sequence[WindowResult]]) -> tuple[Above, ...]:
    """Return the tree above the borders in every window, rows of the leads outside the islands alone, in the model's order.

    Where one is ``dropped``, the whole must be run joined.

    Args:
        model: the drive model.
        parts: its islands as they were run.
        results: by island, then by window.
    """
    inside = _leads_inside(model, parts)
    roots = {lead: (p, i) for lead, (p, i) in inside.items() if i in parts[p].roots}
    outer = [lead for lead in range(len(model.leads)) if lead not in inside]
    out: list[Above] = []
    for w in range(len(results[0]) if parts else 0):
        drawn = {lead: results[p][w].drawn[i].astype(np.float64) for lead, (p, i) in roots.items()}
        tree = above(model, set(inside), drawn, results[0][w].drawn.shape[1])
        out.append(replace(tree, amps=tree.amps[outer], volts=tree.volts[outer]))
    return tuple(out)


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
    rails = _rails(model, parts, windows, whole, over)
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


def _rails(
    model: DriveModel, parts: Sequence[Island], windows: Sequence[Window], added: Sequence[Added], over: Sequence[Above]
) -> Rails:
    leads = model.leads
    count = len(leads)
    inside = _leads_inside(model, parts)
    low, low_at = np.full(count, np.inf), np.zeros(count, dtype=np.int64)
    high, high_at = np.zeros(count), np.zeros(count, dtype=np.int64)
    seconds = max((-(-span.stop // TICKS_PER_SECOND) for span in windows), default=0)
    first = min((span.start // TICKS_PER_SECOND for span in windows), default=0)
    squares = np.zeros((count, max(seconds - first, 1)))
    charge = np.zeros(count)
    for lead, (p, i) in inside.items() if windows else ():
        one = added[p]
        low[lead], low_at[lead], high[lead], high_at[lead] = one.low[i], one.low_at[i], one.high[i], one.high_at[i]
        squares[lead, one.first_second - first :][: one.squares.shape[1]] = one.squares[i]
        charge[lead] = one.charge[i]
    for w, span in enumerate(windows):
        if not over or not over[w].volts.shape[1]:
            continue
        volts, amps = over[w].volts, over[w].amps
        for row, lead in enumerate(n for n in range(count) if n not in inside):
            j = int(volts[row].argmin())
            if volts[row, j] < low[lead]:
                low[lead], low_at[lead] = volts[row, j], on_series(span.start) + SERIES_EVERY * j
            j = int(amps[row].argmax())
            if amps[row, j] > high[lead]:
                high[lead], high_at[lead] = amps[row, j], on_series(span.start) + SERIES_EVERY * j
            bins = (on_series(span.start) + SERIES_EVERY * np.arange(amps.shape[1])) // TICKS_PER_SECOND - first
            squares[lead] += np.bincount(
                np.minimum(bins, squares.shape[1] - 1), amps[row] ** 2 / SERIES_HZ, minlength=squares.shape[1]
            )
    total_s = sum(span.stop - span.start for span in windows) / TICKS_PER_SECOND
    drawn = _battery_charge(model, inside, charge, low)
    return Rails(
        leads=tuple(row.name for row in leads),
        lowest_v=f64(np.where(np.isfinite(low), low, [row.source_v for row in leads])),
        lowest_at=ints(low_at),
        highest_a=f64(high),
        highest_at=ints(high_at),
        rms_a=f64(_worst_rms(squares)),
        battery_c=drawn,
        mean_a=drawn / total_s if total_s > 0 else 0.0,
    )


def _worst_rms(squares: F64) -> F64:
    """Return the root mean square [A] over the worst minute, from sums by second [A2*s]."""
    span = min(RMS_SECONDS, squares.shape[1])
    total = np.concatenate((np.zeros((len(squares), 1)), np.cumsum(squares, axis=1)), axis=1)
    runs = total[:, span:] - total[:, :-span]
    return np.asarray(np.sqrt(np.maximum(runs.max(axis=1), 0.0) / span))


def _battery_charge(model: DriveModel, inside: dict[int, tuple[int, int]], charge: F64, low: F64) -> float:
    """Return the charge [C] taken from the battery: known where it was run, else handed up the tree at resting voltage."""
    total = np.array(charge)
    for lead in reversed(range(1, len(model.leads))):
        row = model.leads[lead]
        if row.parent in inside:
            continue
        volts = max(resting_volts(model.leads, row.parent), 1e-9)
        switching = row.regulator not in (PLAIN, LINEAR)
        total[row.parent] += max(total[lead], 0.0) * (row.source_v / (row.efficiency * volts) if switching else 1.0)
    return float(total[0])


def trace(model: DriveModel, motion: Motion, span: Window, whole: bool = False) -> tuple[Trace, ...]:
    """Return full traces of one window, one for each island.

    Args:
        model: the drive model.
        motion: what is asked.
        span: the window.
        whole: as the islands were run (``Response.told`` says "joined").
    """
    gravity = gravity_series(motion)
    return tuple(trace_island(part, cut(part, motion, gravity, span), span) for part in islands(model, whole))
