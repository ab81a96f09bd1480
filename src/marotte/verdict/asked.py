"""What the asked motion wants of every means: torque and speed at the input, and where it is worst.

The simulation shows what a servo does; a servo that is too weak simply gives all it has. What it *would need* is worked
out backwards here, mechanism by mechanism: the asked positions through the transmission to the input, and the forces
of gravity (at the worst attitude that the brief allows), springs, skins, friction and inertia back to it.

Two kinds of instant count. Moving: the asked motion, rounded off by a moving mean over ``ROUNDED_S``, since a move that is
late by no more than that still comes off. Standing: every asked position, as if it were held.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.contracts.mech import Skin, Transmission
from marotte.basis.ticks import SERIES_HZ
from marotte.verdict.points import Bearing, Line, Point, Terms

STILL_RAD_S: Final = 0.02
"""Input speed under which a means counts as still."""
ROUNDED_S: Final = 0.1
"""Moving mean over which an asked move may be rounded off [s]: what a performer with her own voice leads away, and two to
three frames of film (a rule of this project, see docs/methods/operating-point.md)."""
MOVING_EVERY: Final = 4
"""Every how many samples the rounded motion is looked at: 60 Hz, six times in each mean."""
STANDING_EVERY: Final = 12
"""Every how many samples the asked positions are looked at as if they were held: 20 Hz."""
LEAST_SHARE: Final = 0.02
"""Share of the stall torque that counts as wanted at least: below it a load cannot be told from none (a rule of this project)."""
NEWTON_STEPS: Final = 8
STRETCH: Final = 8192
"""Samples looked at together: half an hour at every attitude is 100 MB."""


@dataclass(frozen=True, slots=True)
class _Forces:
    """Everything over some samples; arrays are (outputs, samples) unless said."""

    q: F64
    qd: F64
    qdd: F64
    inputs: F64
    omega: F64
    rate: F64
    """(out, in, samples)"""
    fixed: F64
    gravity: F64
    """(attitudes, outputs, samples)"""


def inputs_of(transmission: Transmission, q: F64) -> F64:
    """Return (inputs, samples) for asked outputs (outputs, samples); held inside the span where it is sound."""
    if len(transmission.grid) == 1:
        position, grid = transmission.position[0], transmission.grid[0]
        if position[-1] < position[0]:
            position, grid = position[::-1], grid[::-1]
        return np.asarray(np.interp(q[0], position, grid))[None, :]
    first, second = transmission.grid
    ij = (int(np.argmin(np.abs(first))), int(np.argmin(np.abs(second))))
    slope = np.linalg.inv(transmission.rate[:2, :2, ij[0], ij[1]])
    x = slope @ (q[:2] - transmission.position[:2, ij[0], ij[1]][:, None])
    low, high = np.array([[first[0]], [second[0]]]), np.array([[first[-1]], [second[-1]]])
    for _ in range(NEWTON_STEPS):
        x = np.clip(x, low, high)
        here = np.stack([grid_at(transmission.position[o], first, second, x) for o in range(2)])
        j = [[grid_at(transmission.rate[o, i], first, second, x) for i in range(2)] for o in range(2)]
        gap = q[:2] - here
        det = j[0][0] * j[1][1] - j[0][1] * j[1][0]
        det = np.where(np.abs(det) < 1e-12, 1e-12, det)
        x = x + np.stack([(j[1][1] * gap[0] - j[0][1] * gap[1]) / det, (j[0][0] * gap[1] - j[1][0] * gap[0]) / det])
    return np.clip(x, low, high)


def grid_at(table: F64, first: F64, second: F64, x: F64) -> F64:
    """Return a table's values at places (2, samples) between its grid lines."""
    u = np.clip((x[0] - first[0]) / (first[1] - first[0]), 0.0, first.size - 1.000001)
    v = np.clip((x[1] - second[0]) / (second[1] - second[0]), 0.0, second.size - 1.000001)
    i, j = u.astype(np.int64), v.astype(np.int64)
    a, b = u - i, v - j
    out: F64 = (1 - a) * ((1 - b) * table[i, j] + b * table[i, j + 1]) + a * (
        (1 - b) * table[i + 1, j] + b * table[i + 1, j + 1]
    )
    return out


