"""Loop equations and rates. Arrays in, arrays out; SI; float64, C-contiguous; asserted in the wrappers below.

One equation serves every linkage with one rod: the rod keeps its length, F = |B(q) - A(u)|^2 - l^2 = 0. Solved for q it
is a cosine (turning joint) or a square root (slide), each with two branches; its rates follow from F itself:

    q'  = -F_u / F_q                     q'' = -(F_uu + 2 F_uq q' + F_qq q'^2) / F_q

(implicit differentiation of the closure; Norton, *Design of Machinery*, does the same link by link).
"""

from __future__ import annotations

import math

import numpy as np

from marotte.basis.compiled import compiled
from marotte.basis.contracts.common import F64
from marotte.mech.joints import SLIDE, place

POSITION, RATE, BEND, SIN_NEAR, SIN_FAR, CONE_NEAR, CONE_FAR, REACH = range(8)
"""Rows of what ``follow`` returns: variable at the far joint, its rate and bend; sine of the angle that the rod makes
with the arm of the near and of the far joint (1 is square); sine of the rod's lean out of each joint's plane; and how
far the closure is from its end of reach (0 in line, below 0 out of reach: the other rows are then zero)."""


@compiled()
def _follow(v: F64, near: F64, far: F64, rod: float, sign: float, start: float, out: F64) -> None:  # pragma: no cover
    """Fill (8, m). ``start`` is where the far joint's angle is about at the first sample, so that it does not wrap."""
    turn_near, turn_far = near[0] == 0.0, far[0] == 0.0
    before = start
    n0, n1, n2 = 0.0, 0.0, 0.0
    if turn_near:
        n0 = near[5] * near[9] - near[6] * near[8]
        n1 = near[6] * near[7] - near[4] * near[9]
        n2 = near[4] * near[8] - near[5] * near[7]
        size = math.sqrt(n0 * n0 + n1 * n1 + n2 * n2)
        n0, n1, n2 = n0 / size, n1 / size, n2 / size
    f0, f1, f2 = 0.0, 0.0, 0.0
    if turn_far:
        f0 = far[5] * far[9] - far[6] * far[8]
        f1 = far[6] * far[7] - far[4] * far[9]
        f2 = far[4] * far[8] - far[5] * far[7]
        size = math.sqrt(f0 * f0 + f1 * f1 + f2 * f2)
        f0, f1, f2 = f0 / size, f1 / size, f2 / size
    for i in range(v.size):
        # the near end, its tangent and its curvature
        if turn_near:
            c, s = math.cos(v[i]), math.sin(v[i])
            t0 = c * near[7] - s * near[4]
            t1 = c * near[8] - s * near[5]
            t2 = c * near[9] - s * near[6]
            k0 = -(c * near[4] + s * near[7])
            k1 = -(c * near[5] + s * near[8])
            k2 = -(c * near[6] + s * near[9])
            a0, a1, a2 = near[1] - k0, near[2] - k1, near[3] - k2
        else:
            t0, t1, t2 = near[4], near[5], near[6]
            k0, k1, k2 = 0.0, 0.0, 0.0
            a0, a1, a2 = near[1] + v[i] * t0, near[2] + v[i] * t1, near[3] + v[i] * t2
        # the far end on its circle or line
        d0, d1, d2 = a0 - far[1], a1 - far[2], a2 - far[3]
        dd = d0 * d0 + d1 * d1 + d2 * d2
        da = d0 * far[4] + d1 * far[5] + d2 * far[6]
        if turn_far:
            arm2 = far[4] ** 2 + far[5] ** 2 + far[6] ** 2
            db = d0 * far[7] + d1 * far[8] + d2 * far[9]
            wide = math.sqrt(da * da + db * db)
            want = 0.5 * (arm2 + dd - rod * rod)
            if wide <= abs(want) or wide == 0.0:
                out[:, i] = 0.0
                out[REACH, i] = -1.0 if wide == 0.0 else 1.0 - abs(want) / wide
                if wide == abs(want):
                    out[REACH, i] = -1e-300
                continue
            q = math.atan2(db, da) + sign * math.acos(want / wide)
            q -= 2.0 * math.pi * round((q - before) / (2.0 * math.pi))
            before = q
            out[REACH, i] = 1.0 - abs(want) / wide
            c, s = math.cos(q), math.sin(q)
            p0 = c * far[7] - s * far[4]
            p1 = c * far[8] - s * far[5]
            p2 = c * far[9] - s * far[6]
            h0 = -(c * far[4] + s * far[7])
            h1 = -(c * far[5] + s * far[8])
            h2 = -(c * far[6] + s * far[9])
            b0, b1, b2 = far[1] - h0, far[2] - h1, far[3] - h2
        else:
            under = da * da - dd + rod * rod
            if under <= 0.0:
                out[:, i] = 0.0
                out[REACH, i] = under / (rod * rod) - 1e-300
                continue
            q = da + sign * math.sqrt(under)
            out[REACH, i] = math.sqrt(under) / rod
            p0, p1, p2 = far[4], far[5], far[6]
            h0, h1, h2 = 0.0, 0.0, 0.0
            b0, b1, b2 = far[1] + q * p0, far[2] + q * p1, far[3] + q * p2
        # rod from near to far, and the derivatives of F / 2
        e0, e1, e2 = b0 - a0, b1 - a1, b2 - a2
        fu = -(e0 * t0 + e1 * t1 + e2 * t2)
        fq = e0 * p0 + e1 * p1 + e2 * p2
        tt = t0 * t0 + t1 * t1 + t2 * t2
        pp = p0 * p0 + p1 * p1 + p2 * p2
        tp = t0 * p0 + t1 * p1 + t2 * p2
        out[POSITION, i] = q
        out[SIN_NEAR, i] = abs(fu) / (rod * math.sqrt(tt))
        out[SIN_FAR, i] = abs(fq) / (rod * math.sqrt(pp))
        out[CONE_NEAR, i] = (e0 * n0 + e1 * n1 + e2 * n2) / rod
        out[CONE_FAR, i] = (e0 * f0 + e1 * f1 + e2 * f2) / rod
        if fq == 0.0:
            out[RATE, i] = 0.0
            out[BEND, i] = 0.0
            out[REACH, i] = -1e-300
            continue
        rate = -fu / fq
        fuu = tt - (e0 * k0 + e1 * k1 + e2 * k2)
        fqq = pp + (e0 * h0 + e1 * h1 + e2 * h2)
        out[RATE, i] = rate
        out[BEND, i] = -(fuu - 2.0 * tp * rate + fqq * rate * rate) / fq


def follow(v: F64, near: F64, far: F64, rod: float, sign: float, start: float = 0.0) -> F64:
    """Return (8, m) of the far joint for the near joint's values (m,), on one branch (sign +1 or -1)."""
    grid = np.ascontiguousarray(v, dtype=np.float64)
    out = np.empty((8, grid.size))
    _follow(grid, near, far, float(rod), float(sign), float(start), out)
    return out


def branch_sign(near: F64, far: F64, v: float, q: float) -> float:
    """Return the branch (+1 or -1) of ``follow`` on which near variable v goes with far variable q."""
    d = place(near, v) - far[1:4]
    if far[0] == SLIDE:
        return 1.0 if q >= float(d @ far[4:7]) else -1.0
    middle = math.atan2(float(d @ far[7:10]), float(d @ far[4:7]))
    return 1.0 if math.sin(q - middle) >= 0.0 else -1.0
