"""What is wanted along the whole travel of a mechanism with one input, held still: where it is most, and how far it can be held."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.verdict.backwards import forces, point_at, torques
from marotte.verdict.points import Bearing, Line, Point


def heaviest(bearing: Bearing, rows: Mapping[str, F64]) -> Point:
    """Return where along a travel most is wanted to hold the one input, dry friction of the outputs against it.

    ``rows`` is (positions,) as for ``static_reach``.
    """
    f = forces(bearing, rows)
    dry = np.stack([np.full(f.q.shape[1], load.dry) for load in bearing.loads])
    best: tuple[float, float, int, int] = (-1.0, 1.0, 0, 0)
    for sign in (1.0, -1.0):
        pushed = replace(f, fixed=f.fixed + sign * dry)
        asked = np.abs(torques(bearing, pushed)[:, 0])
        attitude, sample = np.unravel_index(int(np.argmax(asked)), asked.shape)
        wanted = float(asked[attitude, sample])
        if wanted > best[0]:
            best = (wanted, sign, int(attitude), int(sample))
    wanted, sign, a, s = best
    point = point_at(bearing, rows, replace(f, fixed=f.fixed + sign * dry), a, 0, s, wanted, 0.0)
    terms = tuple(
        replace(term, friction=sign * load.dry) for term, load in zip(point.terms, bearing.loads, strict=True)
    )
    return replace(point, terms=terms)


def static_reach(bearing: Bearing, rows: Mapping[str, F64], line: Line) -> tuple[float, float]:
    """Return how far the first output can be held from its neutral, down and up, with what its means has at rest.

    ``rows`` is (positions,) of the outputs along their travel (rising), the other functions where they stand.
    """
    f = forces(bearing, rows)
    wanted = np.abs(torques(bearing, f)[:, 0]).max(axis=0)
    q = f.q[0]
    bearable = wanted <= line.stall_nm
    start = int(np.argmin(np.abs(f.inputs[0])))
    if not bearable[start]:
        return float(q[start]), float(q[start])
    low = high = start
    while low > 0 and bearable[low - 1]:
        low -= 1
    while high < len(q) - 1 and bearable[high + 1]:
        high += 1
    return _crossing(q, wanted, low, -1, line.stall_nm), _crossing(q, wanted, high, 1, line.stall_nm)


def _crossing(q: F64, wanted: F64, k: int, step: int, limit: float) -> float:
    """Return where the torque wanted crosses a limit just beyond a bearable sample."""
    if not 0 <= k + step < len(q):
        return float(q[k])
    share = (limit - wanted[k]) / (wanted[k + step] - wanted[k])
    return float(q[k] + share * (q[k + step] - q[k]))
