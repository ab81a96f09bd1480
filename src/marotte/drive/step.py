"""One tick of 1/1200 s of one island, for the batch run and for a live try-out.

Order: frame phase -> hold and quantise -> duty from position and speed -> rails -> currents -> speeds -> positions.
The pieces take plain arrays and run over all drives or mechs at once: a named tuple handed down to every mech costs more
than the mech itself. Of the compiler's freedoms with numbers only one is taken: a product and a sum may become one
instruction. Nothing is reordered, and what is not a number stays so.
"""

from __future__ import annotations

from numba import njit

from marotte.basis.contracts.common import F64, I64
from marotte.basis.ticks import SERIES_EVERY, TICK_S
from marotte.drive.lookup import between, invert_one, invert_two, outputs
from marotte.drive.moves import look_up, one_input, pulled, two_inputs
from marotte.drive.plan import (
    AMPS,
    CURVE0,
    CURVE_M,
    DELAY,
    DRIVE0,
    DUTY,
    FITS,
    FRAME,
    GIVES,
    HI0,
    HOLD0,
    HOLD1,
    LANES,
    LAST,
    LO0,
    N_IN,
    N_OUT,
    OUT0,
    POSITION,
    PULL,
    SHIFT,
    SKIN_INV,
    SKIN_LO,
    SKIN_REST,
    STEP,
    SUM_AMPS,
    SUM_DUTY,
    SUM_GIVES,
    TARGET,
    Plan,
    State,
)  # fmt: skip
from marotte.drive.rails import duties, rails


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
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
        p.lanes, p.drive_i, p.gears, p.mech_f, p.mech_i, p.table, p.out_f, p.out_i, p.inverse, p.lead_f, p.lead_i,
        p.skin_f, p.skin_i, p.hold_f, p.hold_i, p.curve, p.substeps, p.ones, s.drive, s.wait, s.out, s.lead, s.mode, s.row,
        asked, played, at, gravity,
    )  # fmt: skip


@njit(inline="always", error_model="numpy", fastmath={"contract"})
def advance(
    lanes: F64, drive_i: I64, gears: F64, mech_f: F64, mech_i: I64, table: F64, out_f: F64, out_i: I64, inverse: F64,
    lead_f: F64, lead_i: I64, skin_f: F64, skin_i: I64, hold_f: F64, hold_i: I64, curve: F64, substeps: int, ones: int,
    drive: F64, wait: I64, out: F64, lead: F64, mode: I64, row: F64, asked: F64, played: F64, at: float, gravity: F64,
) -> None:  # fmt: skip
    """Do what ``tick`` does, with the fields of Plan and State one by one: loops take the tuples apart once, not each tick."""
    drives = len(drive_i)
    if wait[drives] == 0:
        _listen(lanes, drive_i, mech_f, mech_i, table, out_f, out_i, inverse, asked, at, drive, wait)
    wait[drives] -= 1
    h = TICK_S / substeps
    for p in range(len(played)):
        out[len(out_f) + p, POSITION] = between(played, p, at)
    for step in range(substeps):
        duties(drives, lanes, drive, 0.5 * h)
        rails(drive_i, lead_f, lead_i, drive, lead, mode)
        look_up(ones, drive_i, gears, lanes, mech_f, mech_i, table, drive, out, row, gravity, 0.5 * h)
        if len(skin_f) > 0:
            outputs(ones, mech_f, mech_i, table, drive, out, 0.5 * h, True)
            _skins(skin_f, skin_i, hold_f, hold_i, curve, out)
            pulled(ones, mech_i, drive, out)
        one_input(ones, lanes, drive, h)
        if ones < len(mech_f):
            two_inputs(ones, lanes, drive_i, gears, mech_f, mech_i, table, drive, out, gravity, h)
        if substeps > 1:
            _mean(drive, step, substeps)


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _listen(
    lanes: F64, drive_i: I64, mech_f: F64, mech_i: I64, t: F64, out_f: F64, out_i: I64, inverse: F64,
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
                drive[d >> SHIFT, TARGET + (d & LAST)] = _heard(wanted, lanes[d >> SHIFT, STEP + (d & LAST)])
            continue
        for e in range(d, d + 2):
            if wait[e] == 0:
                then = at - drive_i[e, DELAY] * (1.0 / SERIES_EVERY)
                want0, want1 = between(asked, first, then), between(asked, first + outs - 1, then)
                f = d + 1
                first_at, second_at = drive[d >> SHIFT, TARGET + (d & LAST)], drive[f >> SHIFT, TARGET + (f & LAST)]
                a, b = invert_two(mech_f, mech_i, t, m, want0, want1, first_at, second_at)
                wanted = a if e == d else b
                drive[e >> SHIFT, TARGET + (e & LAST)] = _heard(wanted, lanes[e >> SHIFT, STEP + (e & LAST)])
    soonest = drive_i[0, FRAME]
    for d in range(drives):
        if wait[d] == 0:
            wait[d] = drive_i[d, FRAME]
        soonest = min(soonest, wait[d])
    wait[drives] = soonest
    wait[drives + 1] = soonest


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _heard(wanted: float, step: float) -> float:
    return round(wanted / step) * step if step > 0.0 else wanted


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _mean(drive: F64, step: int, steps: int) -> None:
    """Leave the mean over the substeps of a tick, so that sums do not lean to its last part."""
    share = 1.0 / steps
    for block in range(len(drive)):
        w = drive[block]
        for m in range(LANES):
            if step == 0:
                w[SUM_DUTY + m] = w[SUM_AMPS + m] = w[SUM_GIVES + m] = 0.0
            w[SUM_DUTY + m] += share * w[DUTY + m]
            w[SUM_AMPS + m] += share * w[AMPS + m]
            w[SUM_GIVES + m] += share * w[GIVES + m]
            if step == steps - 1:
                w[DUTY + m], w[AMPS + m], w[GIVES + m] = w[SUM_DUTY + m], w[SUM_AMPS + m], w[SUM_GIVES + m]


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _skins(skin_f: F64, skin_i: I64, hold_f: F64, hold_i: I64, curve: F64, out: F64) -> None:
    """Add up what every skin pulls on its holds: one stretch, one force, so that no energy is made."""
    for o in range(len(out)):
        out[o, PULL] = 0.0
    for s in range(len(skin_f)):
        first, stop = skin_i[s, HOLD0] & FITS, skin_i[s, HOLD1] & FITS
        stretch = -skin_f[s, SKIN_REST]
        for k in range(first, stop):
            stretch += hold_f[k & FITS] * out[hold_i[k & FITS] & FITS, POSITION]
        x = (stretch - skin_f[s, SKIN_LO]) * skin_f[s, SKIN_INV]
        i = min(max(int(x), 0), skin_i[s, CURVE_M] - 2)
        base = (skin_i[s, CURVE0] + i) & FITS
        force = curve[base] + (x - i) * (curve[base + 1] - curve[base])
        for k in range(first, stop):
            out[hold_i[k & FITS] & FITS, PULL] -= hold_f[k & FITS] * force
