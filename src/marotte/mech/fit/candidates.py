"""The places that a servo without a box may take, in the order in which they are tried. docs/methods/fit.md.

First those that are exactly where its linkage wants its shaft, then places on a lattice in the order of how far they are off.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64, I64
from marotte.creature.schema.mechs import Cable, PullPull
from marotte.mech.fit.seat import HORN_OVER, Seat
from marotte.mech.fit.skull import Shell
from marotte.mech.fit.solids import box
from marotte.mech.fit.wants import Ring, square_to, want_of

LATTICE: Final = 8e-3
"""Distance of the places tried [m]."""
KEEP: Final = 1.2e-3
"""Gap that a proposed place keeps [m]."""
TURNS: Final = 8
"""Ways tried in which a case is turned about its own shaft, where the shaft is exactly right; half of them where there is choice of places."""
FEW: Final = 50
"""Places of a shaft that are no choice."""
AXES: Final = np.array([[0, 0, 1], [0, 0, -1], [0, 1, 0], [0, -1, 0], [1, 0, 0], [-1, 0, 0]], dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Places:
    """The places of one servo in the order in which they are tried."""

    order: I64
    """(k,) node * frames + frame."""
    nodes: F64
    """(n, 3) middles of the body [m]."""
    frames: F64
    """(f, 3, 3) rows along, across, shaft."""
    exact: bool
    """Whether the shaft is where the linkage wants it at each of them."""


def exact_places(seat: Seat, shell: Shell) -> Places | None:
    """Return the places inside a skull, of a pair's on its own side, at which the shaft is where the linkage wants it.

    Those nearest to what it moves come first; None where the linkage says nothing.
    """
    want = want_of(seat)
    if want is None:
        return None
    shafts, axes = want.places()
    turns = TURNS if len(shafts) < FEW else TURNS // 2
    frames = np.concatenate([_turned(axes, turns), _turned(-axes, turns)], axis=1)  # (n, f, 3, 3)
    many = frames.shape[1]
    middles = shafts[:, None, :] - _lever(seat, frames)
    far = 0.02 * np.linalg.norm(middles - seat.goal, axis=-1) + 0.5 * np.abs((shafts - seat.goal) @ seat.axis)[:, None]
    corners = np.array([[i, j, k] for i in (-0.5, 0.5) for j in (-0.5, 0.5) for k in (-0.5, 0.5)]) * seat.sides
    points = middles[:, :, None, :] + corners @ frames
    good = shell.holds(points.reshape(-1, 3), KEEP).reshape(*middles.shape[:2], 8).all(axis=2)
    if seat.side is not None:
        sign = 1.0 if seat.side == "left" else -1.0
        good &= (sign * points[..., 0]).min(axis=2) >= 0.5 * KEEP
    index = np.flatnonzero(good)
    rank = index[np.argsort(np.round(far.ravel()[index], 7), kind="stable")]
    whole = len(shafts) * many
    order = (np.arange(whole) * whole + np.arange(whole))[rank]
    return Places(
        order.astype(np.int64), middles.reshape(-1, 3), np.ascontiguousarray(frames.reshape(-1, 3, 3)), exact=True
    )


def _turned(axes: F64, turns: int) -> F64:
    """Return (n, turns, 3, 3) the frames of a body whose shaft lies along each of some axes (n, 3)."""
    near = np.eye(3)[np.argmin(np.abs(axes), axis=1)]
    first = near - (near * axes).sum(axis=1)[:, None] * axes
    first = first / np.linalg.norm(first, axis=1)[:, None]
    second = np.cross(axes, first)
    angles = 2.0 * np.pi * np.arange(turns) / turns
    along = np.cos(angles)[:, None] * first[:, None, :] + np.sin(angles)[:, None] * second[:, None, :]
    shaft = np.broadcast_to(axes[:, None, :], along.shape)
    return np.stack([along, np.cross(shaft, along), shaft], axis=2)


def _lever(seat: Seat, frames: F64) -> F64:
    """Return (..., 3) from the middle of a body to the middle of its horn on the shaft [m]."""
    return np.asarray(seat.shaft * frames[..., 0, :] + (0.5 * seat.body[2] + HORN_OVER) * frames[..., 2, :])


def lattice_places(seat: Seat, shell: Shell, nodes: F64) -> Places:
    """Return the places inside a skull, of a pair's on its own side, on a lattice (n, 3): nearest to where its linkage wants it first."""
    frames = servo_frames(seat)
    corners = np.array([box(np.zeros(3), frame, seat.sides).points for frame in frames])
    wanted = shell.holds_boxes(nodes, corners, KEEP) > 0.0
    if seat.side is not None:
        sign = 1.0 if seat.side == "left" else -1.0
        extent = np.abs(corners[:, :, 0]).max(axis=1)
        wanted &= sign * nodes[:, None, 0] - extent[None, :] >= 0.5 * KEEP
    index = np.flatnonzero(wanted)
    off = _off(seat, nodes, frames).ravel()[index]
    order = index[np.argsort(np.round(off, 7), kind="stable")].astype(np.int64)
    return Places(order, nodes, frames, exact=False)


def servo_frames(seat: Seat) -> F64:
    """Return (f, 3, 3) the ways a body may stand: shaft as its linkage can use it, else along any of the head's axes."""
    want = want_of(seat)
    if want is None:
        shafts, turns = AXES, 2
    elif isinstance(want, Ring) and want.shaft == "along":
        shafts, turns = np.array([want.way, -want.way]), 4
    else:
        first, second = square_to(want.way)
        shafts, turns = np.array([first, -first, second, -second]), 4
    return np.ascontiguousarray(_turned(shafts, 4)[:, :turns].reshape(-1, 3, 3))


def lattice(shell: Shell, least: float) -> F64:
    """Return (n, 3) the middles [m] tried: a lattice through the skull's middle, mirrored in itself."""
    half = 0.5 * np.array(shell.shape)
    lines = []
    for k in range(3):
        count = int(half[k] / LATTICE)
        lines.append(shell.centre[k] + LATTICE * (np.arange(-count, count + 1)))
    grid = np.stack(np.meshgrid(*lines, indexing="ij"), axis=-1).reshape(-1, 3)
    return np.ascontiguousarray(grid[shell.holds(grid, 0.5 * least)])


def rests_on(seat: Seat) -> tuple[object, ...]:
    """Return all that the places of a servo rest on: where its linkage wants it, and its case."""
    length = seat.record.length if isinstance(seat.record, (Cable, PullPull)) else None
    return (want_of(seat), length, seat.body, seat.shaft, seat.count, seat.side, seat.goal, seat.axis)


def _off(seat: Seat, nodes: F64, frames: F64) -> F64:
    """Return (nodes, frames) how far the shaft is from where its linkage wants it [m], with a little for the way to the goal."""
    shaft = nodes[:, None, :] + _lever(seat, frames)[None]
    way = seat.goal - shaft
    far = np.sqrt((way**2).sum(axis=-1))
    want = want_of(seat)
    if want is not None:
        aside = 0.5 * np.abs(way @ seat.axis) if isinstance(want, Ring) and want.along is None else 0.0
        return np.asarray(want.off(shaft) + aside + 0.02 * far)
    if isinstance(seat.record, (Cable, PullPull)):
        return np.asarray(np.maximum(far - seat.record.length, 0.0) + 0.05 * (shaft[..., 1] - nodes[:, 1].min()))
    return np.asarray(far)
