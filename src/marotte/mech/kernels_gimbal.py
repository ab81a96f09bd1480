"""Closure and rates of two rods on one eye. Arrays in, arrays out; SI; float64.

The eye turns by t about y, then lifts by s about its own, turned x axis: B = Ry(t) Rx(-s) p for a ball at p from the
eye's centre, so that its line of sight is (sin t cos s, sin s, cos t cos s). Each horn's ball runs on a circle,
A = c + r (cos(theta + u) z + sin(theta + u) y). Each rod keeps its length: F = (|B - A|^2 - l^2) / 2 = 0.
"""

from __future__ import annotations

import math

import numpy as np

from marotte.basis.compiled import compiled
from marotte.basis.contracts.common import F64

ROWS = 13
"""Position (2), rate (2, 2), bend (2, 2), sine of the worst angle, play per slop (2)."""


@compiled()
def _node(u0: float, u1: float, g: F64, t: float, s: float, out: F64) -> bool:  # pragma: no cover
    """Solve one node by Newton from (t, s); fill out (13,), return whether it closes.

    ``g`` is (2, 9): ball p (3), horn centre c (3), horn radius, horn angle at u = 0, rod, for each rod.
    """
    b = np.empty((2, 6, 3))  # B and its derivatives t, s, tt, ts, ss
    e = np.empty((2, 3))
    a1 = np.empty((2, 3))
    a2 = np.empty((2, 3))
    m00, m01, m10, m11 = 1.0, 0.0, 0.0, 1.0
    done = False
    for turn in range(40):
        ct, st, cs, ss = math.cos(t), math.sin(t), math.cos(s), math.sin(s)
        f0, f1 = 0.0, 0.0
        for i in range(2):
            x, y, z = g[i, 0], g[i, 1] * cs + g[i, 2] * ss, g[i, 2] * cs - g[i, 1] * ss
            # (x, y, z) is lifted; its derivative by s is (0, z, -y), its second (0, -y, -z)
            b[i, 0, 0], b[i, 0, 1], b[i, 0, 2] = x * ct + z * st, y, z * ct - x * st
            b[i, 1, 0], b[i, 1, 1], b[i, 1, 2] = z * ct - x * st, 0.0, -x * ct - z * st
            b[i, 2, 0], b[i, 2, 1], b[i, 2, 2] = -y * st, z, -y * ct
            b[i, 3, 0], b[i, 3, 1], b[i, 3, 2] = -x * ct - z * st, 0.0, x * st - z * ct
            b[i, 4, 0], b[i, 4, 1], b[i, 4, 2] = -y * ct, 0.0, y * st
            b[i, 5, 0], b[i, 5, 1], b[i, 5, 2] = -z * st, -y, -z * ct
            angle = g[i, 7] + (u0 if i == 0 else u1)
            c, sn = g[i, 6] * math.cos(angle), g[i, 6] * math.sin(angle)
            e[i, 0] = b[i, 0, 0] - g[i, 3]
            e[i, 1] = b[i, 0, 1] - g[i, 4] - sn
            e[i, 2] = b[i, 0, 2] - g[i, 5] - c
            a1[i, 0], a1[i, 1], a1[i, 2] = 0.0, c, -sn
            a2[i, 0], a2[i, 1], a2[i, 2] = 0.0, -sn, -c
            f = 0.5 * (e[i, 0] ** 2 + e[i, 1] ** 2 + e[i, 2] ** 2 - g[i, 8] ** 2)
            mt = e[i, 0] * b[i, 1, 0] + e[i, 1] * b[i, 1, 1] + e[i, 2] * b[i, 1, 2]
            ms = e[i, 0] * b[i, 2, 0] + e[i, 1] * b[i, 2, 1] + e[i, 2] * b[i, 2, 2]
            if i == 0:
                f0, m00, m01 = f, mt, ms
            else:
                f1, m10, m11 = f, mt, ms
        if done:
            break
        det = m00 * m11 - m01 * m10
        if det == 0.0:
            return False
        dt = -(m11 * f0 - m01 * f1) / det
        ds = -(m00 * f1 - m10 * f0) / det
        size = max(abs(dt), abs(ds))
        if size > 0.3:  # far from the root: a bounded step
            dt, ds = dt * 0.3 / size, ds * 0.3 / size
        t, s = t + dt, s + ds
        if not abs(t) < 1.5 or not abs(s) < 1.5:
            return False
        done = size < 1e-7  # quadratic: the next residual is at rounding
        if turn == 38:
            return False
    det = m00 * m11 - m01 * m10
    if det == 0.0:
        return False
    i00, i01, i10, i11 = m11 / det, -m01 / det, -m10 / det, m00 / det
    out[0], out[1] = t, s
    worst = 1.0
    h = np.empty(2)
    for i in range(2):
        h[i] = -(e[i, 0] * a1[i, 0] + e[i, 1] * a1[i, 1] + e[i, 2] * a1[i, 2])
        worst = min(worst, abs(h[i]) / (g[i, 6] * g[i, 8]))
        ball = math.sqrt(g[i, 0] ** 2 + g[i, 1] ** 2 + g[i, 2] ** 2)
        mt, ms = (m00, m01) if i == 0 else (m10, m11)
        worst = min(worst, math.sqrt(mt * mt + ms * ms) / (g[i, 8] * ball))
    worst = min(worst, abs(det) / math.sqrt((m00 * m00 + m01 * m01) * (m10 * m10 + m11 * m11)))
    out[2], out[3] = -i00 * h[0], -i01 * h[1]
    out[4], out[5] = -i10 * h[0], -i11 * h[1]
    for j in range(2):  # second derivative along each input
        qt, qs = out[2 + j], out[4 + j]
        k0, k1 = 0.0, 0.0
        for i in range(2):
            ftt, fts, fss, ftu, fsu, fuu = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
            for d in range(3):
                ftt += b[i, 1, d] * b[i, 1, d] + e[i, d] * b[i, 3, d]
                fts += b[i, 1, d] * b[i, 2, d] + e[i, d] * b[i, 4, d]
                fss += b[i, 2, d] * b[i, 2, d] + e[i, d] * b[i, 5, d]
                ftu -= a1[i, d] * b[i, 1, d]
                fsu -= a1[i, d] * b[i, 2, d]
                fuu += a1[i, d] * a1[i, d] - e[i, d] * a2[i, d]
            k = ftt * qt * qt + 2.0 * fts * qt * qs + fss * qs * qs
            if i == j:
                k += 2.0 * (ftu * qt + fsu * qs) + fuu
            if i == 0:
                k0 = k
            else:
                k1 = k
        out[6 + j] = -(i00 * k0 + i01 * k1)
        out[8 + j] = -(i10 * k0 + i11 * k1)
    out[10] = worst
    out[11] = abs(i00) * g[0, 8] + abs(i01) * g[1, 8]
    out[12] = abs(i10) * g[0, 8] + abs(i11) * g[1, 8]
    return True


