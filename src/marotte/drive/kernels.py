"""The window loop: run in, run, keep worst values and sums. And the loop that keeps full traces of one window."""

from __future__ import annotations

from numba import njit

from marotte.basis.contracts.common import F32, F64, I64
from marotte.basis.ticks import SERIES_EVERY, TICK_S, TICKS_PER_SECOND
from marotte.drive.lookup import between, invert_one, invert_two, outputs
from marotte.drive.moves import gear_piece
from marotte.drive.plan import (
    AMPS,
    DRIVE0,
    DUTY,
    FITS,
    FRAME,
    GIVES,
    HI0,
    HI1,
    INV_R,
    KE,
    LEAD,
    LEAD_A,
    LEAD_V,
    LO0,
    LO1,
    N_IN,
    N_OUT,
    OMEGA,
    OUT0,
    PARENT,
    PLAIN,
    POSITION,
    REGULATOR,
    SEG0,
    SEG1,
    SOURCE_V,
    TARGET,
    THETA,
    Plan,
    State,
)  # fmt: skip
from marotte.drive.step import advance

# columns of the peaks of a drive, each value followed by its tick
USE, USE_AT, TORQUE, TORQUE_AT, SPEED, CURRENT, VOLTS, VOLTS_AT, PEAK_COLS = range(9)
# columns of the sums of a drive; the order is that of contracts.drive.SUMS
ENERGY, AMPS2, TORQUE2, LIMITED_TICKS, ERROR2, CHARGE, TICKS, SUM_COLS = range(8)
# columns of the peaks of a lead
LOW_V, LOW_AT, HIGH_A, HIGH_AT, LEAD_CHARGE, LEAD_PEAKS = range(6)


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def settle(plan: Plan, state: State, asked: F64, played: F64, at: float, tick0: int) -> None:
    """Put a state at rest where it is asked to be; the frames begin by the absolute tick."""
    n = len(plan.out_f)
    for m in range(len(plan.mech_f)):
        d, first, outs = plan.mech_i[m, DRIVE0], plan.mech_i[m, OUT0], plan.mech_i[m, N_OUT]
        lo, hi = plan.mech_f[m, LO0], plan.mech_f[m, HI0]
        if plan.mech_i[m, N_IN] == 1:
            wanted = invert_one(plan.out_f, plan.out_i, plan.inverse, first, outs, asked, at)
            state.drive[d, THETA] = min(max(wanted, lo), hi)
        else:  # Newton starts in the middle of the table
            want0, want1 = between(asked, first, at), between(asked, first + outs - 1, at)
            mid0, mid1 = 0.5 * (lo + hi), 0.5 * (plan.mech_f[m, LO1] + plan.mech_f[m, HI1])
            a, b = invert_two(plan.mech_f, plan.mech_i, plan.table, m, want0, want1, mid0, mid1)
            state.drive[d, THETA], state.drive[d + 1, THETA] = a, b
    for d in range(len(plan.drive_f)):
        state.drive[d, TARGET] = state.drive[d, THETA]
        frame = plan.drive_i[d, FRAME]
        state.wait[d] = (frame - tick0 % frame) % frame
    # the first tick listens, whoever is due: the waits already count from it
    state.wait[len(plan.drive_f)] = 0
    state.wait[len(plan.drive_f) + 1] = 0
    outputs(0, plan.mech_f, plan.mech_i, plan.table, state.drive, state.out, 0.0, False)
    for row in range(len(played)):
        state.out[n + row, POSITION] = played[row, 0]
    for k in range(len(plan.lead_f)):
        up = plan.lead_i[k, PARENT]
        if up >= 0 and plan.lead_i[k, REGULATOR] == PLAIN:
            state.lead[k, LEAD_V] = state.lead[up, LEAD_V]
        else:
            state.lead[k, LEAD_V] = plan.lead_f[k, SOURCE_V]


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def available(ke: float, inv_r: float, gears: F64, first: int, stop: int, volts: float, omega: float) -> float:
    """Return the torque [N*m] that a drive has at a speed and voltage at full duty."""
    current = max((volts - ke * omega) * inv_r, 0.0)
    row = gear_piece(gears, first, stop, current)
    return float(ke * current - gears[row, 1] - gears[row, 2] * current)


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def run_window(
    plan: Plan, state: State, asked: F64, played: F64, gravity: F64, tick0: int, run_in: int, length: int,
    sums: F64, peaks: F64, lead_peaks: F64, lead_squares: F64, drawn: F32, reached: F32,
) -> None:  # fmt: skip
    """Run one island over one window.

    Args:
        plan: the island.
        state: fresh; ends where the window ends.
        asked: (n, samples) from the start of the run-in, 240 Hz.
        played: (plain, samples) likewise.
        gravity: (samples, 2, 3) likewise.
        tick0: absolute tick of the first sample.
        run_in: ticks before the window begins.
        length: ticks of the window.
        sums: (d, SUM_COLS), zero.
        peaks: (d, PEAK_COLS), filled.
        lead_peaks: (l, LEAD_PEAKS), filled.
        lead_squares: (l, bins) A2*s per absolute second, zero.
        drawn: (l, window samples) highest current of each lead in each sample.
        reached: (n, window samples).
    """
    drives = len(plan.drive_f)
    samples = asked.shape[1]
    settle(plan, state, asked, played, 0.0, tick0)
    (
        drive_f, drive_i, gears, mech_f, mech_i, table, out_f, out_i, inverse, lead_f, lead_i, skin_f, skin_i,
        hold_f, hold_i, curve, substeps, ones,
    ) = plan  # fmt: skip
    drive, wait, out, lead, mode, scratch = state
    first_bin = (tick0 + run_in) // TICKS_PER_SECOND
    peaks[:, :] = 0.0
    peaks[:, VOLTS] = 1e9
    lead_peaks[:, :] = 0.0
    lead_peaks[:, LOW_V] = 1e9
    ticks = run_in + length
    for sample in range(-(-ticks // SERIES_EVERY)):
        column = sample - run_in // SERIES_EVERY
        if column >= 0:
            outputs(0, mech_f, mech_i, table, drive, out, 0.0, False)
            for o in range(len(out_f)):
                reached[o, column] = out[o, POSITION]
        pull = gravity[min(sample, samples - 1)]
        first = sample * SERIES_EVERY
        second = (tick0 + first) // TICKS_PER_SECOND - first_bin  # samples never straddle a second
        for k in range(first, min(first + SERIES_EVERY, ticks)):
            advance(
                drive_f, drive_i, gears, mech_f, mech_i, table, out_f, out_i, inverse, lead_f, lead_i, skin_f, skin_i,
                hold_f, hold_i, curve, substeps, ones,
                drive, wait, out, lead, mode, scratch, asked, played, k * (1.0 / SERIES_EVERY), pull,
            )  # fmt: skip
            if column >= 0:
                _keep_drives(drive_f, drive_i, gears, drive, lead, tick0 + k, sums, peaks)
                _keep_leads(lead, tick0 + k, second, column, lead_peaks, lead_squares, drawn)
    for d in range(drives):
        sums[d, TICKS] = float(length)


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _keep_drives(
    drive_f: F64, drive_i: I64, gears: F64, drive: F64, lead: F64, now: int, sums: F64, peaks: F64
) -> None:
    """Add one tick to the sums and the worst values of all drives."""
    for d in range(len(drive_f)):
        i, gives, speed = drive[d, AMPS], drive[d, GIVES], drive[d, OMEGA]
        v = lead[drive_i[d, LEAD] & FITS, LEAD_V]
        supply = drive[d, DUTY] * i
        error = drive[d, TARGET] - drive[d, THETA]
        sums[d, ENERGY] += v * supply * TICK_S
        sums[d, AMPS2] += i * i * TICK_S
        sums[d, TORQUE2] += gives * gives * TICK_S
        sums[d, LIMITED_TICKS] += 1.0 if abs(drive[d, DUTY]) >= 1.0 else 0.0
        sums[d, ERROR2] += error * error
        sums[d, CHARGE] += supply * TICK_S
        size = abs(gives)
        if size > peaks[d, TORQUE]:
            peaks[d, TORQUE] = size
            peaks[d, TORQUE_AT] = now
        against = max(speed if gives >= 0.0 else -speed, 0.0)
        has = available(drive_f[d, KE], drive_f[d, INV_R], gears, drive_i[d, SEG0], drive_i[d, SEG1], v, against)
        if size > peaks[d, USE] * has:
            peaks[d, USE] = size / max(has, 1e-9)
            peaks[d, USE_AT] = now
        peaks[d, SPEED] = max(peaks[d, SPEED], abs(speed))
        peaks[d, CURRENT] = max(peaks[d, CURRENT], abs(i))
        if v < peaks[d, VOLTS]:
            peaks[d, VOLTS] = v
            peaks[d, VOLTS_AT] = now


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _keep_leads(lead: F64, now: int, second: int, column: int, lead_peaks: F64, lead_squares: F64, drawn: F32) -> None:
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


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def run_trace(
    plan: Plan, state: State, asked: F64, played: F64, gravity: F64, tick0: int, run_in: int, length: int,
    drive_rows: F64, out_rows: F64, lead_rows: F64,
) -> None:  # fmt: skip
    """Run one island over one window and keep every tick after the run-in.

    Args:
        plan: the island.
        state: fresh.
        asked: (n, samples), played: (plain, samples), gravity: (samples, 2, 3), from the start of the run-in.
        played: see there.
        gravity: see there.
        tick0: absolute tick of the first sample.
        run_in: ticks before the window begins.
        length: ticks of the window.
        drive_rows: (7, d, length) input position, speed, target, torque, current, voltage, duty.
        out_rows: (n, length) positions of the outputs.
        lead_rows: (2, l, length) voltage and current.
    """
    samples = asked.shape[1]
    settle(plan, state, asked, played, 0.0, tick0)
    (
        drive_f, drive_i, gears, mech_f, mech_i, table, out_f, out_i, inverse, lead_f, lead_i, skin_f, skin_i,
        hold_f, hold_i, curve, substeps, ones,
    ) = plan  # fmt: skip
    drive, wait, out, lead, mode, scratch = state
    for k in range(run_in + length):
        sample = min(k // SERIES_EVERY, samples - 1)
        advance(
            drive_f, drive_i, gears, mech_f, mech_i, table, out_f, out_i, inverse, lead_f, lead_i, skin_f, skin_i,
            hold_f, hold_i, curve, substeps, ones,
            drive, wait, out, lead, mode, scratch, asked, played, k * (1.0 / SERIES_EVERY), gravity[sample],
        )  # fmt: skip
        j = k - run_in
        if j < 0:
            continue
        outputs(0, mech_f, mech_i, table, drive, out, 0.0, False)
        for o in range(len(out_f)):
            out_rows[o, j] = out[o, POSITION]
        for d in range(len(drive_f)):
            for row, column in enumerate((THETA, OMEGA, TARGET, GIVES, AMPS)):
                drive_rows[row, d, j] = drive[d, column]
            drive_rows[5, d, j] = lead[drive_i[d, LEAD], LEAD_V]
            drive_rows[6, d, j] = drive[d, DUTY]
        for n in range(len(lead_f)):
            lead_rows[0, n, j] = lead[n, LEAD_V]
            lead_rows[1, n, j] = lead[n, LEAD_A]


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def lag_rows(asked: F32, reached: F32, before: int, thin: int, out: F64) -> None:
    """Fill the squared error of a series against the asked one delayed by 0, 1, 2... samples.

    Args:
        asked: (n, before + samples).
        reached: (n, samples).
        before: samples of the asked series that lie before the first reached one.
        thin: only every so many samples are compared.
        out: (n, lags) to fill; lags must not exceed ``before``.
    """
    for n in range(reached.shape[0]):
        for lag in range(out.shape[1]):
            total = 0.0
            for k in range(0, reached.shape[1], thin):
                off = float(reached[n, k]) - float(asked[n, before + k - lag])
                total += off * off
            out[n, lag] = total
