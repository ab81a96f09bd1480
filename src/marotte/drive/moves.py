"""Speeds and positions: one step of all mechs, one-input ones and two-input ones.

The midpoint rule: forces are taken half a step on, at the place that the old speed leads to, and the speed half way is
solved for (back-EMF, viscous friction, the speed term of the servo's loop). Second order, so that sums of current and
energy hold as well as positions. Dry friction is an impulse that cannot reverse motion; gear friction grows with the
current, and so is solved together with the speed.
"""

from __future__ import annotations

from numba import njit

from marotte.basis.contracts.common import F64, I64
from marotte.drive.lookup import corner, place
from marotte.drive.plan import (
    AMPS,
    BEND,
    BRAKE,
    DRIVE0,
    DRY,
    DUTY,
    FITS,
    GIVES,
    HELD,
    HI,
    HI0,
    HI1,
    INERTIA,
    INV0,
    INV1,
    INV_R,
    KE,
    LANES,
    LAST,
    LEVEL,
    LO,
    LO0,
    LO1,
    LOAD,
    LOSS_BACK,
    LOSS_ON,
    M0,
    M1,
    N_OUT,
    OMEGA,
    OUT0,
    POSITION,
    PULL,
    RATE0,
    RATE1,
    RUB,
    SEG0,
    SEG1,
    SHIFT,
    SLOPE,
    T1_BASE,
    T1_ROW,
    T2_BEND,
    T2_DRY,
    T2_GRAVITY,
    T2_MASS,
    T2_SPRING,
    T2_VISC,
    T_BEND,
    T_DRY,
    T_GX,
    T_GY,
    T_GZ,
    T_J,
    T_POSITION,
    T_RATE,
    T_SPRING,
    T_VISC,
    TABLE,
    THETA,
    VISC,
    VOLTS,
    WIDTH,
    WORLD,
    J,
)  # fmt: skip


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def gear_piece(gears: F64, first: int, stop: int, current: float) -> int:
    """Return the row of the gear friction that holds at a current."""
    k = first
    while k + 1 < stop and abs(current) > gears[k + 1, 0]:
        k += 1
    return k


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _stopped(theta: float, omega: float, lo: float, hi: float) -> tuple[float, float]:
    """Return position and speed kept inside the sound span; its ends are stops that give nothing back."""
    if theta < lo:
        return lo, max(omega, 0.0)
    if theta > hi:
        return hi, min(omega, 0.0)
    return theta, omega


@njit(inline="always", error_model="numpy", fastmath={"contract"})
def look_up(
    ones: int, drive_i: I64, gears: F64, lanes: F64, mech_f: F64, mech_i: I64, t: F64, drive: F64, out: F64, row: F64,
    gravity: F64, ahead: float,
) -> None:  # fmt: skip
    """Set load, inertia and frictions of the one-input mechs, which stand first, from their tables, a time [s] ahead.

    What skins hold is handed on to ``out``; what they pull is taken off the load later. gravity (2, 3); row is scratch.
    """
    for m in range(ones):
        block, lane = m >> SHIFT, m & LAST
        x = drive[block, THETA + lane] + ahead * drive[block, OMEGA + lane]
        k, f = place(x, mech_f[m, LO0], mech_f[m, INV0], mech_i[m, M0])
        width = mech_i[m, WIDTH]
        a = (mech_i[m, TABLE] + k * width) & FITS
        b = (a + width) & FITS
        for c in range(T1_ROW):  # all columns in one go: the compiler makes vectors of this
            row[c] = t[a + c] + f * (t[b + c] - t[a + c])
        frame = mech_i[m, WORLD] & 1
        drive[block, LOAD + lane] = -(
            row[T_GX] * gravity[frame, 0]
            + row[T_GY] * gravity[frame, 1]
            + row[T_GZ] * gravity[frame, 2]
            + row[T_SPRING]
        )
        drive[block, J + lane] = row[T_J]
        drive[block, BEND + lane] = row[T_BEND]
        drive[block, VISC + lane] = row[T_VISC]
        drive[block, DRY + lane] = row[T_DRY]
        if mech_i[m, HELD] != 0:
            first = mech_i[m, OUT0] & FITS
            out[first, POSITION] = row[T_POSITION]
            out[first, RATE0] = row[T_RATE]
            for o in range(1, mech_i[m, N_OUT]):
                at = T1_BASE + 2 * o
                out[first + o, POSITION] = t[a + at] + f * (t[b + at] - t[a + at])
                out[first + o, RATE0] = t[a + at + 1] + f * (t[b + at + 1] - t[a + at + 1])
        if drive_i[m, SEG1] - drive_i[m, SEG0] > 1:
            # a measured servo: the piece of its curve by the old speed, so that a steady run stands on its own piece
            was, duty, volts = drive[block, OMEGA + lane], drive[block, DUTY + lane], drive[block, VOLTS + lane]
            current = (duty * volts - lanes[block, KE + lane] * was) * lanes[block, INV_R + lane]
            piece = gear_piece(gears, drive_i[m, SEG0], drive_i[m, SEG1], current)
            drive[block, LEVEL + lane] = gears[piece, 1]
            drive[block, SLOPE + lane] = gears[piece, 2]