@compiled()
def _continue(out: F64, i: int, j: int, fi: int, fj: int, d0: float, d1: float) -> None:  # pragma: no cover
    """Continue a node in a straight line from its solved or continued neighbour."""
    for k in range(13):
        out[k, i, j] = out[k, fi, fj]
    out[0, i, j] += out[2, fi, fj] * d0 + out[3, fi, fj] * d1
    out[1, i, j] += out[4, fi, fj] * d0 + out[5, fi, fj] * d1
    for k in range(6, 10):
        out[k, i, j] = 0.0


@compiled()
def _sheet(
    u0: F64, u1: F64, g: F64, i0: int, j0: int, t: float, s: float, least: float, out: F64, ok: F64
) -> None:  # pragma: no cover
    """Fill out (13, m0, m1) and ok (m0, m1), from node (i0, j0) outwards: along its row, then row by row."""
    row = np.empty(13)
    m0, m1 = u0.size, u1.size
    for step in range(m0):
        # rows i0, i0 + 1, ..., m0 - 1, then i0 - 1, ..., 0
        i = i0 + step if step < m0 - i0 else m0 - 1 - step
        back = i - 1 if i > i0 else i + 1
        for side in range(m1):
            j = j0 + side if side < m1 - j0 else m1 - 1 - side
            if i == i0 and j == j0:
                fi, fj = i, j
                t0, s0 = t, s
            elif i == i0:
                fi, fj = i, (j - 1 if j > j0 else j + 1)
                t0 = out[0, fi, fj] + out[3, fi, fj] * (u1[j] - u1[fj])
                s0 = out[1, fi, fj] + out[5, fi, fj] * (u1[j] - u1[fj])
            else:
                fi, fj = back, j
                t0 = out[0, fi, fj] + out[2, fi, fj] * (u0[i] - u0[fi])
                s0 = out[1, fi, fj] + out[4, fi, fj] * (u0[i] - u0[fi])
            solved = ok[fi, fj] > 0.0 or (i == i0 and j == j0)
            if solved:
                solved = _node(u0[i], u1[j], g, t0, s0, row)
                # a jump to another branch is no solution, and an unsound place is not looked into
                solved = solved and row[10] >= least
                solved = solved and abs(row[0] - t0) < 0.35 and abs(row[1] - s0) < 0.35
            if solved:
                for k in range(13):
                    out[k, i, j] = row[k]
                ok[i, j] = 1.0
            else:
                ok[i, j] = 0.0
                if i == i0 and j == j0:
                    out[:, i, j] = 0.0
                else:
                    _continue(out, i, j, fi, fj, u0[i] - u0[fi], u1[j] - u1[fj])


