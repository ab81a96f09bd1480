"""Matching what is heard to what is written, and finding where a recording is quiet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from marotte.script.voices import I16, RATE

STRETCH_S: Final = 25.0
"""A recording is read in stretches of at most this, cut where it is quiet [s]."""
QUIET_S: Final = 0.15
_STEP: Final = RATE // 100
_MATCH: Final = 3
_SKIP: Final = -1


def matched(heard: Sequence[str], written: Sequence[str]) -> list[tuple[int, int]]:
    """Return (index heard, index written) of the words that agree, both rising: the best global alignment.

    Needleman and Wunsch 1970: 3 for equal words, -2 for unequal ones, -1 for each that is skipped. Memory is 2 bytes a pair of words.
    """
    if not heard or not written:
        return []
    numbers = {word: k for k, word in enumerate(sorted(set(heard) | set(written)))}
    a = np.array([numbers[w] for w in heard])
    b = np.array([numbers[w] for w in written])
    places = np.arange(len(b) + 1, dtype=np.int32)
    row = _SKIP * places
    back = np.zeros((len(a), len(b) + 1), dtype=np.int8)  # 0 skips a heard word, 1 pairs, 2 skips a written one
    for i, word in enumerate(a):
        pair = row[:-1] + np.where(b == word, _MATCH, -2)
        best = row + _SKIP
        choice = np.zeros(len(b) + 1, dtype=np.int8)
        better = pair >= best[1:]  # of equal ways the one that pairs late, so that words stay together
        best[1:][better] = pair[better]
        choice[1:][better] = 1
        reached = np.maximum.accumulate(best - _SKIP * places) + _SKIP * places  # skipping written words, all at once
        choice[reached > best] = 2
        back[i] = choice
        row = reached
    out = []
    i, j = len(a) - 1, len(b)
    while i >= 0 and j > 0:
        step = back[i, j]
        if step == 1:
            if a[i] == b[j - 1]:
                out.append((i, j - 1))
            i, j = i - 1, j - 1
        elif step == 2:
            j -= 1
        else:
            i -= 1
    return out[::-1]


def levels_db(pcm: I16) -> NDArray[np.float64]:
    """Return the level of every hundredth of a second [dB]."""
    count = len(pcm) // _STEP
    out = np.empty(count)
    for first in range(0, count, 6000):  # a minute at a time, so that no copy of the whole is made
        block = pcm[first * _STEP : min(first + 6000, count) * _STEP].reshape(-1, _STEP).astype(np.float64)
        out[first : first + len(block)] = 10 * np.log10(np.mean(block * block, axis=1) + 1.0)
    return out


def quiet_stretches(pcm: I16) -> list[tuple[float, float]]:
    """Return (start, stop) [s] of what is quiet for 0.15 s and more: under a third of the way from the floor to the loud.

    Floor and loud are the levels that 10 % and 95 % of the hundredths of a second stay below.
    """
    levels = levels_db(pcm)
    if not len(levels):
        return []
    low, high = np.percentile(levels, [10, 95])
    quiet = levels < low + (high - low) / 3
    edges = np.flatnonzero(np.diff(np.concatenate(([False], quiet, [False])).astype(np.int8)))
    return [
        (float(a) / 100, float(b) / 100)
        for a, b in zip(edges[::2], edges[1::2], strict=True)
        if (b - a) / 100 >= QUIET_S
    ]


def stretches(pcm: I16) -> tuple[list[I16], list[float]]:
    """Cut a recording into stretches of at most 25 s, in its quiet places where there are any; return them and their starts [s]."""
    seconds = len(pcm) / RATE
    quiet = [(a + b) / 2 for a, b in quiet_stretches(pcm)]
    cuts = [0.0]
    while seconds - cuts[-1] > STRETCH_S:
        inside = [q for q in quiet if cuts[-1] + STRETCH_S / 4 < q <= cuts[-1] + STRETCH_S]
        cuts.append(inside[-1] if inside else cuts[-1] + STRETCH_S)
    ends = [*cuts[1:], seconds]
    return [pcm[int(a * RATE) : int(b * RATE)] for a, b in zip(cuts, ends, strict=True)], cuts
