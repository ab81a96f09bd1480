"""Reading tables: where an input stands, where its outputs are, and which input brings an output where it is asked."""

from __future__ import annotations

import numpy as np

from marotte.basis.contracts.common import F32, F64, I64
from marotte.drive.compiled import inside, kernel
from marotte.drive.plan import (
    AT_LANE,
    BLOCK,
    FITS,
    HELD,
    HI0,
    HI1,
    INV,
    INV0,
    INV1,
    INV_LO,
    INV_M,
    INV_STEP,
    INV_TABLE,
    LANE0,
    LANE1,
    LANES,
    LO,
    LO0,
    LO1,
    M0,
    M1,
    N_OUT,
    NEXT,
    OMEGA,
    OUT0,
    PLACE,
    POSITION,
    POSITIONS,
    PULLED,
    RATE0,
    RATE1,
    ROW,
    ROW0,
    SHARE,
    T2_BASE,
    TABLE,
    THETA,
    TOP,
    WEIGHT,
    WIDTH,
)  # fmt: skip


@kernel
def place(x: float, lo: float, inv: float, places: int) -> tuple[int, float]:
    """Return the place in a uniform grid below a value, and the share of the way to the next."""
    at = (x - lo) * inv
    k = min(max(int(at), 0), places - 2)
    return k, at - k


@kernel
def corner(t: F64, at: int, right: int, down: int, f: float, g: float) -> float:
    """Return one column of a two-input table between its four corners."""
    near = t[at] + g * (t[at + right] - t[at])
    far = t[at + down] + g * (t[at + down + right] - t[at + down])
    return float(near + f * (far - near))


@kernel
def between(rows: F64, row: int, at: float) -> float:
    """Return a series between its samples, held at its ends."""
    last = rows.shape[1] - 1
    if at <= 0.0:
        return float(rows[row, 0])
    if at >= last:
        return float(rows[row, last])
    k = int(at)
    return float(rows[row, k] + (at - k) * (rows[row, k + 1] - rows[row, k]))


@inside
def set_place(drive: F64, i: int, ahead: float) -> None:
    """Set where the mech of lane i is in its table, a time [s] ahead, if it has one input; no skin pulls yet."""
    at = (drive[i + THETA] + ahead * drive[i + OMEGA] - drive[i + LO]) * drive[i + INV]
    top = drive[i + TOP]
    inside = at if at > 0.0 else 0.0
    inside = inside if inside < top else top
    k = float(np.int32(inside))
    drive[i + PLACE] = k
    drive[i + SHARE] = at - k
    drive[i + ROW] = drive[i + ROW0] + LANES * k
    drive[i + PULLED] = 0.0


@inside
def position(lane: int, start: int, step: int, t: F64, drive: F64) -> tuple[float, float]:
    """Return position and rate of an output of a one-input mech, at the place that ``set_place`` found.

    They begin at ``start`` in the table and are ``step`` numbers apart from place to place.
    """
    i, after = lane & FITS, step & FITS
    a = (start + np.int32(drive[i + PLACE]) * after) & FITS
    f = drive[i + SHARE]
    return t[a] + f * (t[a + after] - t[a]), t[a + 1] + f * (t[a + after + 1] - t[a + 1])


@kernel
def outputs_of_two(
    ones: int, mech_f: F64, mech_i: I64, t: F64, drive: F64, out: F64, ahead: float, held_only: bool
) -> None:
    """Set positions and rates of the outputs of the two-input mechs, all or those that a skin holds, a time [s] ahead."""
    for m in range(ones, len(mech_f)):
        if held_only and mech_i[m, HELD] == 0:
            continue
        d, e, w, first = mech_i[m, LANE0], mech_i[m, LANE1], mech_i[m, WIDTH], mech_i[m, OUT0]
        x, y = drive[d + THETA] + ahead * drive[d + OMEGA], drive[e + THETA] + ahead * drive[e + OMEGA]
        k, f = place(x, mech_f[m, LO0], mech_f[m, INV0], mech_i[m, M0])
        j, g = place(y, mech_f[m, LO1], mech_f[m, INV1], mech_i[m, M1])
        down = mech_i[m, M1] * w
        base = mech_i[m, TABLE] + k * down + j * w + T2_BASE
        for o in range(mech_i[m, N_OUT]):
            out[first + o, POSITION] = corner(t, base + 3 * o, w, down, f, g)
            out[first + o, RATE0] = corner(t, base + 3 * o + 1, w, down, f, g)
            out[first + o, RATE1] = corner(t, base + 3 * o + 2, w, down, f, g)


@inside
def reach(
    ones: int, wide: int, mech_f: F64, mech_i: I64, out_i: I64, t: F64, drive: F64, out: F64, to: F32 | F64, column: int
) -> None:
    """Put the positions of all outputs as they now are into a column of rows of outputs (single or double precision)."""
    for block in range(len(drive) // BLOCK):
        b = (block * BLOCK) & FITS
        for m in range(wide):
            set_place(drive, b + m, 0.0)
    if ones < len(mech_f):
        outputs_of_two(ones, mech_f, mech_i, t, drive, out, 0.0, False)
    for o in range(len(to)):
        if out_i[o, AT_LANE] >= 0:
            to[o, column] = position(out_i[o, AT_LANE], out_i[o, POSITIONS], out_i[o, NEXT], t, drive)[0]
        else:
            to[o, column] = out[o, POSITION]


@kernel
def invert_one(out_f: F64, out_i: I64, inverse: F64, first: int, outs: int, asked: F64, at: float) -> float:
    """Return the input that brings the outputs of a one-input mech where they are asked, by least squares over them."""
    wanted = 0.0
    for o in range(first, first + outs):
        last = out_i[o, INV_M] - 1
        x = min(max((between(asked, o, at) - out_f[o, INV_LO]) * out_f[o, INV_STEP], 0.0), float(last))
        k = min(int(x), last - 1)
        base = out_i[o, INV_TABLE] + k
        wanted += out_f[o, WEIGHT] * (inverse[base] + (x - k) * (inverse[base + 1] - inverse[base]))
    return wanted


@kernel
def invert_two(
    mech_f: F64, mech_i: I64, t: F64, m: int, want0: float, want1: float, a: float, b: float
) -> tuple[float, float]:
    """Return the inputs of a two-input mech for two wanted outputs: Newton on the table from inputs a and b."""
    m1, w = mech_i[m, M1], mech_i[m, WIDTH]
    down = m1 * w
    for _ in range(8):
        i, f = place(a, mech_f[m, LO0], mech_f[m, INV0], mech_i[m, M0])
        j, g = place(b, mech_f[m, LO1], mech_f[m, INV1], m1)
        base = mech_i[m, TABLE] + i * down + j * w + T2_BASE
        e0 = want0 - corner(t, base, w, down, f, g)
        e1 = want1 - corner(t, base + 3, w, down, f, g)
        if abs(e0) < 1e-7 and abs(e1) < 1e-7:
            break
        r00, r01 = corner(t, base + 1, w, down, f, g), corner(t, base + 2, w, down, f, g)
        r10, r11 = corner(t, base + 4, w, down, f, g), corner(t, base + 5, w, down, f, g)
        det = r00 * r11 - r01 * r10
        if abs(det) < 1e-9:
            break
        a = min(max(a + (r11 * e0 - r01 * e1) / det, mech_f[m, LO0]), mech_f[m, HI0])
        b = min(max(b + (r00 * e1 - r10 * e0) / det, mech_f[m, LO1]), mech_f[m, HI1])
    return a, b
