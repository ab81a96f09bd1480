"""What the asked motion wants of every means: torque and speed at the input, and where it is worst.

The simulation shows what a servo does; a servo that is too weak simply gives all it has. What it *would need* is worked
out backwards (``backwards.py``), mechanism by mechanism.

Two kinds of instant count. Moving: the asked motion, rounded off by a moving mean over ``ROUNDED_S``, since a move that is
late by no more than that still comes off. Standing: every asked position, as if it were held.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.ticks import SERIES_HZ
from marotte.verdict.backwards import forces, point_at, torques
from marotte.verdict.points import Bearing, Line, Point

ROUNDED_S: Final = 0.1
"""Moving mean over which an asked move may be rounded off [s]: what a performer with her own voice leads away, and two to
three frames of film (a rule of this project, see docs/methods/operating-point.md)."""
MOVING_EVERY: Final = 4
"""Every how many samples the rounded motion is looked at: 60 Hz, six times in each mean."""
STANDING_EVERY: Final = 12
"""Every how many samples the asked positions are looked at as if they were held: 20 Hz."""
LEAST_SHARE: Final = 0.02
"""Share of the stall torque that counts as wanted at least: below it a load cannot be told from none (a rule of this project)."""
STRETCH: Final = 8192
"""Samples looked at together: half an hour at every attitude is 100 MB."""


def rounded(row: F64) -> F64:
    """Return a row under a moving mean over ``ROUNDED_S``; before its ends it stands still."""
    width = int(ROUNDED_S * SERIES_HZ) | 1
    half = width // 2
    padded = np.concatenate((np.full(half + 1, row[0]), row, np.full(half, row[-1])))
    total = np.cumsum(padded)
    return np.asarray((total[width:] - total[:-width]) / width)


def worst_points(bearing: Bearing, rows: Mapping[str, F64], lines: Sequence[Line]) -> tuple[Point, ...]:
    """Return, for each input, the instant at which torque at the asked speed is scarcest against what is wanted.

    ``rows`` holds the asked motion (240 Hz) of the outputs and of every function that shares a skin with them, (samples,).
    """
    moving = {name: rounded(row)[::MOVING_EVERY] for name, row in rows.items()}
    standing = {name: row[::STANDING_EVERY] for name, row in rows.items()}
    best: list[tuple[float, Point]] = []
    for part, is_moving in ((standing, False), (moving, True)):
        for i, (order, _, point) in enumerate(_least(bearing, part, lines, is_moving)):
            point = replace(point, sample=point.sample * (MOVING_EVERY if is_moving else STANDING_EVERY))
            if len(best) <= i:
                best.append((order, point))
            elif order < best[i][0]:
                best[i] = (order, point)
    return tuple(point for _, point in best)


def _least(
    bearing: Bearing, part: Mapping[str, F64], lines: Sequence[Line], moving: bool
) -> list[tuple[float, int, Point]]:
    """Return (order, attitude, instant) of the scarcest instant at each input, found stretch by stretch.

    A stretch has a sample more at either end, for speeds: nothing depends on where it is cut. Of equals the first attitude
    counts, then the first sample.
    """
    found: list[tuple[float, int, Point]] = []
    count = len(next(iter(part.values())))
    for first in range(0, count, STRETCH):
        begin, end = max(first - 1, 0), min(first + STRETCH + 1, count)
        piece = {name: row[begin:end] for name, row in part.items()}
        inside = slice(first - begin, min(first + STRETCH, count) - begin)
        f = forces(bearing, piece, SERIES_HZ / MOVING_EVERY if moving else 0.0)
        wanted = torques(bearing, f)
        for i, line in enumerate(lines):
            order, a, s, has = _scarcest(wanted[:, i, inside], f.omega[i, inside], line)
            if len(found) > i and (order, a) >= found[i][:2]:
                continue
            s += first - begin
            point = replace(point_at(bearing, piece, f, a, i, s, float(wanted[a, i, s]), has), sample=begin + s)
            found[i : i + 1] = [(order, a, point)]
    return found


def _scarcest(torques: F64, omega: F64, line: Line) -> tuple[float, int, int, float]:
    """Return (order, attitude, sample, torque that it has) of the scarcest instant at one input; torques (attitudes, samples)."""
    wanted = np.abs(torques)
    has = np.where(torques * omega < 0.0, line.stall_nm, line.torque_at(omega)[None, :])
    ratio = has / np.maximum(wanted, LEAST_SHARE * line.stall_nm)
    # Of several instants that it cannot reach at all, the one that asks most.
    order = np.where(ratio > 0.0, ratio, -(wanted / line.stall_nm + np.abs(omega) / line.free_rad_s))
    a, s = np.unravel_index(int(np.argmin(order)), order.shape)
    return float(order[a, s]), int(a), int(s), float(has[a, s])


def held_points(bearing: Bearing, rows: Mapping[str, F64], lines: Sequence[Line]) -> tuple[tuple[Point, ...], ...]:
    """Return (poses, inputs) what is wanted to hold each pose still; ``rows`` is (poses,) positions."""
    f = forces(bearing, rows)
    wanted = torques(bearing, f)
    out: list[tuple[Point, ...]] = []
    for s in range(f.q.shape[1]):
        points: list[Point] = []
        for i, line in enumerate(lines):
            a = int(np.argmax(np.abs(wanted[:, i, s])))
            points.append(point_at(bearing, rows, f, a, i, s, float(wanted[a, i, s]), line.stall_nm))
        out.append(tuple(points))
    return tuple(out)
