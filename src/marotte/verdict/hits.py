"""Which hits come off in a motion, and how wide those openings are that do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from marotte.basis.compiled import compiled
from marotte.basis.contracts.common import F32, F64, I64, Bool, Motion, f64
from marotte.basis.contracts.script import Hit

OPENS, SHUTS, HOLD, STILL, FIRST, LAST, COLUMNS = range(7)
"""Columns of ``Sought.hits``; opens, shuts and hold in samples."""


class Sought(NamedTuple):
    """Hits as arrays, against the rows of one motion."""

    hits: I64
    """(hits, COLUMNS); needs are those from FIRST to LAST; STILL: whether they are rooms to stand in."""
    row: I64
    """(needs,) row of the motion; -1 where it has none."""
    above: Bool
    """(needs,) whether it is to be at or over its bound, not under."""
    bound: F32
    """(needs,); of a stillness how far the function may move."""


def came_off(motion: Motion, hits: Sequence[Hit]) -> Bool:
    """Return (hits,) whether all needs of a hit are true together for its hold somewhere between opening and shutting.

    The motion is looked at where it has samples (240 Hz): a condition that is true from one sample to another counts for
    the ticks from the first to the last of them, and a hold under a sample's length asks for one sample.

    A stillness is judged by how far a function moves, not by where it stands (that is the look's affair): the room between
    its two bounds is what it may move during the hold.
    """
    return came_off_as(motion, sought(hits, motion.names, motion.start, motion.every, motion.samples))


def came_off_as(motion: Motion, what: Sought) -> Bool:
    """Return what ``came_off`` returns, for hits that are arrays already: made for a motion of the same rows and times."""
    out = np.zeros(len(what.hits), dtype=np.bool_)
    _come(np.ascontiguousarray(motion.values, dtype=np.float32), *what, out)
    return out


def sought(hits: Sequence[Hit], names: Sequence[str], start: int, every: int, samples: int) -> Sought:
    """Return hits as arrays for motions with these rows, this first tick, so many ticks from sample to sample and so many samples."""
    rows = {name: i for i, name in enumerate(names)}
    table: list[tuple[int, ...]] = []
    needs: list[tuple[int, bool, float]] = []
    for hit in hits:
        first = max(-(-(hit.opens - start) // every), 0)
        last = min((hit.shuts - start) // every, samples - 1)
        begin = len(needs)
        if hit.kind == "still":
            low = {need.function: need.bound for need in hit.needs if need.sense == ">="}
            high = {need.function: need.bound for need in hit.needs if need.sense == "<="}
            needs += [(rows.get(name, -1), False, high[name] - low[name]) for name in sorted(low.keys() & high.keys())]
        else:
            needs += [(rows.get(need.function, -1), need.sense == ">=", need.bound) for need in hit.needs]
        # a hold counts from the first sample to the last; one under a sample's length asks for one sample
        hold = hit.hold // every if hit.hold >= every else 0
        table.append((first, last, max(hold, 0) + 1, int(hit.kind == "still"), begin, len(needs)))
    return Sought(
        hits=np.array(table, dtype=np.int64).reshape(-1, COLUMNS),
        row=np.array([need[0] for need in needs], dtype=np.int64),
        above=np.array([need[1] for need in needs], dtype=np.bool_),
        bound=np.array([need[2] for need in needs], dtype=np.float32),
    )


def widths(asked: Motion, reached: Motion, hits: Sequence[Hit], shut: Mapping[str, float]) -> dict[str, F64]:
    """Return by function (hits,) how wide it opens at most in the window of each hit, as a share of what is asked of it there.

    Counted from where it is ``shut`` [rad or m]; NaN where a hit does not ask it to open. Both motions have the same samples.
    """
    ends = np.array(
        [[(hit.opens - asked.start) // asked.every, (hit.shuts - asked.start) // asked.every] for hit in hits]
    )
    ends = np.clip(ends, 0, asked.samples - 1)
    out: dict[str, F64] = {}
    for name, least in shut.items():
        opens = [k for k, hit in enumerate(hits) if any(n.function == name and n.sense == ">=" for n in hit.needs)]
        shares = np.full(len(hits), np.nan)
        if opens and name in asked.names and name in reached.names:
            wide = [
                np.array([row[a : b + 1].max() for a, b in ends[opens]]) - least
                for row in (asked.row(name), reached.row(name))
            ]
            shares[opens] = wide[1] / np.maximum(wide[0], 1e-9)
        out[name] = f64(shares)
    return out


@compiled(error_model="numpy")
def _come(values: F32, hits: I64, row: I64, above: Bool, bound: F32, out: Bool) -> None:
    """Fill (hits,) whether each comes off; see ``Sought``."""
    for h in range(len(hits)):
        first, last, hold = hits[h, OPENS], hits[h, SHUTS], hits[h, HOLD]
        begin, end = hits[h, FIRST], hits[h, LAST]
        there = last >= first
        for n in range(begin, end):
            there = there and row[n] >= 0
        if not there:
            continue
        if hits[h, STILL]:
            out[h] = _stands(values, row, bound, begin, end, first, last, min(hold, last - first + 1))
            continue
        run = 0
        for s in range(first, last + 1):
            true = True
            for n in range(begin, end):
                value = values[row[n], s]
                true = true and (value >= bound[n] if above[n] else value <= bound[n])
            run = run + 1 if true else 0
            if run >= hold:
                out[h] = True
                break


@compiled(error_model="numpy")
def _stands(values: F32, row: I64, room: F32, begin: int, end: int, first: int, last: int, samples: int) -> bool:
    """Return whether all functions of a stillness stand, each within its room, over the same stretch of samples."""
    for start in range(first, last + 2 - samples):
        stands = True
        for n in range(begin, end):
            least = most = values[row[n], start]
            for s in range(start + 1, start + samples):
                value = values[row[n], s]
                least, most = min(least, value), max(most, value)
                if most - least > room[n]:
                    stands = False
                    break
            if not stands:
                break
        if stands:
            return True
    return False
