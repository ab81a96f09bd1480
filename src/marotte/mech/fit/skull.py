"""The inside of the skull, and how far a solid reaches out of it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from marotte.basis.contracts.common import F64, Bool, Unknown, f64
from marotte.basis.digest import kept_digest
from marotte.basis.frames import Vec
from marotte.creature.schema.build import Skull
from marotte.mech.fit.kernels_out import grid_values, out_of_grid, out_of_planes
from marotte.mech.fit.kernels_place import boxes_in_ellipsoid
from marotte.mech.fit.meshes import Hollow
from marotte.mech.fit.solids import Pack, out_of

PACE = 0.5e-3
"""Steps on a way out of a mesh [m]."""


@dataclass(frozen=True, slots=True)
class Shell:
    """The inside of a skull."""

    says: str
    volume: float
    """[m3]"""
    centre: Vec
    shape: Vec
    """Whole width, height and depth [m]."""
    planes: F64 | None = None
    """(k, 4) of a convex one: unit outward normal, distance from the origin [m]."""
    grid: F64 | None = None
    """Of any other: distance from the surface [m] on a grid, below zero inside."""
    corner: Vec = (0.0, 0.0, 0.0)
    """First node of the grid [m]."""
    step: float = 0.0
    """Between nodes of the grid [m]."""
    _digest: list[bytes] = field(default_factory=list, init=False, compare=False, repr=False)

    def __digest__(self) -> bytes:
        return kept_digest(self, self._digest)

    def reaches_out(self, packed: Pack) -> F64:
        """Return (s,) how far each solid reaches out [m]; below zero it stays that far inside."""
        if self.planes is not None:
            found: F64 = out_of_planes(packed.points, packed.counts, packed.radii, self.planes)
            return found
        if self.grid is not None:
            corner = np.array(self.corner)
            found = out_of_grid(packed.points, packed.counts, packed.radii, self.grid, corner, self.step)
            return np.asarray(found)
        return out_of(packed, self.centre, f64(0.5 * np.array(self.shape)))

    def holds(self, points: F64, keep: float) -> Bool:
        """Return (...) whether points (..., 3) lie inside by at least ``keep`` [m]; of an ellipsoid a little on the safe side."""
        if self.planes is not None:
            inside: Bool = (points @ self.planes[:, :3].T - self.planes[:, 3]).max(axis=-1) <= -keep
            return inside
        if self.grid is not None:
            flat = np.ascontiguousarray(points.reshape(-1, 3))
            values: F64 = grid_values(self.grid, np.array(self.corner), self.step, flat)
            return np.asarray(values.reshape(points.shape[:-1]) <= -keep)
        return np.asarray((((points - np.array(self.centre)) / self._shrunk(keep)) ** 2).sum(axis=-1) <= 1.0)

    def way_out(self, at: Vec, way: Vec) -> float:
        """Return how far it is from a point to the shell along a unit way [m]; 0 from a point outside. Of a grid, to half a millimetre."""
        start, along = np.array(at), np.array(way)
        if self.planes is not None:
            left = self.planes[:, 3] - self.planes[:, :3] @ start
            towards = self.planes[:, :3] @ along
            ahead = towards > 1e-9
            return float((left[ahead] / towards[ahead]).min()) if (left > 0.0).all() and ahead.any() else 0.0
        if self.grid is not None:
            steps = PACE * np.arange(int(2.0 * max(self.shape) / PACE))
            held = self.holds(start + steps[:, None] * along, 0.0)
            return PACE * float(np.argmin(held)) if held[0] and not held.all() else 0.0
        half = 0.5 * np.array(self.shape)
        p, d = (start - np.array(self.centre)) / half, along / half
        inner = 1.0 - float(p @ p)
        if inner <= 0.0:
            return 0.0
        a, b = float(d @ d), float(p @ d)
        return (math.sqrt(b * b + a * inner) - b) / a

    def _shrunk(self, keep: float) -> F64:
        """Return half axes of an ellipsoid shrunk as a whole so that it keeps at least ``keep`` from itself.

        Its support s h(u) is h(u) - keep h(u) / a with a the least half axis, and h(u) is nowhere less than a.
        """
        half = 0.5 * np.array(self.shape)
        return np.asarray(half * max(1.0 - keep / float(half.min()), 1e-9))

    def holds_boxes(self, nodes: F64, corners: F64, keep: float) -> F64:
        """Return (n, f) 1 where a box about a node (n, 3) with corners (f, 8, 3) lies inside by ``keep`` [m]."""
        if self.planes is None and self.grid is None:
            found: F64 = boxes_in_ellipsoid(nodes, corners, np.array(self.centre), self._shrunk(keep))
            return found
        return np.asarray(self.holds(nodes[:, None, None, :] + corners[None], keep).all(axis=2), dtype=np.float64)


def shell_of(skull: Skull | None, hollow: Hollow | Unknown | None) -> Shell | Unknown:
    """Return the inside of a skull: its mesh if there is one, else the ellipsoid of its width, height and depth."""
    if skull is None:
        return Unknown(why="no skull is written under build, so nothing can be fitted into it", wants=("/build/skull",))
    if isinstance(hollow, Unknown):
        return hollow
    if hollow is not None:
        return Shell(
            says=hollow.says, volume=hollow.volume, centre=hollow.centre, shape=hollow.shape, planes=hollow.planes,
            grid=hollow.grid, corner=hollow.corner, step=hollow.step,
        )  # fmt: skip
    if skull.shape is None:
        return Unknown(why="the skull has neither shape nor mesh", wants=("/build/skull/shape",))
    width, height, depth = skull.shape
    says = f"an ellipsoid of {width * 1e3:.0f} x {height * 1e3:.0f} x {depth * 1e3:.0f} mm inside"
    volume = math.pi / 6.0 * width * height * depth
    return Shell(says=says, volume=volume, centre=skull.centre, shape=skull.shape)