@compiled()
def _needed(t: F64, s: F64, g: F64, sign: F64, out: F64) -> None:  # pragma: no cover
    """Fill (4, n): both inputs, sine of the worst angle, reach (below 0: cannot), for eye positions (n,)."""
    for k in range(t.size):
        ct, st, cs, ss = math.cos(t[k]), math.sin(t[k]), math.cos(s[k]), math.sin(s[k])
        out[2, k], out[3, k] = 1.0, 1.0
        m00, m01, m10, m11 = 1.0, 0.0, 0.0, 1.0
        for i in range(2):
            x, y, z = g[i, 0], g[i, 1] * cs + g[i, 2] * ss, g[i, 2] * cs - g[i, 1] * ss
            bx, by, bz = x * ct + z * st, y, z * ct - x * st
            d0, d1, d2 = bx - g[i, 3], by - g[i, 4], bz - g[i, 5]
            r = g[i, 6]
            wide = r * math.sqrt(d1 * d1 + d2 * d2)
            want = 0.5 * (r * r + d0 * d0 + d1 * d1 + d2 * d2 - g[i, 8] ** 2)
            reach = 1.0 - abs(want) / wide if wide > 0.0 else -1.0
            out[3, k] = min(out[3, k], reach)
            if reach <= 0.0:
                out[i, k] = 0.0
                out[2, k] = 0.0
                continue
            angle = math.atan2(d1, d2) + sign[i] * math.acos(want / wide)
            u = angle - g[i, 7]
            out[i, k] = u - 2.0 * math.pi * round(u / (2.0 * math.pi))
            c, sn = r * math.cos(angle), r * math.sin(angle)
            e0, e1, e2 = d0, d1 - sn, d2 - c
            mt = e0 * (z * ct - x * st) - e2 * (x * ct + z * st)
            ms = -e0 * y * st + e1 * z - e2 * y * ct
            if i == 0:
                m00, m01 = mt, ms
            else:
                m10, m11 = mt, ms
            ball = math.sqrt(g[i, 0] ** 2 + g[i, 1] ** 2 + g[i, 2] ** 2)
            out[2, k] = min(
                out[2, k], abs(e1 * c - e2 * sn) / (r * g[i, 8]), math.sqrt(mt * mt + ms * ms) / (g[i, 8] * ball)
            )
        norm = math.sqrt((m00 * m00 + m01 * m01) * (m10 * m10 + m11 * m11))
        out[2, k] = min(out[2, k], abs(m00 * m11 - m01 * m10) / norm if norm > 0.0 else 0.0)


def needed(turn: F64, lift: F64, rods: F64, sign: F64) -> F64:
    """Return (4, n): both inputs [rad], sine of the worst angle, reach, for eye positions (n,) [rad]."""
    t, s = np.ascontiguousarray(turn, dtype=np.float64), np.ascontiguousarray(lift, dtype=np.float64)
    out = np.empty((4, t.size))
    _needed(t, s, np.ascontiguousarray(rods), np.ascontiguousarray(sign), out)
    return out


def sheet(
    u0: F64, u1: F64, rods: F64, start: tuple[int, int], at: tuple[float, float], least: float
) -> tuple[F64, F64]:
    """Return (13, m0, m1) of all nodes and which of them are sound (m0, m1), from one known node outwards.

    A node that does not close, or where the sine of the worst angle is under ``least``, continues its neighbour in a
    straight line.
    """
    out = np.zeros((ROWS, u0.size, u1.size))
    ok = np.zeros((u0.size, u1.size))
    grid0, grid1 = np.ascontiguousarray(u0), np.ascontiguousarray(u1)
    _sheet(grid0, grid1, np.ascontiguousarray(rods), start[0], start[1], at[0], at[1], least, out, ok)
    return out, ok
