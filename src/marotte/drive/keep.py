"""What is kept of every tick of a window: sums and worst values of drives and leads."""

from __future__ import annotations

from marotte.basis.contracts.common import F32, F64, I64
from marotte.basis.ticks import TICK_S
from marotte.drive.compiled import inside, kernel
from marotte.drive.moves import gear_piece
from marotte.drive.plan import (
    AMPS,
    AMPS2,
    BLOCK,
    CHARGE,
    CURRENT,
    DUTY,
    ENERGY,
    ERROR2,
    FASTEST,
    FITS,
    GIVES,
    INV_R,
    KE,
    LANE,
    LANES,
    LEAD_A,
    LEAD_V,
    LEAST_V,
    LEAST_V_AT,
    LEVEL0,
    LIMITED_TICKS,
    MOST,
    MOST_AT,
    OMEGA,
    SEG0,
    SEG1,
    SLOPE0,
    TARGET,
    THETA,
    TORQUE2,
    USE,
    USE_AT,
    VOLTS,
)  # fmt: skip

# columns of the peaks of a lead
LOW_V, LOW_AT, HIGH_A, HIGH_AT, LEAD_CHARGE, LEAD_PEAKS = range(6)


@inside
def keep_drives(drive: F64, now: float) -> None:
    """Add one tick to the sums and the worst values of all drives."""
    for block in range(len(drive) // BLOCK):
        b = (block * BLOCK) & FITS
        for m in range(LANES):
            volts, amps, duty = drive[b + VOLTS + m], drive[b + AMPS + m], drive[b + DUTY + m]
            gives, omega, ke = drive[b + GIVES + m], drive[b + OMEGA + m], drive[b + KE + m]
            charge = duty * amps * TICK_S
            error = drive[b + TARGET + m] - drive[b + THETA + m]
            size, speed, flow = abs(gives), abs(omega), abs(amps)
            drive[b + ENERGY + m] += volts * charge
            drive[b + AMPS2 + m] += amps * amps * TICK_S
            drive[b + TORQUE2 + m] += gives * gives * TICK_S
            drive[b + LIMITED_TICKS + m] += 1.0 if abs(duty) >= 1.0 else 0.0
            drive[b + ERROR2 + m] += error * error
            drive[b + CHARGE + m] += charge
            # the torque that it has: what the current of full drive gives at this speed, less the gears
            against = omega if gives >= 0.0 else -omega
            against = against if against > 0.0 else 0.0
            current = (volts - ke * against) * drive[b + INV_R + m]
            current = current if current > 0.0 else 0.0
            has = (ke - drive[b + SLOPE0 + m]) * current - drive[b + LEVEL0 + m]
            use, worst = size / (has if has > 1e-9 else 1e-9), drive[b + USE + m]
            most, least = drive[b + MOST + m], drive[b + LEAST_V + m]
            fastest, highest = drive[b + FASTEST + m], drive[b + CURRENT + m]
            use_at, most_at, least_at = drive[b + USE_AT + m], drive[b + MOST_AT + m], drive[b + LEAST_V_AT + m]
            drive[b + USE_AT + m] = now if use > worst else use_at
            drive[b + USE + m] = use if use > worst else worst
            drive[b + MOST_AT + m] = now if size > most else most_at
            drive[b + MOST + m] = size if size > most else most
            drive[b + FASTEST + m] = speed if speed > fastest else fastest
            drive[b + CURRENT + m] = flow if flow > highest else highest
            drive[b + LEAST_V_AT + m] = now if volts < least else least_at
            drive[b + LEAST_V + m] = volts if volts < least else least


@kernel
def full_gears(drive_i: I64, gears: F64, drive: F64) -> None:
    """Set the gear friction that measured servos have at full drive, by the piece of their curve."""
    for d in range(len(drive_i)):
        if drive_i[d, SEG1] - drive_i[d, SEG0] > 1:
            lane = drive_i[d, LANE]
            omega = drive[lane + OMEGA]
            against = max(omega if drive[lane + GIVES] >= 0.0 else -omega, 0.0)
            current = max((drive[lane + VOLTS] - drive[lane + KE] * against) * drive[lane + INV_R], 0.0)
            piece = gear_piece(gears, drive_i[d, SEG0], drive_i[d, SEG1], current)
            drive[lane + LEVEL0] = gears[piece, 1]
            drive[lane + SLOPE0] = gears[piece, 2]


@inside
def keep_leads(lead: F64, now: int, second: int, column: int, lead_peaks: F64, lead_squares: F64, drawn: F32) -> None:
    """Add one tick to the sums and the worst values of all leads."""
    for n in range(len(lead)):
        volts, amps = lead[n, LEAD_V], lead[n, LEAD_A]
        if volts < lead_peaks[n, LOW_V]:
            lead_peaks[n, LOW_V] = volts
            lead_peaks[n, LOW_AT] = now
        if amps > lead_peaks[n, HIGH_A]:
            lead_peaks[n, HIGH_A] = amps
            lead_peaks[n, HIGH_AT] = now
        lead_peaks[n, LEAD_CHARGE] += amps * TICK_S
        lead_squares[n, second] += amps * amps * TICK_S
        drawn[n, column] = max(drawn[n, column], amps)