def _at(transmission: Transmission, table: F64, inputs: F64) -> F64:
    if len(transmission.grid) == 1:
        return np.asarray(np.interp(inputs[0], transmission.grid[0], table))
    return grid_at(table, transmission.grid[0], transmission.grid[1], inputs)


def _forces(bearing: Bearing, rows: Mapping[str, F64], moving: bool) -> _Forces:
    t = bearing.transmission
    q = np.stack([rows[name] for name in t.outputs])
    hz = SERIES_HZ / MOVING_EVERY
    n_out, n_in = len(t.outputs), len(t.inputs)
    inputs = inputs_of(t, q)
    zero = np.zeros_like(q)
    qd = np.gradient(q, axis=1) * hz if moving else zero
    qdd = _second(q, hz) if moving else zero
    omega = np.gradient(inputs, axis=1) * hz if moving else np.zeros_like(inputs)
    rate = np.stack([np.stack([_at(t, t.rate[o, i], inputs) for i in range(n_in)]) for o in range(n_out)])
    fixed, gravity = np.zeros_like(q), np.zeros((len(bearing.downs), *q.shape))
    for o, load in enumerate(bearing.loads):
        fixed[o] = load.inertia * qdd[o] + load.viscous * qd[o] + load.dry * np.sign(qd[o]) * (np.abs(qd[o]) > 1e-3)
        fixed[o] -= np.interp(q[o], load.grid, load.spring)
        for a, down in enumerate(bearing.downs):
            gravity[a, o] = -np.interp(q[o], load.grid, down @ load.gravity)
    for skin in bearing.skins:
        pull = np.interp(stretch(skin, rows), skin.curve[0], skin.curve[1])
        for o, name in enumerate(t.outputs):
            if name in skin.holds:
                fixed[o] += skin.holds[name] * pull
    return _Forces(q, qd, qdd, inputs, omega, rate, fixed, gravity)


def _second(q: F64, hz: float) -> F64:
    out = np.zeros_like(q)
    out[:, 1:-1] = (q[:, 2:] - 2.0 * q[:, 1:-1] + q[:, :-2]) * hz**2
    return out


def stretch(skin: Skin, rows: Mapping[str, F64]) -> F64:
    """Return the stretch [m] of a skin over rows of positions; functions without a row stand as sculpted."""
    total: F64 | float = 0.0
    for name in sorted(skin.holds):
        if name in rows:
            total = total + skin.holds[name] * (rows[name] - skin.sculpted[name])
    return np.asarray(total, dtype=np.float64)


def _torques(bearing: Bearing, f: _Forces) -> F64:
    """Return (attitudes, inputs, samples) torque that the mechanism wants at the input, with its sign.

    The means' own inertia is not in it: it makes a move later, which lag and hits show, and a datasheet's time for 60 deg has
    it inside already.
    """
    t = bearing.transmission
    out = np.empty((len(bearing.downs), len(t.inputs), f.q.shape[1]))
    for a in range(len(bearing.downs)):
        force = f.fixed + f.gravity[a]
        for i in range(len(t.inputs)):
            raw = np.einsum("os,os->s", f.rate[:, i], force)
            still = np.abs(f.omega[i]) < STILL_RAD_S
            driven = still | (raw * f.omega[i] >= 0.0)
            dry = t.dry * np.where(still, np.sign(raw), np.sign(f.omega[i]))
            out[a, i] = np.where(driven, raw / t.forward, raw * t.back) + np.where(still, 0.0, dry)
    return out


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
        f = _forces(bearing, piece, moving=moving)
        torques = _torques(bearing, f)
        for i, line in enumerate(lines):
            order, a, s, has = _scarcest(torques[:, i, inside], f.omega[i, inside], line)
            if len(found) > i and (order, a) >= found[i][:2]:
                continue
            s += first - begin
            point = replace(_point(bearing, piece, f, a, i, s, float(torques[a, i, s]), has), sample=begin + s)
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
    f = _forces(bearing, rows, moving=False)
    torques = _torques(bearing, f)
    out: list[tuple[Point, ...]] = []
    for s in range(f.q.shape[1]):
        points: list[Point] = []
        for i, line in enumerate(lines):
            a = int(np.argmax(np.abs(torques[:, i, s])))
            points.append(_point(bearing, rows, f, a, i, s, float(torques[a, i, s]), line.stall_nm))
        out.append(tuple(points))
    return tuple(out)


