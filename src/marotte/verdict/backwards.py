"""From asked positions back to the input: gravity, springs, skins, friction and inertia through the transmission.

Gravity is that of every attitude that the brief allows; torque and speed are those at the input.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.contracts.mech import Skin, Transmission
from marotte.verdict.points import Bearing, Point, Terms

STILL_RAD_S: Final = 0.02
"""Input speed under which a means counts as still."""
NEWTON_STEPS: Final = 8


@dataclass(frozen=True, slots=True)
class Forces:
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


def forces(bearing: Bearing, rows: Mapping[str, F64], hz: float = 0.0) -> Forces:
    """Return what the mechanism's outputs bear over rows of positions (samples,).

    Args:
        bearing: the mechanism with loads, skins and attitudes.
        rows: positions of its outputs and of every function that shares a skin with them.
        hz: samples in a second of a motion; 0 where every sample stands by itself, as if it were held.
    """
    t = bearing.transmission
    q = np.stack([rows[name] for name in t.outputs])
    n_out, n_in = len(t.outputs), len(t.inputs)
    inputs = inputs_of(t, q)
    zero = np.zeros_like(q)
    qd = np.gradient(q, axis=1) * hz if hz else zero
    qdd = _second(q, hz) if hz else zero
    omega = np.gradient(inputs, axis=1) * hz if hz else np.zeros_like(inputs)
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
    return Forces(q, qd, qdd, inputs, omega, rate, fixed, gravity)


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


def torques(bearing: Bearing, f: Forces) -> F64:
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


def point_at(
    bearing: Bearing, rows: Mapping[str, F64], f: Forces, a: int, i: int, s: int, torque: float, has: float
) -> Point:
    """Return an instant with every term: attitude a, input i, sample s, torque wanted there and torque had [N*m or N]."""
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


def _terms(bearing: Bearing, rows: Mapping[str, F64], f: Forces, a: int, i: int, o: int, s: int) -> Terms:
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
