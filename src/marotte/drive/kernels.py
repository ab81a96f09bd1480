"""The window loop: run in, run, keep worst values and sums. And the loop that keeps full traces of one window."""

from __future__ import annotations

from marotte.basis.contracts.common import F32, F64
from marotte.basis.ticks import SERIES_EVERY, TICKS_PER_SECOND
from marotte.drive.compiled import kernel
from marotte.drive.keep import LOW_V, full_gears, keep_drives, keep_leads
from marotte.drive.lookup import between, invert_one, invert_two, reach
from marotte.drive.plan import (
    AMPS,
    DUTY,
    FRAME,
    GIVES,
    HI0,
    HI1,
    LANE,
    LANE0,
    LANE1,
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
    SOURCE_V,
    TARGET,
    THETA,
    TICKS,
    VOLTS,
    Plan,
    State,
)  # fmt: skip
from marotte.drive.step import advance


@kernel
def settle(plan: Plan, state: State, asked: F64, played: F64, at: float, tick0: int) -> None:
    """Put a state at rest where it is asked to be; the frames begin by the absolute tick."""
    n, drive = len(plan.out_f), state.drive
    for m in range(len(plan.mech_f)):
        first, outs = plan.mech_i[m, OUT0], plan.mech_i[m, N_OUT]
        lo, hi = plan.mech_f[m, LO0], plan.mech_f[m, HI0]
        if plan.mech_i[m, N_IN] == 1:
            wanted = invert_one(plan.out_f, plan.out_i, plan.inverse, first, outs, asked, at)
            drive[plan.mech_i[m, LANE0] + THETA] = min(max(wanted, lo), hi)
        else:  # Newton starts in the middle of the table
            want0, want1 = between(asked, first, at), between(asked, first + outs - 1, at)
            mid0, mid1 = 0.5 * (lo + hi), 0.5 * (plan.mech_f[m, LO1] + plan.mech_f[m, HI1])
            a, b = invert_two(plan.mech_f, plan.mech_i, plan.table, m, want0, want1, mid0, mid1)
            drive[plan.mech_i[m, LANE0] + THETA] = a
            drive[plan.mech_i[m, LANE1] + THETA] = b
    for d in range(len(plan.drive_i)):
        drive[plan.drive_i[d, LANE] + TARGET] = drive[plan.drive_i[d, LANE] + THETA]
        frame = plan.drive_i[d, FRAME]
        state.wait[d] = (frame - tick0 % frame) % frame
    # the first tick listens, whoever is due: the waits already count from it
    state.wait[len(plan.drive_i)] = 0
    state.wait[len(plan.drive_i) + 1] = 0
    for row in range(len(played)):
        state.out[n + row, POSITION] = played[row, 0]
    for k in range(len(plan.lead_f)):
        up = plan.lead_i[k, PARENT]
        if up >= 0 and plan.lead_i[k, REGULATOR] == PLAIN:
            state.lead[k, LEAD_V] = state.lead[up, LEAD_V]
        else:
            state.lead[k, LEAD_V] = plan.lead_f[k, SOURCE_V]


@kernel
def run_window(
    plan: Plan, state: State, asked: F64, played: F64, gravity: F64, tick0: int, run_in: int, length: int,
    lead_peaks: F64, lead_squares: F64, drawn: F32, reached: F32,
) -> None:  # fmt: skip
    """Run one island over one window.

    Args:
        plan: the island.
        state: fresh; ends where the window ends, with what was kept.
        asked: (n, samples) from the start of the run-in, 240 Hz.
        played: (plain, samples) likewise.
        gravity: (samples, 2, 3) likewise.
        tick0: absolute tick of the first sample.
        run_in: ticks before the window begins.
        length: ticks of the window.
        lead_peaks: (l, LEAD_PEAKS), filled.
        lead_squares: (l, bins) A2*s per absolute second, zero.
        drawn: (l, window samples) highest current of each lead in each sample.
        reached: (n, window samples).
    """
    samples = asked.shape[1]
    settle(plan, state, asked, played, 0.0, tick0)
    (
        _, drive_i, gears, mech_f, mech_i, table, out_f, out_i, inverse, lead_f, lead_i, fed, skin_f, skin_i,
        hold_f, hold_i, curve, substeps, ones, wide,
    ) = plan  # fmt: skip
    drive, wait, out, lead, mode, skin, rate, row = state
    first_bin = (tick0 + run_in) // TICKS_PER_SECOND
    lead_peaks[:, :] = 0.0
    lead_peaks[:, LOW_V] = 1e9
    ticks = run_in + length
    for sample in range(-(-ticks // SERIES_EVERY)):
        column = sample - run_in // SERIES_EVERY
        if column >= 0:
            reach(ones, wide, mech_f, mech_i, out_i, table, drive, out, reached, column)
        pull = gravity[min(sample, samples - 1)]
        first = sample * SERIES_EVERY
        second = (tick0 + first) // TICKS_PER_SECOND - first_bin  # samples never straddle a second
        for k in range(first, min(first + SERIES_EVERY, ticks)):
            advance(
                drive_i, gears, mech_f, mech_i, table, out_f, out_i, inverse, lead_f, lead_i, fed, skin_f, skin_i,
                hold_f, hold_i, curve, substeps, ones, wide,
                drive, wait, out, lead, mode, skin, rate, row, asked, played, k * (1.0 / SERIES_EVERY), pull,
            )  # fmt: skip
            if column >= 0:
                if len(gears) > len(drive_i):
                    full_gears(drive_i, gears, drive)
                keep_drives(drive, float(tick0 + k))
                keep_leads(lead, tick0 + k, second, column, lead_peaks, lead_squares, drawn)
    for d in range(len(drive_i)):
        drive[drive_i[d, LANE] + TICKS] = float(length)


@kernel
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
        _, drive_i, gears, mech_f, mech_i, table, out_f, out_i, inverse, lead_f, lead_i, fed, skin_f, skin_i,
        hold_f, hold_i, curve, substeps, ones, wide,
    ) = plan  # fmt: skip
    drive, wait, out, lead, mode, skin, rate, row = state
    for k in range(run_in + length):
        sample = min(k // SERIES_EVERY, samples - 1)
        advance(
            drive_i, gears, mech_f, mech_i, table, out_f, out_i, inverse, lead_f, lead_i, fed, skin_f, skin_i,
            hold_f, hold_i, curve, substeps, ones, wide,
            drive, wait, out, lead, mode, skin, rate, row, asked, played, k * (1.0 / SERIES_EVERY), gravity[sample],
        )  # fmt: skip
        j = k - run_in
        if j < 0:
            continue
        reach(ones, wide, mech_f, mech_i, out_i, table, drive, out, out_rows, j)
        for d in range(len(drive_i)):
            for place, quantity in enumerate((THETA, OMEGA, TARGET, GIVES, AMPS, VOLTS, DUTY)):
                drive_rows[place, d, j] = drive[drive_i[d, LANE] + quantity]
        for n in range(len(lead_f)):
            lead_rows[0, n, j] = lead[n, LEAD_V]
            lead_rows[1, n, j] = lead[n, LEAD_A]