@njit(inline="always", error_model="numpy", fastmath={"contract"})
def pulled(ones: int, mech_i: I64, drive: F64, out: F64) -> None:
    """Take what the skins pull off the loads of the one-input mechs that they hold."""
    for m in range(ones):
        if mech_i[m, HELD] != 0:
            first = mech_i[m, OUT0] & FITS
            for o in range(first, first + mech_i[m, N_OUT]):
                drive[m >> SHIFT, LOAD + (m & LAST)] -= out[o, RATE0] * out[o, PULL]


@njit(inline="always", error_model="numpy", fastmath={"contract"})
def one_input(ones: int, lanes: F64, drive: F64, h: float) -> None:
    """Carry the one-input mechs over a step of h [s] by what ``look_up`` found."""
    per_h, twice = 1.0 / h, 2.0 / h
    for block in range(len(drive)):
        w, p = drive[block], lanes[block]
        for m in range(min(ones - block * LANES, LANES)):
            was, duty, volts, load = w[OMEGA + m], w[DUTY + m], w[VOLTS + m], w[LOAD + m]
            inv_r = p[INV_R + m]
            brake = p[BRAKE + m] if abs(duty) < 1.0 else 0.0
            counter = p[KE + m] + brake * volts
            drive_v = (duty + brake * was) * volts
            gain = p[KE + m] * inv_r
            per = twice * (w[J + m] + p[INERTIA + m])
            bent = w[BEND + m] * was * was
            still = per * was - load - bent
            left = per + w[VISC + m]
            sign = 1.0 if 2.0 * (still + gain * drive_v) >= was * (left + gain * counter) else -1.0
            rub = w[DRY + m] + p[RUB + m] + abs(load) * (p[LOSS_ON + m] if sign * load > 0.0 else p[LOSS_BACK + m])
            # what is left of the gain when the gears have taken their share of the current
            gain -= (sign if drive_v >= counter * was else -sign) * w[SLOPE + m] * inv_r
            mid = (still - sign * (rub + w[LEVEL + m]) + gain * drive_v) / (left + gain * counter)
            now = 2.0 * mid - was
            stuck = now * sign <= 0.0
            now = 0.0 if stuck else now
            mid = 0.5 * was if stuck else mid
            gives = w[J + m] * (now - was) * per_h + bent + w[VISC + m] * mid + load + sign * rub
            w[GIVES + m] = load if stuck else gives
            w[AMPS + m] = (drive_v - counter * mid) * inv_r
            w[DUTY + m] = duty - brake * (mid - was)
            # the ends of the sound span are stops that give nothing back
            theta, low, high = w[THETA + m] + h * mid, p[LO + m], p[HI + m]
            now = 0.0 if (theta < low and now < 0.0) or (theta > high and now > 0.0) else now
            w[THETA + m] = low if theta < low else high if theta > high else theta
            w[OMEGA + m] = now


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def two_inputs(
    ones: int, lanes: F64, drive_i: I64, gears: F64, mech_f: F64, mech_i: I64, t: F64, drive: F64, out: F64,
    gravity: F64, h: float,
) -> None:  # fmt: skip
    """Carry the two-input mechs, which stand after the others, over a step of h [s]: the same step with a 2 x 2 mass."""
    two_per_h = 2.0 / h
    for m in range(ones, len(mech_f)):
        d, w = mech_i[m, DRIVE0], mech_i[m, WIDTH]
        e = d + 1
        q, r, u, v = d >> SHIFT, d & LAST, e >> SHIFT, e & LAST
        down = mech_i[m, M1] * w
        w0, w1 = drive[q, OMEGA + r], drive[u, OMEGA + v]
        k, f = place(drive[q, THETA + r] + 0.5 * h * w0, mech_f[m, LO0], mech_f[m, INV0], mech_i[m, M0])
        j, g = place(drive[u, THETA + v] + 0.5 * h * w1, mech_f[m, LO1], mech_f[m, INV1], mech_i[m, M1])
        base = mech_i[m, TABLE] + k * down + j * w
        frame = mech_i[m, WORLD]
        gx, gy, gz = gravity[frame, 0], gravity[frame, 1], gravity[frame, 2]
        at = base + T2_GRAVITY
        load0 = -(
            corner(t, at, w, down, f, g) * gx + corner(t, at + 1, w, down, f, g) * gy
            + corner(t, at + 2, w, down, f, g) * gz + corner(t, base + T2_SPRING, w, down, f, g)
        )  # fmt: skip
        load1 = -(
            corner(t, at + 3, w, down, f, g) * gx + corner(t, at + 4, w, down, f, g) * gy
            + corner(t, at + 5, w, down, f, g) * gz + corner(t, base + T2_SPRING + 1, w, down, f, g)
        )  # fmt: skip
        if mech_i[m, HELD] != 0:
            first = mech_i[m, OUT0]
            for o in range(first, first + mech_i[m, N_OUT]):
                load0 -= out[o, RATE0] * out[o, PULL]
                load1 -= out[o, RATE1] * out[o, PULL]
        at = base + T2_BEND
        bent0 = (
            corner(t, at, w, down, f, g) * w0 * w0 + corner(t, at + 1, w, down, f, g) * w0 * w1
            + corner(t, at + 2, w, down, f, g) * w1 * w1
        )  # fmt: skip
        bent1 = (
            corner(t, at + 3, w, down, f, g) * w0 * w0 + corner(t, at + 4, w, down, f, g) * w0 * w1
            + corner(t, at + 5, w, down, f, g) * w1 * w1
        )  # fmt: skip
        at = base + T2_MASS
        j00, j01, j11 = corner(t, at, w, down, f, g), corner(t, at + 1, w, down, f, g), corner(t, at + 2, w, down, f, g)
        at = base + T2_VISC
        v00, v01, v11 = corner(t, at, w, down, f, g), corner(t, at + 1, w, down, f, g), corner(t, at + 2, w, down, f, g)
        ke0, ri0, ke1, ri1 = lanes[q, KE + r], lanes[q, INV_R + r], lanes[u, KE + v], lanes[u, INV_R + v]
        volts0, volts1 = drive[q, VOLTS + r], drive[u, VOLTS + v]
        brake0 = lanes[q, BRAKE + r] if abs(drive[q, DUTY + r]) < 1.0 else 0.0
        brake1 = lanes[u, BRAKE + v] if abs(drive[u, DUTY + v]) < 1.0 else 0.0
        u0 = (drive[q, DUTY + r] + brake0 * w0) * volts0
        u1 = (drive[u, DUTY + v] + brake1 * w1) * volts1
        counter0, counter1 = ke0 + brake0 * volts0, ke1 + brake1 * volts1
        p00, p01, p11 = (
            two_per_h * (j00 + lanes[q, INERTIA + r]),
            two_per_h * j01,
            two_per_h * (j11 + lanes[u, INERTIA + v]),
        )
        b0 = p00 * w0 + p01 * w1 + ke0 * u0 * ri0 - load0 - bent0
        b1 = p11 * w1 + p01 * w0 + ke1 * u1 * ri1 - load1 - bent1
        a00, a01, a11 = p00 + ke0 * counter0 * ri0 + v00, p01 + v01, p11 + ke1 * counter1 * ri1 + v11
        det = a00 * a11 - a01 * a01
        free0, free1 = (a11 * b0 - a01 * b1) / det, (a00 * b1 - a01 * b0) / det
        s0, s1 = (1.0 if 2.0 * free0 >= w0 else -1.0), (1.0 if 2.0 * free1 >= w1 else -1.0)
        i0, i1 = (u0 - counter0 * w0) * ri0, (u1 - counter1 * w1) * ri1
        row0 = gear_piece(gears, drive_i[d, SEG0], drive_i[d, SEG1], i0)
        row1 = gear_piece(gears, drive_i[e, SEG0], drive_i[e, SEG1], i1)
        side0, side1 = (
            (gears[row0, 2] if i0 >= 0.0 else -gears[row0, 2]),
            (gears[row1, 2] if i1 >= 0.0 else -gears[row1, 2]),
        )
        on, back, dry = lanes[q, LOSS_ON + r], lanes[q, LOSS_BACK + r], lanes[q, RUB + r]
        rub0 = dry + corner(t, base + T2_DRY, w, down, f, g) + abs(load0) * (on if s0 * load0 > 0.0 else back)
        rub1 = dry + corner(t, base + T2_DRY + 1, w, down, f, g) + abs(load1) * (on if s1 * load1 > 0.0 else back)
        c0, c1 = (
            b0 - s0 * (rub0 + gears[row0, 1] + side0 * u0 * ri0),
            b1 - s1 * (rub1 + gears[row1, 1] + side1 * u1 * ri1),
        )
        d00, d11 = a00 - s0 * side0 * counter0 * ri0, a11 - s1 * side1 * counter1 * ri1
        det = d00 * d11 - a01 * a01
        mid0, mid1 = (d11 * c0 - a01 * c1) / det, (d00 * c1 - a01 * c0) / det
        stuck0, stuck1 = (2.0 * mid0 - w0) * s0 <= 0.0, (2.0 * mid1 - w1) * s1 <= 0.0
        if stuck0 and not stuck1:
            mid1 = (c1 - a01 * 0.5 * w0) / d11
            stuck1 = (2.0 * mid1 - w1) * s1 <= 0.0
        elif stuck1 and not stuck0:
            mid0 = (c0 - a01 * 0.5 * w1) / d00
            stuck0 = (2.0 * mid0 - w0) * s0 <= 0.0
        mid0, mid1 = (0.5 * w0 if stuck0 else mid0), (0.5 * w1 if stuck1 else mid1)
        n0, n1 = (0.0 if stuck0 else 2.0 * mid0 - w0), (0.0 if stuck1 else 2.0 * mid1 - w1)
        acc0, acc1 = (n0 - w0) / h, (n1 - w1) / h
        gives0 = j00 * acc0 + j01 * acc1 + bent0 + v00 * mid0 + v01 * mid1 + load0 + s0 * rub0
        gives1 = j01 * acc0 + j11 * acc1 + bent1 + v01 * mid0 + v11 * mid1 + load1 + s1 * rub1
        drive[q, GIVES + r], drive[u, GIVES + v] = (load0 if stuck0 else gives0), (load1 if stuck1 else gives1)
        drive[q, THETA + r], drive[q, OMEGA + r] = _stopped(
            drive[q, THETA + r] + h * mid0, n0, mech_f[m, LO0], mech_f[m, HI0]
        )
        drive[u, THETA + v], drive[u, OMEGA + v] = _stopped(
            drive[u, THETA + v] + h * mid1, n1, mech_f[m, LO1], mech_f[m, HI1]
        )
        drive[q, AMPS + r], drive[u, AMPS + v] = (u0 - counter0 * mid0) * ri0, (u1 - counter1 * mid1) * ri1
        drive[q, DUTY + r] -= brake0 * (mid0 - w0)
        drive[u, DUTY + v] -= brake1 * (mid1 - w1)
