"""The part cut into windows for simulation: where least moves, 12 s at most, named by the line they belong to."""

from __future__ import annotations

from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.contracts.script import Spoken, Window
from marotte.basis.ticks import SERIES_EVERY, ticks

LONGEST: Final = ticks(12.0) // SERIES_EVERY
"""Samples that a window may have."""
SHORTEST: Final = ticks(2.0) // SERIES_EVERY
"""Samples that a window should have where there is a choice."""


def windows(lines: tuple[Spoken, ...], stir: F64) -> tuple[Window, ...]:
    """Return windows that cover the part without gap or overlap.

    ``stir`` (samples,) says how much moves at each sample. Each line owns the time from the quietest sample of the silence
    before it to that before the next line; what is longer than 12 s is cut again where least moves. The names depend on the
    line alone ("line.12.0", "line.12.1"), so an edit elsewhere leaves them.
    """
    samples = len(stir)
    edges: list[tuple[int, int]] = [(0, 0)]
    for place, line in enumerate(lines):
        before = (lines[place - 1].stop if place else 0) // SERIES_EVERY
        start = min(line.start // SERIES_EVERY, samples - 1)
        if start - before < 2 and place:
            cut = start
        else:
            cut = before + int(np.argmin(stir[before : start + 1]))
        if cut > edges[-1][0]:
            edges.append((cut, line.line))
        else:
            edges[-1] = (edges[-1][0], line.line)
    out: list[Window] = []
    for place, (begin, line_no) in enumerate(edges):
        end = edges[place + 1][0] if place + 1 < len(edges) else samples
        for k, (a, b) in enumerate(_pieces(begin, end, stir)):
            out.append(Window(id=f"line.{line_no}.{k}", start=a * SERIES_EVERY, stop=b * SERIES_EVERY, line=line_no))
    return tuple(out)


def _pieces(begin: int, end: int, stir: F64) -> list[tuple[int, int]]:
    out: list[tuple[int, int]] = []
    while end - begin > LONGEST:
        low = begin + SHORTEST
        high = min(begin + LONGEST, end - SHORTEST)
        cut = low + int(np.argmin(stir[low : high + 1])) if high >= low else begin + LONGEST
        out.append((begin, cut))
        begin = cut
    out.append((begin, end))
    return out
