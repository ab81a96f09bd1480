"""One tick of 1/1200 s of one island, for the batch run and for a live try-out.

Order: frame phase -> hold and quantise -> duty from position and speed -> rails -> currents -> speeds -> positions.
The pieces take plain arrays and run over all drives or mechs at once: a named tuple handed down to every mech costs more
than the mech itself. Of the compiler's freedoms with numbers only one is taken: a product and a sum may become one
instruction. Nothing is reordered, and what is not a number stays so.
"""

from __future__ import annotations

from marotte.basis.contracts.common import F64, I64
from marotte.basis.ticks import SERIES_EVERY, TICK_S
from marotte.drive.compiled import inside, kernel
from marotte.drive.lookup import between, invert_one, invert_two, outputs_of_two, set_place
from marotte.drive.moves import gears_at, look_up, one_input, two_inputs
from marotte.drive.plan import (
    AMPS,
    BLOCK,
    DELAY,
    DRIVE0,
    DUTY,
    FITS,
    FRAME,
    GIVES,
    HI0,
    LANE,
    LANE0,
    LANE1,
    LANES,
    LO0,
    N_IN,
    N_OUT,
    OUT0,
    POSITION,
    STEP,
    SUM_AMPS,
    SUM_DUTY,
    SUM_GIVES,
    TARGET,
    Plan,
    State,
)  # fmt: skip
from marotte.drive.rails import flows, rails, set_duty
from marotte.drive.skins import skins


@kernel
def tick(plan: Plan, state: State, asked: F64, played: F64, at: float, gravity: F64) -> None:
    """Carry a state on by one tick.

    Args:
        plan: the island.
        state: changed in place.
        asked: (n, samples) positions asked of the outputs, 240 Hz.
        played: (plain, samples) positions of the functions that no servo moves.
        at: this tick as a place in those samples.
        gravity: (2, 3) [m/s2] in the frame of the head, and upright.
    """
    p, s = plan, state
    advance(
        p.drive_i, p.gears, p.mech_f, p.mech_i, p.table, p.out_f, p.out_i, p.inverse, p.lead_f, p.lead_i, p.fed,
        p.skin_f, p.skin_i, p.hold_f, p.hold_i, p.curve, p.substeps, p.ones, p.wide, s.drive, s.wait, s.out, s.lead, s.mode,
        s.skin, s.rate, s.row, asked, played, at, gravity,
    )  # fmt: skip


@inside
def advance(
    drive_i: I64, gears: F64, mech_f: F64, mech_i: I64, table: F64, out_f: F64, out_i: I64, inverse: F64,
    lead_f: F64, lead_i: I64, fed: I64, skin_f: F64, skin_i: I64, hold_f: F64, hold_i: I64, curve: F64, substeps: int,
    ones: int, wide: int, drive: F64, wait: I64, out: F64, lead: F64, mode: I64, skin: F64, rate: F64, row: F64, asked: F64, played: F64, at: float,
    gravity: F64,
) -> None:  # fmt: skip
    """Do what ``tick`` does, with the fields of Plan and State one by one: loops take the tuples apart once, not each tick."""
    drives = len(drive_i)
    blocks = (ones + LANES - 1) // LANES
    if wait[drives] == 0:
        _listen(drive_i, mech_f, mech_i, table, out_f, out_i, inverse, asked, at, drive, wait)
    wait[drives] -= 1
    h = TICK_S / substeps
    for p in range(len(played)):
        out[len(out_f) + p, POSITION] = between(played, p, at)
    for step in range(substeps):
        for block in range(len(drive) // BLOCK):
            b = (block * BLOCK) & FITS
            for m in range(wide):
                set_duty(drive, b + m, 0.5 * h)
                set_place(drive, b + m, 0.5 * h)
        # in this order, so that what is written lane by lane is long in place when it is read as vectors
        rails(lead_f, lead_i, fed, drive, lead, mode)
        if len(gears) > drives:
            gears_at(drive_i, gears, drive)
        if len(skin_f) > 0:
            outputs_of_two(ones, mech_f, mech_i, table, drive, out, 0.5 * h, True)
            skins(skin_f, skin_i, hold_f, hold_i, curve, table, drive, out, skin, rate)
        look_up(blocks, table, drive)
        one_input(blocks, drive, gravity, h)
        if ones < len(mech_f):
            two_inputs(ones, drive_i, gears, mech_f, mech_i, table, drive, out, row, gravity, h)
        if substeps > 1:
            _mean(drive, step, substeps)
    flows(lead_f, lead_i, fed, drive, lead, mode)


@kernel
def _listen(
    drive_i: I64, mech_f: F64, mech_i: I64, t: F64, out_f: F64, out_i: I64, inverse: F64,
    asked: F64, at: float, drive: F64, wait: I64,
) -> None:  # fmt: skip
    """Let every servo whose frame begins take what is asked of its mech, as late as link and servo make it."""
    drives = len(drive_i)
    for d in range(drives):
        wait[d] -= wait[drives + 1]
    for m in range(len(mech_f)):
        d, first, outs = mech_i[m, DRIVE0], mech_i[m, OUT0], mech_i[m, N_OUT]
        if mech_i[m, N_IN] == 1:
            if wait[d] == 0:
                then = at - drive_i[d, DELAY] * (1.0 / SERIES_EVERY)
                wanted = invert_one(out_f, out_i, inverse, first, outs, asked, then)
                wanted = min(max(wanted, mech_f[m, LO0]), mech_f[m, HI0])
                lane = mech_i[m, LANE0]
                drive[lane + TARGET] = _heard(wanted, drive[lane + STEP])
            continue
        for e in range(d, d + 2):
            if wait[e] == 0:
                then = at - drive_i[e, DELAY] * (1.0 / SERIES_EVERY)
                want0, want1 = between(asked, first, then), between(asked, first + outs - 1, then)
                first_at, second_at = drive[mech_i[m, LANE0] + TARGET], drive[mech_i[m, LANE1] + TARGET]
                a, b = invert_two(mech_f, mech_i, t, m, want0, want1, first_at, second_at)
                wanted = a if e == d else b
                lane = drive_i[e, LANE]
                drive[lane + TARGET] = _heard(wanted, drive[lane + STEP])
    soonest = drive_i[0, FRAME]
    for d in range(drives):
        if wait[d] == 0:
            wait[d] = drive_i[d, FRAME]
        soonest = min(soonest, wait[d])
    wait[drives] = soonest
    wait[drives + 1] = soonest


@kernel
def _heard(wanted: float, step: float) -> float:
    return round(wanted / step) * step if step > 0.0 else wanted


@kernel
def _mean(drive: F64, step: int, steps: int) -> None:
    """Leave the mean over the substeps of a tick, so that sums do not lean to its last part."""
    share = 1.0 / steps
    for block in range(len(drive) // BLOCK):
        b = (block * BLOCK) & FITS
        for i in range(b, b + LANES):
            if step == 0:
                drive[i + SUM_DUTY] = drive[i + SUM_AMPS] = drive[i + SUM_GIVES] = 0.0
            drive[i + SUM_DUTY] += share * drive[i + DUTY]
            drive[i + SUM_AMPS] += share * drive[i + AMPS]
            drive[i + SUM_GIVES] += share * drive[i + GIVES]
            if step == steps - 1:
                drive[i + DUTY], drive[i + AMPS] = drive[i + SUM_DUTY], drive[i + SUM_AMPS]
                drive[i + GIVES] = drive[i + SUM_GIVES]
