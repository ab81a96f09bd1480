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
    BRAKE,
    DRIVE0,
    DRY,
    DUTY,
    FITS,
    GIVES,
    HELD,
    HI0,
    HI1,
    INERTIA,
    INV0,
    INV1,
    INV_R,
    KE,
    LEAD,
    LEAD_V,
    LO0,
    LO1,
    LOSS_BACK,
    LOSS_ON,
    M0,
    M1,
    N_IN,
    N_OUT,
    OMEGA,
    OUT0,
    PULL,
    RATE0,
    RATE1,
    SEG0,
    SEG1,
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
    T_SPRING,
    T_VISC,
    TABLE,
    THETA,
    WIDTH,
    WORLD,
)  # fmt: skip


@njit(cache=True, nogil=True)
def gear_piece(gears: F64, first: int, stop: int, current: float) -> int:
    """Return the row of the gear friction that holds at a current."""
    k = first
    while k + 1 < stop and abs(current) > gears[k + 1, 0]:
        k += 1
    return k


@njit(cache=True, nogil=True)
def _stopped(theta: float, omega: float, lo: float, hi: float) -> tuple[float, float]:
    """Return position and speed kept inside the sound span; its ends are stops that give nothing back."""
    if theta < lo:
        return lo, max(omega, 0.0)
    if theta > hi:
        return hi, min(omega, 0.0)
    return theta, omega


@njit(cache=True, nogil=True)
def one_input(
    drive_f: F64, drive_i: I64, gears: F64, mech_f: F64, mech_i: I64, t: F64, drive: F64, out: F64, lead: F64,
    gravity: F64, h: float,
) -> None:  # fmt: skip
    """Carry every one-input mech over a step of h [s]; arrays as in Plan and State, gravity (2, 3)."""
    per_h = 1.0 / h
    for m in range(len(mech_f)):
        if mech_i[m, N_IN] != 1:
            continue
        d, w = mech_i[m, DRIVE0] & FITS, mech_i[m, WIDTH]
        was, duty, volts = drive[d, OMEGA], drive[d, DUTY], lead[drive_i[d, LEAD] & FITS, LEAD_V]
        k, f = place(drive[d, THETA] + 0.5 * h * was, mech_f[m, LO0], mech_f[m, INV0], mech_i[m, M0])
        a = (mech_i[m, TABLE] + k * w) & FITS
        b = (a + w) & FITS
        frame = mech_i[m, WORLD] & 1
        load = -(
            (t[a + T_GX] + f * (t[b + T_GX] - t[a + T_GX])) * gravity[frame, 0]
            + (t[a + T_GY] + f * (t[b + T_GY] - t[a + T_GY])) * gravity[frame, 1]
            + (t[a + T_GZ] + f * (t[b + T_GZ] - t[a + T_GZ])) * gravity[frame, 2]
            + t[a + T_SPRING]
            + f * (t[b + T_SPRING] - t[a + T_SPRING])
        )
        if mech_i[m, HELD] != 0:
            first = mech_i[m, OUT0]
            for o in range(first, first + mech_i[m, N_OUT]):
                load -= out[o, RATE0] * out[o, PULL]
        mass = t[a + T_J] + f * (t[b + T_J] - t[a + T_J])
        bend = t[a + T_BEND] + f * (t[b + T_BEND] - t[a + T_BEND])
        visc = t[a + T_VISC] + f * (t[b + T_VISC] - t[a + T_VISC])
        dry = t[a + T_DRY] + f * (t[b + T_DRY] - t[a + T_DRY]) + mech_f[m, DRY]
        ke, inv_r = drive_f[d, KE], drive_f[d, INV_R]
        brake = drive_f[d, BRAKE] if abs(duty) < 1.0 else 0.0
        volts_per_speed = brake * volts
        drive_v = duty * volts + volts_per_speed * was
        counter = ke + volts_per_speed
        per = 2.0 * per_h * (mass + drive_f[d, INERTIA])
        bent = bend * was * was
        right = per * was + ke * drive_v * inv_r - load - bent
        left = per + ke * counter * inv_r + visc
        sign = 1.0 if 2.0 * right >= was * left else -1.0
        current = (drive_v - counter * was) * inv_r  # by the old speed, so that a steady run stands on its own piece
        row, last = drive_i[d, SEG0] & FITS, drive_i[d, SEG1] - 1
        if row < last:
            row = gear_piece(gears, row, last + 1, current) & FITS
        side = gears[row, 2] if current >= 0.0 else -gears[row, 2]
        rub = dry + abs(load) * (mech_f[m, LOSS_ON] if sign * load > 0.0 else mech_f[m, LOSS_BACK])
        right -= sign * (rub + gears[row, 1] + side * drive_v * inv_r)
        mid = right / (left - sign * side * counter * inv_r)
        now = 2.0 * mid - was
        if now * sign <= 0.0:
            now = 0.0
            mid = 0.5 * was
            drive[d, GIVES] = load
        else:
            drive[d, GIVES] = mass * (now - was) * per_h + bent + visc * mid + load + sign * rub
        drive[d, THETA], drive[d, OMEGA] = _stopped(drive[d, THETA] + h * mid, now, mech_f[m, LO0], mech_f[m, HI0])
        drive[d, AMPS] = (drive_v - counter * mid) * inv_r
        drive[d, DUTY] = duty - brake * (mid - was)


