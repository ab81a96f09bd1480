"""Speeds and positions: one step of all mechs, one-input ones and two-input ones.

The midpoint rule: forces are taken half a step on, at the place that the old speed leads to, and the speed half way is
solved for (back-EMF, viscous friction, the speed term of the servo's loop). Second order, so that sums of current and
energy hold as well as positions. Dry friction is an impulse that cannot reverse motion; gear friction grows with the
current, and so is solved together with the speed.
"""

from __future__ import annotations

from marotte.basis.contracts.common import F64, I64
from marotte.drive.compiled import inside, kernel
from marotte.drive.lookup import place
from marotte.drive.plan import (
    AMPS,
    BEND,
    BLOCK,
    BRAKE,
    DRIVE0,
    DRY,
    DUTY,
    FITS,
    GIVES,
    GX,
    GY,
    GZ,
    HELD,
    HI,
    HI0,
    HI1,
    INERTIA,
    INV0,
    INV1,
    INV_R,
    KE,
    LANE,
    LANE0,
    LANE1,
    LANES,
    LEVEL,
    LO,
    LO0,
    LO1,
    LOSS_BACK,
    LOSS_ON,
    M0,
    M1,
    N_OUT,
    OMEGA,
    OUT0,
    PULL,
    PULLED,
    RATE0,
    RATE1,
    ROW,
    RUB,
    SEG0,
    SEG1,
    SHARE,
    SLOPE,
    SPRING,
    T2_BEND,
    T2_DRY,
    T2_GRAVITY,
    T2_MASS,
    T2_SPRING,
    T2_VISC,
    TABLE,
    THETA,
    UPRIGHT,
    VISC,
    VOLTS,
    WIDTH,
    WORLD,
    J,
)  # fmt: skip
from marotte.drive.vectors import read_corners, read_rows


@kernel
def gear_piece(gears: F64, first: int, stop: int, current: float) -> int:
    """Return the row of the gear friction that holds at a current."""
    k = first
    while k + 1 < stop and abs(current) > gears[k + 1, 0]:
        k += 1
    return k


@kernel
def _stopped(theta: float, mid: float, omega: float, lo: float, hi: float, h: float) -> tuple[float, float, float]:
    """Return position, speed and mean speed of a step kept inside the sound span; its ends are stops that give nothing back."""
    now = theta + h * mid
    if now < lo:
        return lo, max(omega, 0.0), (lo - theta) / h
    if now > hi:
        return hi, min(omega, 0.0), (hi - theta) / h
    return now, omega, mid


@inside
def look_up(blocks: int, t: F64, drive: F64) -> None:
    """Read the tables of the one-input mechs, which stand first, at the places that ``set_place`` found."""
    for block in range(blocks):
        b = (block * BLOCK) & FITS
        read_rows(t, drive, b + ROW, b + SHARE, b + J)


@kernel
def gears_at(drive_i: I64, gears: F64, drive: F64) -> None:
    """Set the gear friction of measured servos by the piece of their curve.

    By the old speed, so that a steady run stands on its own piece. Those on two-input mechs find theirs by themselves.
    """
    for d in range(len(drive_i)):
        if drive_i[d, SEG1] - drive_i[d, SEG0] > 1:
            lane = drive_i[d, LANE]
            was, duty, volts = drive[lane + OMEGA], drive[lane + DUTY], drive[lane + VOLTS]
            current = (duty * volts - drive[lane + KE] * was) * drive[lane + INV_R]
            piece = gear_piece(gears, drive_i[d, SEG0], drive_i[d, SEG1], current)
            drive[lane + LEVEL] = gears[piece, 1]
            drive[lane + SLOPE] = gears[piece, 2]


@inside
def one_input(blocks: int, drive: F64, gravity: F64, h: float) -> None:
    """Carry the one-input mechs over a step of h [s] by what ``look_up`` found and what the skins pull."""
    per_h, twice = 1.0 / h, 2.0 / h
    x0, y0, z0 = gravity[0, 0], gravity[0, 1], gravity[0, 2]
    x1, y1, z1 = gravity[1, 0], gravity[1, 1], gravity[1, 2]
    for block in range(blocks):
        b = (block * BLOCK) & FITS
        for m in range(LANES):
            was, duty, volts = drive[b + OMEGA + m], drive[b + DUTY + m], drive[b + VOLTS + m]
            inv_r, brake = drive[b + INV_R + m], drive[b + BRAKE + m]
            loss_on, loss_back = drive[b + LOSS_ON + m], drive[b + LOSS_BACK + m]
            upright = drive[b + UPRIGHT + m] > 0.5
            x, y, z = (x1 if upright else x0), (y1 if upright else y0), (z1 if upright else z0)
            load = drive[b + PULLED + m] - (
                drive[b + GX + m] * x + drive[b + GY + m] * y + drive[b + GZ + m] * z + drive[b + SPRING + m]
            )
            brake = brake if abs(duty) < 1.0 else 0.0
            counter = drive[b + KE + m] + brake * volts
            drive_v = (duty + brake * was) * volts
            gain = drive[b + KE + m] * inv_r
            per = twice * (drive[b + J + m] + drive[b + INERTIA + m])
            bent = drive[b + BEND + m] * was * was
            still = per * was - load - bent
            left = per + drive[b + VISC + m]
            sign = 1.0 if 2.0 * (still + gain * drive_v) >= was * (left + gain * counter) else -1.0
            rub = drive[b + DRY + m] + drive[b + RUB + m] + abs(load) * (loss_on if sign * load > 0.0 else loss_back)
            # what is left of the gain when the gears have taken their share of the current
            gain -= (sign if drive_v >= counter * was else -sign) * drive[b + SLOPE + m] * inv_r
            mid = (still - sign * (rub + drive[b + LEVEL + m]) + gain * drive_v) / (left + gain * counter)
            now = 2.0 * mid - was
            stuck = now * sign <= 0.0
            now = 0.0 if stuck else now
            mid = 0.5 * was if stuck else mid
            gives = drive[b + J + m] * (now - was) * per_h + bent + drive[b + VISC + m] * mid + load + sign * rub
            drive[b + GIVES + m] = load if stuck else gives
            # the ends of the sound span are stops that give nothing back; what stands there turns no motor
            theta, low, high = drive[b + THETA + m] + h * mid, drive[b + LO + m], drive[b + HI + m]
            at = low if theta < low else high if theta > high else theta
            mid = (at - drive[b + THETA + m]) * per_h if theta < low or theta > high else mid
            now = 0.0 if (theta < low and now < 0.0) or (theta > high and now > 0.0) else now
            drive[b + AMPS + m] = (drive_v - counter * mid) * inv_r
            drive[b + DUTY + m] = duty - brake * (mid - was)
            drive[b + THETA + m] = at
            drive[b + OMEGA + m] = now


