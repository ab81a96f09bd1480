"""Reading tables: where an input stands, where its outputs are, and which input brings an output where it is asked."""

from __future__ import annotations

from numba import njit

from marotte.basis.contracts.common import F64, I64
from marotte.drive.plan import (
    DRIVE0,
    HELD,
    HI0,
    HI1,
    INV0,
    INV1,
    INV_LO,
    INV_M,
    INV_STEP,
    INV_TABLE,
    LAST,
    LO0,
    LO1,
    M0,
    M1,
    N_IN,
    N_OUT,
    OMEGA,
    OUT0,
    POSITION,
    RATE0,
    RATE1,
    SHIFT,
    T1_BASE,
    T2_BASE,
    TABLE,
    THETA,
    WEIGHT,
    WIDTH,
)  # fmt: skip


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def place(x: float, lo: float, inv: float, places: int) -> tuple[int, float]:
    """Return the place in a uniform grid below a value, and the share of the way to the next."""
    at = (x - lo) * inv
    k = min(max(int(at), 0), places - 2)
    return k, at - k


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def corner(t: F64, at: int, right: int, down: int, f: float, g: float) -> float:
    """Return one column of a two-input table between its four corners."""
    near = t[at] + g * (t[at + right] - t[at])
    far = t[at + down] + g * (t[at + down + right] - t[at + down])
    return float(near + f * (far - near))


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def between(rows: F64, row: int, at: float) -> float:
    """Return a series between its samples, held at its ends."""
    last = rows.shape[1] - 1
    if at <= 0.0:
        return float(rows[row, 0])
    if at >= last:
        return float(rows[row, last])
    k = int(at)
    return float(rows[row, k] + (at - k) * (rows[row, k + 1] - rows[row, k]))


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def outputs(
    first_mech: int, mech_f: F64, mech_i: I64, t: F64, drive: F64, out: F64, ahead: float, held_only: bool
) -> None:
    """Set positions and rates of the outputs of the mechs from one on, all or those that a skin holds, a time [s] ahead."""
    for m in range(first_mech, len(mech_f)):
        if held_only and mech_i[m, HELD] == 0:
            continue
        d, w, first = mech_i[m, DRIVE0], mech_i[m, WIDTH], mech_i[m, OUT0]
        k, f = place(
            drive[d >> SHIFT, THETA + (d & LAST)] + ahead * drive[d >> SHIFT, OMEGA + (d & LAST)],
            mech_f[m, LO0],
            mech_f[m, INV0],
            mech_i[m, M0],
        )
        if mech_i[m, N_IN] == 1:
            base = mech_i[m, TABLE] + k * w + T1_BASE
            for o in range(mech_i[m, N_OUT]):
                at = base + 2 * o
                out[first + o, POSITION] = t[at] + f * (t[at + w] - t[at])
                out[first + o, RATE0] = t[at + 1] + f * (t[at + w + 1] - t[at + 1])
            continue
        e = d + 1
        y = drive[e >> SHIFT, THETA + (e & LAST)] + ahead * drive[e >> SHIFT, OMEGA + (e & LAST)]
        j, g = place(y, mech_f[m, LO1], mech_f[m, INV1], mech_i[m, M1])
        down = mech_i[m, M1] * w
        base = mech_i[m, TABLE] + k * down + j * w + T2_BASE
        for o in range(mech_i[m, N_OUT]):
            out[first + o, POSITION] = corner(t, base + 3 * o, w, down, f, g)
            out[first + o, RATE0] = corner(t, base + 3 * o + 1, w, down, f, g)
            out[first + o, RATE1] = corner(t, base + 3 * o + 2, w, down, f, g)


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
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


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
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