@njit(cache=True, nogil=True)
def two_inputs(
    drive_f: F64, drive_i: I64, gears: F64, mech_f: F64, mech_i: I64, t: F64, drive: F64, out: F64, lead: F64,
    gravity: F64, h: float,
) -> None:  # fmt: skip
    """Carry every two-input mech over a step of h [s]: the same step with a 2 x 2 mass."""
    two_per_h = 2.0 / h
    for m in range(len(mech_f)):
        if mech_i[m, N_IN] != 2:
            continue
        d, w = mech_i[m, DRIVE0], mech_i[m, WIDTH]
        e = d + 1
        down = mech_i[m, M1] * w
        w0, w1 = drive[d, OMEGA], drive[e, OMEGA]
        k, f = place(drive[d, THETA] + 0.5 * h * w0, mech_f[m, LO0], mech_f[m, INV0], mech_i[m, M0])
        j, g = place(drive[e, THETA] + 0.5 * h * w1, mech_f[m, LO1], mech_f[m, INV1], mech_i[m, M1])
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
        ke0, ri0, ke1, ri1 = drive_f[d, KE], drive_f[d, INV_R], drive_f[e, KE], drive_f[e, INV_R]
        volts0, volts1 = lead[drive_i[d, LEAD], LEAD_V], lead[drive_i[e, LEAD], LEAD_V]
        brake0 = drive_f[d, BRAKE] if abs(drive[d, DUTY]) < 1.0 else 0.0
        brake1 = drive_f[e, BRAKE] if abs(drive[e, DUTY]) < 1.0 else 0.0
        u0 = (drive[d, DUTY] + brake0 * w0) * volts0
        u1 = (drive[e, DUTY] + brake1 * w1) * volts1
        counter0, counter1 = ke0 + brake0 * volts0, ke1 + brake1 * volts1
        p00, p01, p11 = (
            two_per_h * (j00 + drive_f[d, INERTIA]),
            two_per_h * j01,
            two_per_h * (j11 + drive_f[e, INERTIA]),
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
        on, back, dry = mech_f[m, LOSS_ON], mech_f[m, LOSS_BACK], mech_f[m, DRY]
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
        drive[d, GIVES], drive[e, GIVES] = (load0 if stuck0 else gives0), (load1 if stuck1 else gives1)
        drive[d, THETA], drive[d, OMEGA] = _stopped(drive[d, THETA] + h * mid0, n0, mech_f[m, LO0], mech_f[m, HI0])
        drive[e, THETA], drive[e, OMEGA] = _stopped(drive[e, THETA] + h * mid1, n1, mech_f[m, LO1], mech_f[m, HI1])
        drive[d, AMPS], drive[e, AMPS] = (u0 - counter0 * mid0) * ri0, (u1 - counter1 * mid1) * ri1
        drive[d, DUTY] -= brake0 * (mid0 - w0)
        drive[e, DUTY] -= brake1 * (mid1 - w1)
