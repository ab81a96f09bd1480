"""Distances and overlaps of convex solids. Arrays in, numbers out; wrapped by solids.py.

A solid is the convex hull of up to ``MOST`` points, rounded by a radius: a ball is one point, a capsule two, a box eight. Distance of
two that are apart: Gilbert, Johnson, Keerthi 1988 on the points. Depth of two that overlap: the least over the face normals and
the crosses of edges (separating axes), plus both radii; exact for polytopes and their rounded forms.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from marotte.basis.compiled import compiled
from marotte.basis.contracts.common import F64, I64

MOST: Final = 16
"""Points, and directions of each sort, of one solid at most."""
STEPS: Final = 48
TINY: Final = 1e-9
"""Metres under which two solids touch."""


@compiled()
def _nearest(s: F64, n: int, out: F64, keep: I64) -> float:
    """Write the point of a simplex s (n, 3) nearest to the origin into ``out``, the vertices it rests on into ``keep``."""
    best = np.inf
    l1 = np.zeros(4)
    for mask in range(1, 1 << n):
        k = 0
        idx = np.zeros(4, dtype=np.int64)
        for i in range(n):
            if mask >> i & 1:
                idx[k] = i
                k += 1
        a = s[idx[0]]
        ok = True
        if k == 1:
            l1[0] = 1.0
        elif k == 2:
            d = s[idx[1]] - a
            dd = d[0] * d[0] + d[1] * d[1] + d[2] * d[2]
            if dd < 1e-24:
                continue
            t = -(a[0] * d[0] + a[1] * d[1] + a[2] * d[2]) / dd
            l1[0], l1[1] = 1.0 - t, t
        elif k == 3:
            u = s[idx[1]] - a
            v = s[idx[2]] - a
            uu, vv, uv = np.dot(u, u), np.dot(v, v), np.dot(u, v)
            det = uu * vv - uv * uv
            if det < 1e-14 * uu * vv or det == 0.0:
                continue
            au, av = -np.dot(a, u), -np.dot(a, v)
            l1[1] = (au * vv - av * uv) / det
            l1[2] = (av * uu - au * uv) / det
            l1[0] = 1.0 - l1[1] - l1[2]
        else:
            u = s[idx[1]] - a
            v = s[idx[2]] - a
            w = s[idx[3]] - a
            c = np.cross(v, w)
            det = np.dot(u, c)
            if abs(det) < 1e-12 * math.sqrt(np.dot(u, u) * np.dot(v, v) * np.dot(w, w)) or det == 0.0:
                continue
            l1[1] = -np.dot(a, c) / det
            l1[2] = -np.dot(u, np.cross(a, w)) / det
            l1[3] = -np.dot(u, np.cross(v, a)) / det
            l1[0] = 1.0 - l1[1] - l1[2] - l1[3]
        x = y = z = 0.0
        for i in range(k):
            if l1[i] < 0.0:
                ok = False
                break
            p = s[idx[i]]
            x += l1[i] * p[0]
            y += l1[i] * p[1]
            z += l1[i] * p[2]
        if not ok:
            continue
        size = x * x + y * y + z * z
        if size < best:
            best = size
            out[0], out[1], out[2] = x, y, z
            for i in range(n):
                keep[i] = mask >> i & 1
    return best


@compiled()
def _apart(p: F64, n: int, q: F64, m: int, v: F64) -> float:
    """Return the distance of two hulls p (n, 3) and q (m, 3), and write the shortest way from q to p into v (3,)."""
    s = np.zeros((4, 3))
    keep = np.zeros(4, dtype=np.int64)
    v[:] = p[0] - q[0]
    size = 0
    for _ in range(STEPS):
        vv = v[0] * v[0] + v[1] * v[1] + v[2] * v[2]
        if vv < TINY * TINY:
            return 0.0
        i, j = 0, 0
        least, most = np.inf, -np.inf
        for a in range(n):
            x = v[0] * p[a, 0] + v[1] * p[a, 1] + v[2] * p[a, 2]
            if x < least:
                least, i = x, a
        for b in range(m):
            x = v[0] * q[b, 0] + v[1] * q[b, 1] + v[2] * q[b, 2]
            if x > most:
                most, j = x, b
        if vv - (least - most) <= 1e-12 * vv:
            return math.sqrt(vv)
        known = False
        for c in range(size):
            if (
                abs(s[c, 0] - (p[i, 0] - q[j, 0])) < 1e-14
                and abs(s[c, 1] - (p[i, 1] - q[j, 1])) < 1e-14
                and abs(s[c, 2] - (p[i, 2] - q[j, 2])) < 1e-14
            ):
                known = True
        if known:
            return math.sqrt(vv)
        s[size] = p[i] - q[j]
        size += 1
        _nearest(s, size, v, keep)
        if size == 4 and keep[0] + keep[1] + keep[2] + keep[3] == 4:
            return 0.0
        k = 0
        for c in range(size):
            if keep[c]:
                s[k] = s[c]
                k += 1
        size = k
    return math.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2])


@compiled()
def _overlap(p: F64, n: int, q: F64, m: int, d: F64, best: float, normal: F64) -> float:
    """Return the lesser of ``best`` and the overlap of two hulls along a direction d; its unit is kept in ``normal``."""
    size = math.sqrt(d[0] * d[0] + d[1] * d[1] + d[2] * d[2])
    if size < 1e-9:
        return best
    lo_p = lo_q = np.inf
    hi_p = hi_q = -np.inf
    for a in range(n):
        x = (d[0] * p[a, 0] + d[1] * p[a, 1] + d[2] * p[a, 2]) / size
        lo_p, hi_p = min(lo_p, x), max(hi_p, x)
    for b in range(m):
        x = (d[0] * q[b, 0] + d[1] * q[b, 1] + d[2] * q[b, 2]) / size
        lo_q, hi_q = min(lo_q, x), max(hi_q, x)
    up, down = hi_q - lo_p, hi_p - lo_q
    if min(up, down) < best:
        best = min(up, down)
        sign = 1.0 if up < down else -1.0
        for k in range(3):
            normal[k] = sign * d[k] / size
    return best


@compiled()
def gap(
    p: F64, n: int, rp: float, np_: F64, ep: F64, q: F64, m: int, rq: float, nq: F64, eq: F64, normal: F64
) -> float:
    """Return the gap of two solids [m], below zero the depth of their overlap; ``normal`` gets the way that frees the first.

    p (MOST, 3) with n points, radius rp, face normals np_ (k, 3) and edges ep (k, 3); the other likewise. Normals and edges may have rows
    of zeros.
    """
    far = _apart(p, n, q, m, normal)
    if far > TINY:
        for k in range(3):
            normal[k] /= far
        return far - rp - rq
    best = np.inf
    for i in range(np_.shape[0]):
        best = _overlap(p, n, q, m, np_[i], best, normal)
    for j in range(nq.shape[0]):
        best = _overlap(p, n, q, m, nq[j], best, normal)
    for i in range(ep.shape[0]):
        for j in range(eq.shape[0]):
            best = _overlap(p, n, q, m, np.cross(ep[i], eq[j]), best, normal)
    if best == np.inf:  # lines that lie in one line, or points: any way square to the line frees as soon as any other
        best = 0.0
        x = y = z = 0.0
        for i in range(ep.shape[0]):
            if abs(ep[i, 0]) + abs(ep[i, 1]) + abs(ep[i, 2]) > abs(x) + abs(y) + abs(z):
                x, y, z = ep[i, 0], ep[i, 1], ep[i, 2]
        for j in range(eq.shape[0]):
            if abs(eq[j, 0]) + abs(eq[j, 1]) + abs(eq[j, 2]) > abs(x) + abs(y) + abs(z):
                x, y, z = eq[j, 0], eq[j, 1], eq[j, 2]
        if abs(x) <= abs(y) and abs(x) <= abs(z):
            normal[0], normal[1], normal[2] = 0.0, -z, y
        elif abs(y) <= abs(z):
            normal[0], normal[1], normal[2] = z, 0.0, -x
        else:
            normal[0], normal[1], normal[2] = -y, x, 0.0
        size = math.sqrt(normal[0] ** 2 + normal[1] ** 2 + normal[2] ** 2)
        if size == 0.0:
            normal[1] = size = 1.0
        for k in range(3):
            normal[k] /= size
    return -(best + rp + rq)


@compiled()
def gaps(
    points: F64, counts: I64, radii: F64, normals: F64, edges: F64, centres: F64, bounds: F64, pairs: I64, reach: float
) -> F64:
    """Return (pairs, 4): the gap of each pair of solids [m] and the way that frees the first; ``reach`` where they are farther.

    points (s, MOST, 3), counts (s,), radii (s,), normals and edges (s, k, 3), centres (s, 3) and bounds (s,) of balls round each,
    pairs (n, 2).
    """
    out = np.zeros((pairs.shape[0], 4))
    normal = np.zeros(3)
    for k in range(pairs.shape[0]):
        i, j = pairs[k, 0], pairs[k, 1]
        d = centres[i] - centres[j]
        if math.sqrt(d[0] * d[0] + d[1] * d[1] + d[2] * d[2]) - bounds[i] - bounds[j] > reach:
            out[k, 0] = reach
            continue
        out[k, 0] = gap(
            points[i],
            counts[i],
            radii[i],
            normals[i],
            edges[i],
            points[j],
            counts[j],
            radii[j],
            normals[j],
            edges[j],
            normal,
        )
        out[k, 1:] = normal
    return out


def checked(*arrays: F64 | I64) -> None:
    """Hold what goes into a kernel to one dtype and layout.

    Raises:
        ValueError: an array is not contiguous, or of another dtype.
    """
    for array in arrays:
        if not array.flags.c_contiguous or array.dtype not in (np.float64, np.int64):
            raise ValueError("a kernel takes contiguous float64 or int64 arrays")
