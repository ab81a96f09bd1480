"""The search for a free place. Arrays in, numbers out; wrapped by placement.py."""

from __future__ import annotations

import math

import numpy as np

from marotte.basis.compiled import compiled
from marotte.basis.contracts.common import F64, I64, Bool
from marotte.mech.fit.kernels import gap


@compiled()
def boxes_in_ellipsoid(nodes: F64, corners: F64, centre: F64, half: F64) -> F64:
    """Return (n, f) 1 where a box about a node (n, 3) with corners (f, 8, 3) lies in an ellipsoid with a centre and half axes (3,)."""
    out = np.ones((nodes.shape[0], corners.shape[0]))
    for n in range(nodes.shape[0]):
        for f in range(corners.shape[0]):
            for c in range(corners.shape[1]):
                x = (nodes[n, 0] + corners[f, c, 0] - centre[0]) / half[0]
                y = (nodes[n, 1] + corners[f, c, 1] - centre[1]) / half[1]
                z = (nodes[n, 2] + corners[f, c, 2] - centre[2]) / half[2]
                if x * x + y * y + z * z > 1.0:
                    out[n, f] = 0.0
                    break
    return out


@compiled()
def _boxes_clear(ax: float, ay: float, az: float, af: F64, ah: F64, bc: F64, bf: F64, bh: F64) -> bool:
    """Return whether a direction parts two boxes: centres, frames (3, 3) of rows, half sides (3,). Gottschalk's fifteen."""
    tx, ty, tz = bc[0] - ax, bc[1] - ay, bc[2] - az
    t = (
        tx * af[0, 0] + ty * af[0, 1] + tz * af[0, 2],
        tx * af[1, 0] + ty * af[1, 1] + tz * af[1, 2],
        tx * af[2, 0] + ty * af[2, 1] + tz * af[2, 2],
    )
    r = np.empty((3, 3))
    for i in range(3):
        for j in range(3):
            r[i, j] = af[i, 0] * bf[j, 0] + af[i, 1] * bf[j, 1] + af[i, 2] * bf[j, 2]
    for i in range(3):
        if abs(t[i]) > ah[i] + bh[0] * abs(r[i, 0]) + bh[1] * abs(r[i, 1]) + bh[2] * abs(r[i, 2]):
            return True
    for j in range(3):
        far = abs(t[0] * r[0, j] + t[1] * r[1, j] + t[2] * r[2, j])
        if far > bh[j] + ah[0] * abs(r[0, j]) + ah[1] * abs(r[1, j]) + ah[2] * abs(r[2, j]):
            return True
    for i in range(3):
        i1, i2 = (i + 1) % 3, (i + 2) % 3
        for j in range(3):
            j1, j2 = (j + 1) % 3, (j + 2) % 3
            far = abs(t[i2] * r[i1, j] - t[i1] * r[i2, j])
            reach = ah[i1] * abs(r[i2, j]) + ah[i2] * abs(r[i1, j]) + bh[j1] * abs(r[i, j2]) + bh[j2] * abs(r[i, j1])
            if far > reach + 1e-12:
                return True
    return False


@compiled()
def first_free(
    start: int, order: I64, nodes: F64, frames: F64, half: F64, keep: float,
    many_solids: int, centres: F64, bounds: F64, box_frames: F64, box_halves: F64, balls: F64,
) -> int:  # fmt: skip
    """Return the first place in an order, from ``start`` on, at which a box is inside and clear of everything; -1 where none is.

    order (k,): node * frames + frame; nodes (n, 3); frames (f, 3, 3) and half sides (3,) of the box, which ``keep`` is added to.
    What stands: ``many_solids`` boxes that hold each solid, or balls where their radius is above zero; a little on the safe side.
    """
    many = frames.shape[0]
    grown = half + keep
    bound = math.sqrt(grown[0] ** 2 + grown[1] ** 2 + grown[2] ** 2)
    inner = min(half[0], min(half[1], half[2]))
    for at in range(start, order.shape[0]):
        n, f = order[at] // many, order[at] % many
        x, y, z = nodes[n, 0], nodes[n, 1], nodes[n, 2]
        free = True
        for s in range(many_solids):
            dx, dy, dz = centres[s, 0] - x, centres[s, 1] - y, centres[s, 2] - z
            far = math.sqrt(dx * dx + dy * dy + dz * dz)
            if far >= bound + bounds[s]:
                continue
            if far < inner:
                free = False
                break
            if balls[s] > 0.0:
                gone = 0.0
                for i in range(3):
                    local = abs(dx * frames[f, i, 0] + dy * frames[f, i, 1] + dz * frames[f, i, 2]) - half[i]
                    if local > 0.0:
                        gone += local * local
                if math.sqrt(gone) < balls[s] + keep:
                    free = False
                    break
            elif not _boxes_clear(x, y, z, frames[f], grown, centres[s], box_frames[s], box_halves[s]):
                free = False
                break
        if free:
            return at
    return -1


@compiled()
def all_clear(
    keep: float, many_solids: int, tags: I64, passes: Bool,
    own_points: F64, own_counts: I64, own_radii: F64, own_normals: F64, own_edges: F64, own_centres: F64, own_bounds: F64,
    points: F64, counts: I64, radii: F64, normals: F64, edges: F64, centres: F64, bounds: F64,
) -> bool:  # fmt: skip
    """Return whether a servo's solids (body, horn, rod) keep clear of what stands; its rod may pass the kinds that ``passes`` says."""
    normal = np.zeros(3)
    for i in range(own_counts.shape[0]):
        for s in range(many_solids):
            if i == 2 and passes[tags[s]]:
                continue
            d = own_centres[i] - centres[s]
            if math.sqrt(d[0] * d[0] + d[1] * d[1] + d[2] * d[2]) - own_bounds[i] - bounds[s] >= keep:
                continue
            g = gap(
                own_points[i], own_counts[i], own_radii[i], own_normals[i], own_edges[i],
                points[s], counts[s], radii[s], normals[s], edges[s], normal,
            )  # fmt: skip
            if g < keep:
                return False
    return True
