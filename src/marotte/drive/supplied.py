"""What the supply saw: lowest voltages, highest currents, heating of wires, charge, lead by lead."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from marotte.basis.contracts.common import F64, f64
from marotte.basis.contracts.drive import Rails
from marotte.basis.contracts.script import Window
from marotte.basis.ticks import SERIES_EVERY, SERIES_HZ, TICKS_PER_SECOND, on_series
from marotte.drive.added import Added, ints
from marotte.drive.islands import Island
from marotte.drive.leads import resting_volts
from marotte.drive.model import DriveModel
from marotte.drive.plan import LINEAR, PLAIN
from marotte.drive.upstream import Above, leads_inside

RMS_SECONDS = 60
"""The worst stretch over which a wire's heating is judged."""


def rails_of(
    model: DriveModel, parts: Sequence[Island], windows: Sequence[Window], added: Sequence[Added], over: Sequence[Above]
) -> Rails:
    """Return voltages and currents of every lead over the windows, from islands and from the tree above them.

    Args:
        model: the drive model.
        parts: its islands, as they were run.
        windows: the windows, in the order of the results.
        added: what ``add`` returned for each island.
        over: what ``aboves`` returned for the windows.
    """
    leads = model.leads
    count = len(leads)
    inside = leads_inside(model, parts)
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
