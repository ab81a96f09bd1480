"""Simple solids: boxes, balls, capsules, the sector that a horn sweeps; their gaps, and how far they reach out of a skull."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from marotte.basis.contracts.common import F64, I64, f64
from marotte.basis.frames import Vec, unit
from marotte.mech.fit.kernels import MOST, checked, gap, gaps
from marotte.mech.fit.kernels_out import out_of_ellipsoid

DIRECTIONS = 9
"""Rows of normals and edges in a pack: a sector of eight corners has nine."""
ARC_POINTS = 6
"""Corners along the arc of a sector; they lie outside the circle, so that the sector holds all of it."""
NONE = np.zeros((0, 3))
CORNERS = np.array([[x, y, z] for x in (-1.0, 1.0) for y in (-1.0, 1.0) for z in (-1.0, 1.0)])


def cross(a: F64, b: F64) -> F64:
    """Return a x b of two vectors (3,): ten times as fast as the library's general one, and it is asked for often."""
    ax, ay, az = a.tolist()
    bx, by, bz = b.tolist()
    return np.array([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx])


@dataclass(frozen=True)
class Solid:
    """A convex hull of points, rounded by a radius; what the kernels ask of it is worked out once."""

    points: F64
    """(k, 3) [m]."""
    radius: float
    normals: F64
    """(f, 3) one of each pair of opposite faces, of any length."""
    edges: F64
    """(e, 3) directions of its edges."""

    @cached_property
    def centre(self) -> F64:
        """The middle of its points, (3,) [m]."""
        return np.asarray(0.5 * (self.points.min(axis=0) + self.points.max(axis=0)))

    @cached_property
    def bound(self) -> float:
        """Radius [m] of a ball round its centre that holds it."""
        return float(np.sqrt(((self.points - self.centre) ** 2).sum(axis=1).max())) + self.radius

    @cached_property
    def row(self) -> F64:
        """Its points, face normals and edges as a pack holds them, one after another, with zeros for what is not there."""
        out = np.zeros((MOST + 2 * DIRECTIONS, 3))
        out[: len(self.points)] = self.points
        out[MOST : MOST + len(self.normals)] = self.normals
        out[MOST + DIRECTIONS : MOST + DIRECTIONS + len(self.edges)] = self.edges
        return out


def frame_of(axis: Vec, along: Vec) -> F64:
    """Return (3, 3) with rows along, across, axis: right-handed, of length 1; ``along`` is squared up to the axis.

    Raises:
        ValueError: one has no direction, or they are parallel.
    """
    up = np.array(unit(axis))
    side = np.array(unit(along))
    side = side - float(side @ up) * up
    size = float(np.linalg.norm(side))
    if size < 1e-6:
        raise ValueError("the long side of a body cannot lie along its shaft")
    side = side / size
    return np.array([side, cross(up, side), up])


def box(at: Sequence[float] | F64, frame: F64, sides: Sequence[float] | F64) -> Solid:
    """Return a box about a centre [m] with whole sides [m] along the rows of a frame."""
    half = 0.5 * np.asarray(sides, dtype=np.float64)
    axes = f64(frame)
    return Solid(f64(np.asarray(at) + (CORNERS * half) @ frame), 0.0, axes, axes)


def ball(at: Sequence[float] | F64, radius: float) -> Solid:
    """Return a ball [m]."""
    return Solid(f64(np.asarray(at, dtype=np.float64).reshape(1, 3)), radius, f64(NONE), f64(NONE))


def capsule(a: F64, b: F64, radius: float) -> Solid:
    """Return what lies within a radius of the line from a to b [m]."""
    return Solid(f64(np.array([a, b])), radius, f64(NONE), f64(np.asarray(b - a).reshape(1, 3)))


