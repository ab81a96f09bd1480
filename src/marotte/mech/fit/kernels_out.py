"""How far solids reach out of a hollow: an ellipsoid, planes, a grid of distances. Arrays in, numbers out; wrapped by skull.py and solids.py."""

from __future__ import annotations

import math

import numpy as np

from marotte.basis.compiled import compiled
from marotte.basis.contracts.common import F64, I64


@compiled()
def ellipsoid_distance(x: float, y: float, z: float, a: float, b: float, c: float) -> float:
    """Return the distance [m] of a point from an ellipsoid's surface with half axes a, b, c; below zero inside.

    The nearest point has coordinates e^2 y / (e^2 + t), t the root of sum (e y / (e^2 + t))^2 = 1 (Eberly, *Distance from a Point to an
    Ellipse, an Ellipsoid, or a Hyperellipsoid*); by halving, 80 times.
    """
    least = min(a, min(b, c))
    # A point on a plane of symmetry may have its nearest point off that plane; a hair off the plane finds it.
    px, py, pz = max(abs(x), 1e-9 * a), max(abs(y), 1e-9 * b), max(abs(z), 1e-9 * c)
    low = -least * least * (1.0 - 1e-15)
    high = math.sqrt((a * px) ** 2 + (b * py) ** 2 + (c * pz) ** 2)
    for _ in range(80):
        t = 0.5 * (low + high)
        g = (a * px / (a * a + t)) ** 2 + (b * py / (b * b + t)) ** 2 + (c * pz / (c * c + t)) ** 2
        if g > 1.0:
            low = t
        else:
            high = t
    t = 0.5 * (low + high)
    dx, dy, dz = px - a * a * px / (a * a + t), py - b * b * py / (b * b + t), pz - c * c * pz / (c * c + t)
    far = math.sqrt(dx * dx + dy * dy + dz * dz)
    inside = (x / a) ** 2 + (y / b) ** 2 + (z / c) ** 2 <= 1.0
    return -far if inside else far


@compiled()
def out_of_ellipsoid(points: F64, counts: I64, radii: F64, half: F64) -> F64:
    """Return (s,) how far each solid reaches out of an ellipsoid about the origin [m]; below zero it stays that far inside.

    The distance from a convex body is a convex function, so the farthest point of a hull is one of its points.
    """
    out = np.empty(points.shape[0])
    for s in range(points.shape[0]):
        most = -np.inf
        for k in range(counts[s]):
            p = points[s, k]
            most = max(most, ellipsoid_distance(p[0], p[1], p[2], half[0], half[1], half[2]))
        out[s] = most + radii[s]
    return out


@compiled()
def out_of_planes(points: F64, counts: I64, radii: F64, planes: F64) -> F64:
    """Return (s,) how far each solid reaches out of a convex body [m]; planes (k, 4): unit outward normal, distance."""
    out = np.empty(points.shape[0])
    for s in range(points.shape[0]):
        most = -np.inf
        for k in range(counts[s]):
            p = points[s, k]
            for f in range(planes.shape[0]):
                most = max(most, planes[f, 0] * p[0] + planes[f, 1] * p[1] + planes[f, 2] * p[2] - planes[f, 3])
        out[s] = most + radii[s]
    return out


@compiled()
def grid_value(grid: F64, corner: F64, step: float, x: float, y: float, z: float) -> float:
    """Return a grid's value between its nodes; beyond it the value at its border and the way there."""
    u = np.empty(3)
    u[0], u[1], u[2] = (x - corner[0]) / step, (y - corner[1]) / step, (z - corner[2]) / step
    beyond = 0.0
    for k in range(3):
        top = grid.shape[k] - 1.000001
        inside = min(max(u[k], 0.0), top)
        beyond += (u[k] - inside) ** 2
        u[k] = inside
    i, j, k = int(u[0]), int(u[1]), int(u[2])
    a, b, c = u[0] - i, u[1] - j, u[2] - k
    value = 0.0
    for p in range(2):
        for q in range(2):
            for r in range(2):
                share = (a if p else 1.0 - a) * (b if q else 1.0 - b) * (c if r else 1.0 - c)
                value += share * grid[i + p, j + q, k + r]
    return value + step * math.sqrt(beyond)


@compiled()
def grid_values(grid: F64, corner: F64, step: float, points: F64) -> F64:
    """Return (n,) the grid's values at points (n, 3)."""
    out = np.empty(points.shape[0])
    for k in range(points.shape[0]):
        out[k] = grid_value(grid, corner, step, points[k, 0], points[k, 1], points[k, 2])
    return out


@compiled()
def out_of_grid(points: F64, counts: I64, radii: F64, grid: F64, corner: F64, step: float) -> F64:
    """Return (s,) how far each solid reaches out of a body given as distances on a grid [m].

    The body need not be convex, so the middles between all pairs of a hull's points are looked at as well.
    """
    out = np.empty(points.shape[0])
    for s in range(points.shape[0]):
        most = -np.inf
        for k in range(counts[s]):
            for m in range(k + 1):
                p = 0.5 * (points[s, k] + points[s, m])
                most = max(most, grid_value(grid, corner, step, p[0], p[1], p[2]))
        out[s] = most + radii[s]
    return out
