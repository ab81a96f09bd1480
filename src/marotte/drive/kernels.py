"""The window loop: run in, run, keep worst values and sums. And the loop that keeps full traces of one window."""

from __future__ import annotations

from numba import njit

from marotte.basis.contracts.common import F32, F64, I64
from marotte.basis.ticks import SERIES_EVERY, TICK_S, TICKS_PER_SECOND
from marotte.drive.lookup import between, invert_one, invert_two, outputs
from marotte.drive.moves import gear_piece
from marotte.drive.plan import (
    AMPS,
    AMPS2,
    CHARGE,
    CURRENT,
    DRIVE0,
    DUTY,
    ENERGY,
    ERROR2,
    FASTEST,
    FITS,
    FRAME,
    GIVES,
    HAS,
    HI0,
    HI1,
    INV_R,
    KE,
    LANES,
    LAST,
    LEAD_A,
    LEAD_V,
    LEAST_V,
    LEAST_V_AT,
    LEVEL0,
    LIMITED_TICKS,
    LO0,
    LO1,
    MOST,
    MOST_AT,
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
    SHIFT,
    SLOPE0,
    SOURCE_V,
    TARGET,
    THETA,
    TICKS,
    TORQUE2,
    USE,
    USE_AT,
    VOLTS,
    Plan,
    State,
)  # fmt: skip
from marotte.drive.step import advance

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
            state.drive[d >> SHIFT, THETA + (d & LAST)] = min(max(wanted, lo), hi)
        else:  # Newton starts in the middle of the table
            want0, want1 = between(asked, first, at), between(asked, first + outs - 1, at)
            mid0, mid1 = 0.5 * (lo + hi), 0.5 * (plan.mech_f[m, LO1] + plan.mech_f[m, HI1])
            a, b = invert_two(plan.mech_f, plan.mech_i, plan.table, m, want0, want1, mid0, mid1)
            e = d + 1
            state.drive[d >> SHIFT, THETA + (d & LAST)] = a
            state.drive[e >> SHIFT, THETA + (e & LAST)] = b
    for d in range(len(plan.drive_i)):
        state.drive[d >> SHIFT, TARGET + (d & LAST)] = state.drive[d >> SHIFT, THETA + (d & LAST)]
        frame = plan.drive_i[d, FRAME]
        state.wait[d] = (frame - tick0 % frame) % frame
    # the first tick listens, whoever is due: the waits already count from it
    state.wait[len(plan.drive_i)] = 0
    state.wait[len(plan.drive_i) + 1] = 0
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
def run_window(
    plan: Plan, state: State, asked: F64, played: F64, gravity: F64, tick0: int, run_in: int, length: int,
    kept: F64, lead_peaks: F64, lead_squares: F64, drawn: F32, reached: F32,
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
        kept: (blocks, KEPT_ROWS * LANES), zero; filled, see the plan.
        lead_peaks: (l, LEAD_PEAKS), filled.
        lead_squares: (l, bins) A2*s per absolute second, zero.
        drawn: (l, window samples) highest current of each lead in each sample.
        reached: (n, window samples).
    """
    samples = asked.shape[1]
    settle(plan, state, asked, played, 0.0, tick0)
    (
        lanes, drive_i, gears, mech_f, mech_i, table, out_f, out_i, inverse, lead_f, lead_i, skin_f, skin_i,
        hold_f, hold_i, curve, substeps, ones,
    ) = plan  # fmt: skip
    drive, wait, out, lead, mode, row = state
    first_bin = (tick0 + run_in) // TICKS_PER_SECOND
    kept[:, LEAST_V : LEAST_V + LANES] = 1e9
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
                lanes, drive_i, gears, mech_f, mech_i, table, out_f, out_i, inverse, lead_f, lead_i, skin_f, skin_i,
                hold_f, hold_i, curve, substeps, ones,
                drive, wait, out, lead, mode, row, asked, played, k * (1.0 / SERIES_EVERY), pull,
            )  # fmt: skip
            if column >= 0:
                _keep_drives(lanes, drive_i, gears, drive, float(tick0 + k), kept)
                _keep_leads(lead, tick0 + k, second, column, lead_peaks, lead_squares, drawn)
    kept[:, TICKS : TICKS + LANES] = float(length)


@njit(inline="always", error_model="numpy", fastmath={"contract"})
def _keep_drives(lanes: F64, drive_i: I64, gears: F64, drive: F64, now: float, kept: F64) -> None:
    """Add one tick to the sums and the worst values of all drives."""
    drives = len(drive_i)
    for block in range(len(drive)):
        w, p = drive[block], lanes[block]
        for m in range(min(drives - block * LANES, LANES)):
            gives, omega = w[GIVES + m], w[OMEGA + m]
            against = omega if gives >= 0.0 else -omega
            against = against if against > 0.0 else 0.0
            current = (w[VOLTS + m] - p[KE + m] * against) * p[INV_R + m]
            current = current if current > 0.0 else 0.0
            w[HAS + m] = (p[KE + m] - p[SLOPE0 + m]) * current - p[LEVEL0 + m]
    if len(gears) > drives:
        _has_by_pieces(lanes, drive_i, gears, drive)
    for block in range(len(drive)):
        w, s = drive[block], kept[block]
        for m in range(min(drives - block * LANES, LANES)):
            volts, amps, duty, gives = w[VOLTS + m], w[AMPS + m], w[DUTY + m], w[GIVES + m]
            charge = duty * amps * TICK_S
            error = w[TARGET + m] - w[THETA + m]
            size, speed, flow = abs(gives), abs(w[OMEGA + m]), abs(amps)
            s[ENERGY + m] += volts * charge
            s[AMPS2 + m] += amps * amps * TICK_S
            s[TORQUE2 + m] += gives * gives * TICK_S
            s[LIMITED_TICKS + m] += 1.0 if abs(duty) >= 1.0 else 0.0
            s[ERROR2 + m] += error * error
            s[CHARGE + m] += charge
            has = w[HAS + m] if w[HAS + m] > 1e-9 else 1e-9
            use, most, least = size / has, s[MOST + m], s[LEAST_V + m]
            s[USE_AT + m] = now if use > s[USE + m] else s[USE_AT + m]
            s[USE + m] = use if use > s[USE + m] else s[USE + m]
            s[MOST_AT + m] = now if size > most else s[MOST_AT + m]
            s[MOST + m] = size if size > most else most
            s[FASTEST + m] = speed if speed > s[FASTEST + m] else s[FASTEST + m]
            s[CURRENT + m] = flow if flow > s[CURRENT + m] else s[CURRENT + m]
            s[LEAST_V_AT + m] = now if volts < least else s[LEAST_V_AT + m]
            s[LEAST_V + m] = volts if volts < least else least


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _has_by_pieces(lanes: F64, drive_i: I64, gears: F64, drive: F64) -> None:
    """Set the torque that measured servos have, by the piece of their curve at full drive."""
    for d in range(len(drive_i)):
        if drive_i[d, SEG1] - drive_i[d, SEG0] > 1:
            block, lane = d >> SHIFT, d & LAST
            gives, omega, ke = drive[block, GIVES + lane], drive[block, OMEGA + lane], lanes[block, KE + lane]
            against = max(omega if gives >= 0.0 else -omega, 0.0)
            current = max((drive[block, VOLTS + lane] - ke * against) * lanes[block, INV_R + lane], 0.0)
            piece = gear_piece(gears, drive_i[d, SEG0], drive_i[d, SEG1], current)
            drive[block, HAS + lane] = (ke - gears[piece, 2]) * current - gears[piece, 1]


@njit(inline="always", error_model="numpy", fastmath={"contract"})
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
        lanes, drive_i, gears, mech_f, mech_i, table, out_f, out_i, inverse, lead_f, lead_i, skin_f, skin_i,
        hold_f, hold_i, curve, substeps, ones,
    ) = plan  # fmt: skip
    drive, wait, out, lead, mode, row = state
    for k in range(run_in + length):
        sample = min(k // SERIES_EVERY, samples - 1)
        advance(
            lanes, drive_i, gears, mech_f, mech_i, table, out_f, out_i, inverse, lead_f, lead_i, skin_f, skin_i,
            hold_f, hold_i, curve, substeps, ones,
            drive, wait, out, lead, mode, row, asked, played, k * (1.0 / SERIES_EVERY), gravity[sample],
        )  # fmt: skip
        j = k - run_in
        if j < 0:
            continue
        outputs(0, mech_f, mech_i, table, drive, out, 0.0, False)
        for o in range(len(out_f)):
            out_rows[o, j] = out[o, POSITION]
        for d in range(len(drive_i)):
            for place, quantity in enumerate((THETA, OMEGA, TARGET, GIVES, AMPS, VOLTS, DUTY)):
                drive_rows[place, d, j] = drive[d >> SHIFT, quantity + (d & LAST)]
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
    lags = out.shape[1]
    out[:, :] = 0.0
    for n in range(reached.shape[0]):
        # the delays inside: their terms stand side by side, and each sum is still taken in the order of time
        total, row = out[n], asked[n]
        for k in range(0, reached.shape[1], thin):
            now, last = float(reached[n, k]), before + k
            for lag in range(lags):
                off = now - float(row[(last - lag) & FITS])
                total[lag] += off * off