def sector(at: F64, first: F64, axis: F64, radius: float, low: float, high: float, thickness: float) -> Solid:
    """Return the slice of a disc that an arm sweeps: centre [m], unit direction at angle 0, unit axis, radius [m], angles [rad].

    From half a turn on the slice is not convex, and the hull of it is taken: a whole disc at most.
    """
    span = min(high - low, 2.0 * math.pi)
    whole = span >= math.pi
    count = ARC_POINTS if not whole else MOST // 2
    step = span / (count if span >= 2.0 * math.pi else count - 1)
    angles = low + step * np.arange(count)
    second = cross(axis, first)
    reach = radius / math.cos(0.5 * step)
    rim = at + reach * (np.outer(np.cos(angles), first) + np.outer(np.sin(angles), second))
    flat = rim if whole else np.concatenate([[at], rim])
    sides = np.roll(flat, -1, axis=0) - flat
    points = np.concatenate([flat - 0.5 * thickness * axis, flat + 0.5 * thickness * axis])
    square = np.array([[0.0, -axis[2], axis[1]], [axis[2], 0.0, -axis[0]], [-axis[1], axis[0], 0.0]])
    normals = np.concatenate([[axis], sides @ square.T])  # axis x side
    return Solid(f64(points), 0.0, f64(normals), f64(np.concatenate([[axis], sides])))


def gap_of(one: Solid, other: Solid) -> tuple[float, F64]:
    """Return the gap of two solids [m], below zero the depth of their overlap, and the unit way that frees the first, (3,)."""
    normal = np.zeros(3)
    a, b = pack([one]), pack([other])
    checked(a.points, b.points, a.normals, b.normals, a.edges, b.edges)
    value = gap(
        a.points[0], a.counts[0], a.radii[0], a.normals[0], a.edges[0],
        b.points[0], b.counts[0], b.radii[0], b.normals[0], b.edges[0], normal,
    )  # fmt: skip
    return float(value), normal


@dataclass(frozen=True, slots=True)
class Pack:
    """Solids as the kernels take them."""

    points: F64
    counts: I64
    radii: F64
    normals: F64
    edges: F64
    centres: F64
    bounds: F64


def pack(solids: Sequence[Solid]) -> Pack:
    """Return solids as flat arrays."""
    n = len(solids)
    if n == 0:
        none = np.zeros(0)
        return Pack(
            np.zeros((0, MOST, 3)), np.zeros(0, dtype=np.int64), none, np.zeros((0, DIRECTIONS, 3)),
            np.zeros((0, DIRECTIONS, 3)), np.zeros((0, 3)), none,
        )  # fmt: skip
    rows = np.stack([solid.row for solid in solids])
    return Pack(
        points=np.ascontiguousarray(rows[:, :MOST]),
        counts=np.array([len(solid.points) for solid in solids], dtype=np.int64),
        radii=np.array([solid.radius for solid in solids]),
        normals=np.ascontiguousarray(rows[:, MOST : MOST + DIRECTIONS]),
        edges=np.ascontiguousarray(rows[:, MOST + DIRECTIONS :]),
        centres=np.stack([solid.centre for solid in solids]),
        bounds=np.array([solid.bound for solid in solids]),
    )


def gaps_of(packed: Pack, pairs: I64, reach: float) -> F64:
    """Return (pairs, 4): gap [m] (``reach`` where farther) and the way that frees the first of each pair (n, 2)."""
    checked(packed.points, packed.counts, packed.radii, packed.normals, packed.edges, packed.centres, pairs)
    found: F64 = gaps(
        packed.points,
        packed.counts,
        packed.radii,
        packed.normals,
        packed.edges,
        packed.centres,
        packed.bounds,
        pairs,
        reach,
    )
    return found


def out_of(packed: Pack, centre: Vec, half: F64) -> F64:
    """Return (s,) how far each solid reaches out of an ellipsoid [m]; below zero it stays that far inside."""
    moved = np.ascontiguousarray(packed.points - np.array(centre))
    checked(moved, packed.counts, packed.radii, half)
    found: F64 = out_of_ellipsoid(moved, packed.counts, packed.radii, half)
    return found
