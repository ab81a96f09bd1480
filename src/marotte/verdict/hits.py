"""Which hits come off in a motion."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from marotte.basis.contracts.common import F32, Bool, Motion
from marotte.basis.contracts.script import Hit


def came_off(motion: Motion, hits: Sequence[Hit]) -> Bool:
    """Return (hits,) whether all needs of a hit are true together for its hold somewhere between opening and shutting.

    The motion is looked at where it has samples (240 Hz): a condition that is true from one sample to another counts for
    the ticks from the first to the last of them, and a hold under a sample's length asks for one sample.

    A stillness is judged by how far a function moves, not by where it stands (that is the look's affair): the room between
    its two bounds is what it may move during the hold.
    """
    rows = {name: motion.values[i] for i, name in enumerate(motion.names)}
    out = np.zeros(len(hits), dtype=np.bool_)
    for k, hit in enumerate(hits):
        first = max(-(-(hit.opens - motion.start) // motion.every), 0)
        last = min((hit.shuts - motion.start) // motion.every, motion.samples - 1)
        if last < first:
            continue
        if hit.kind == "still":
            out[k] = _stands(rows, hit, first, last, hit.hold // motion.every + 1)
            continue
        true = np.ones(last - first + 1, dtype=np.bool_)
        for need in hit.needs:
            if need.function not in rows:
                true[:] = False
                break
            values = rows[need.function][first : last + 1]
            true &= values <= np.float32(need.bound) if need.sense == "<=" else values >= np.float32(need.bound)
        out[k] = longest_run(true) > max(hit.hold // motion.every, 0) or (bool(true.any()) and hit.hold < motion.every)
    return out


def _stands(rows: Mapping[str, F32], hit: Hit, first: int, last: int, samples: int) -> bool:
    """Return whether all functions of a stillness stand, each within its room, over the same stretch of samples."""
    low = {need.function: need.bound for need in hit.needs if need.sense == ">="}
    high = {need.function: need.bound for need in hit.needs if need.sense == "<="}
    samples = min(samples, last - first + 1)
    true = np.ones(last - first + 2 - samples, dtype=np.bool_)
    for name in sorted(low.keys() & high.keys()):
        if name not in rows:
            return False
        pieces = sliding_window_view(rows[name][first : last + 1], samples)
        true &= pieces.max(axis=1) - pieces.min(axis=1) <= np.float32(high[name] - low[name])
    return bool(true.any())


def longest_run(true: Bool) -> int:
    """Return the length of the longest unbroken run of true samples."""
    if not true.any():
        return 0
    edges = np.flatnonzero(np.diff(np.concatenate(([False], true, [False])).astype(np.int8)))
    return int((edges[1::2] - edges[::2]).max())