@kernel
def two_inputs(
    ones: int, drive_i: I64, gears: F64, mech_f: F64, mech_i: I64, t: F64, drive: F64, out: F64, row: F64,
    gravity: F64, h: float,
) -> None:  # fmt: skip
    """Carry the two-input mechs, which stand after the others, over a step of h [s]: the same step with a 2 x 2 mass."""
    two_per_h = 2.0 / h
    for m in range(ones, len(mech_f)):
        d, q, u, w = mech_i[m, DRIVE0], mech_i[m, LANE0], mech_i[m, LANE1], mech_i[m, WIDTH]
        e = d + 1
        down = mech_i[m, M1] * w
        w0, w1 = drive[q + OMEGA], drive[u + OMEGA]
        k, f = place(drive[q + THETA] + 0.5 * h * w0, mech_f[m, LO0], mech_f[m, INV0], mech_i[m, M0])
        j, g = place(drive[u + THETA] + 0.5 * h * w1, mech_f[m, LO1], mech_f[m, INV1], mech_i[m, M1])
        read_corners(t, mech_i[m, TABLE] + k * down + j * w, w, down, f, g, row)
        frame = mech_i[m, WORLD]
        gx, gy, gz = gravity[frame, 0], gravity[frame, 1], gravity[frame, 2]
        i = T2_GRAVITY
        load0 = -(row[i] * gx + row[i + 1] * gy + row[i + 2] * gz + row[T2_SPRING])
        load1 = -(row[i + 3] * gx + row[i + 4] * gy + row[i + 5] * gz + row[T2_SPRING + 1])
        if mech_i[m, HELD] != 0:
            first = mech_i[m, OUT0]
            for o in range(first, first + mech_i[m, N_OUT]):
                load0 -= out[o, RATE0] * out[o, PULL]
                load1 -= out[o, RATE1] * out[o, PULL]
        i = T2_BEND
        bent0 = row[i] * w0 * w0 + row[i + 1] * w0 * w1 + row[i + 2] * w1 * w1
        bent1 = row[i + 3] * w0 * w0 + row[i + 4] * w0 * w1 + row[i + 5] * w1 * w1
        j00, j01, j11 = row[T2_MASS], row[T2_MASS + 1], row[T2_MASS + 2]
        v00, v01, v11 = row[T2_VISC], row[T2_VISC + 1], row[T2_VISC + 2]
        ke0, ri0, ke1, ri1 = drive[q + KE], drive[q + INV_R], drive[u + KE], drive[u + INV_R]
        volts0, volts1 = drive[q + VOLTS], drive[u + VOLTS]
        brake0 = drive[q + BRAKE] if abs(drive[q + DUTY]) < 1.0 else 0.0
        brake1 = drive[u + BRAKE] if abs(drive[u + DUTY]) < 1.0 else 0.0
        u0 = (drive[q + DUTY] + brake0 * w0) * volts0
        u1 = (drive[u + DUTY] + brake1 * w1) * volts1
        counter0, counter1 = ke0 + brake0 * volts0, ke1 + brake1 * volts1
        p00, p01, p11 = (
            two_per_h * (j00 + drive[q + INERTIA]),
            two_per_h * j01,
            two_per_h * (j11 + drive[u + INERTIA]),
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
        on, back, dry = drive[q + LOSS_ON], drive[q + LOSS_BACK], drive[q + RUB]
        rub0 = dry + row[T2_DRY] + abs(load0) * (on if s0 * load0 > 0.0 else back)
        rub1 = dry + row[T2_DRY + 1] + abs(load1) * (on if s1 * load1 > 0.0 else back)
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
        drive[q + GIVES], drive[u + GIVES] = (load0 if stuck0 else gives0), (load1 if stuck1 else gives1)
        drive[q + THETA], drive[q + OMEGA], mid0 = _stopped(
            drive[q + THETA], mid0, n0, mech_f[m, LO0], mech_f[m, HI0], h
        )
        drive[u + THETA], drive[u + OMEGA], mid1 = _stopped(
            drive[u + THETA], mid1, n1, mech_f[m, LO1], mech_f[m, HI1], h
        )
        drive[q + AMPS], drive[u + AMPS] = (u0 - counter0 * mid0) * ri0, (u1 - counter1 * mid1) * ri1
        drive[q + DUTY] -= brake0 * (mid0 - w0)
        drive[u + DUTY] -= brake1 * (mid1 - w1)