def _point(
    bearing: Bearing, rows: Mapping[str, F64], f: _Forces, a: int, i: int, s: int, torque: float, has: float
) -> Point:
    t = bearing.transmission
    raw = float(np.dot(f.rate[:, i, s], f.fixed[:, s] + f.gravity[a, :, s]))
    omega = float(f.omega[i, s])
    still = abs(omega) < STILL_RAD_S
    driven = still or raw * omega >= 0.0
    terms = tuple(_terms(bearing, rows, f, a, i, o, s) for o in range(len(t.outputs)))
    return Point(
        sample=-1, torque=abs(torque), speed=omega,  has=has,
        efficiency=t.forward if driven else t.back, driven=driven,
        dry=0.0 if still else t.dry * float(np.sign(omega)), terms=terms,
    )  # fmt: skip


def _terms(bearing: Bearing, rows: Mapping[str, F64], f: _Forces, a: int, i: int, o: int, s: int) -> Terms:
    load, name = bearing.loads[o], bearing.transmission.outputs[o]
    qd, qdd = float(f.qd[o, s]), float(f.qdd[o, s])
    here = {other: row[s : s + 1] for other, row in rows.items()}
    skins, pull = [], 0.0
    for skin in bearing.skins:
        if name in skin.holds:
            length = float(stretch(skin, here)[0])
            skins.append((skin.name, skin.holds[name], length))
            pull += skin.holds[name] * float(np.interp(length, skin.curve[0], skin.curve[1]))
    down = bearing.downs[a]
    return Terms(
        function=name, position=float(f.q[o, s]), speed=qd, acceleration=qdd, rate=float(f.rate[o, i, s]),
        down=(float(down[0]), float(down[1]), float(down[2])), gravity=float(f.gravity[a, o, s]),
        spring=-float(np.interp(f.q[o, s], load.grid, load.spring)), skin=pull, skins=tuple(skins),
        friction=load.dry * float(np.sign(qd)) * (abs(qd) > 1e-3), viscous=load.viscous * qd, inertia=load.inertia * qdd,
    )  # fmt: skip


def heaviest(bearing: Bearing, rows: Mapping[str, F64]) -> Point:
    """Return where along a travel most is wanted to hold the one input, dry friction of the outputs against it.

    ``rows`` is (positions,) as for ``static_reach``.
    """
    f = _forces(bearing, rows, moving=False)
    dry = np.stack([np.full(f.q.shape[1], load.dry) for load in bearing.loads])
    best: tuple[float, float, int, int] = (-1.0, 1.0, 0, 0)
    for sign in (1.0, -1.0):
        pushed = replace(f, fixed=f.fixed + sign * dry)
        torques = _torques(bearing, pushed)[:, 0]
        attitude, sample = np.unravel_index(int(np.argmax(np.abs(torques))), torques.shape)
        wanted = float(abs(torques[attitude, sample]))
        if wanted > best[0]:
            best = (wanted, sign, int(attitude), int(sample))
    wanted, sign, a, s = best
    point = _point(bearing, rows, replace(f, fixed=f.fixed + sign * dry), a, 0, s, wanted, 0.0)
    terms = tuple(
        replace(term, friction=sign * load.dry) for term, load in zip(point.terms, bearing.loads, strict=True)
    )
    return replace(point, terms=terms)


def static_reach(bearing: Bearing, rows: Mapping[str, F64], line: Line) -> tuple[float, float]:
    """Return how far the first output can be held from its neutral, down and up, with what its means has at rest.

    ``rows`` is (positions,) of the outputs along their travel (rising), the other functions where they stand.
    """
    f = _forces(bearing, rows, moving=False)
    wanted = np.abs(_torques(bearing, f)[:, 0]).max(axis=0)
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
