"""One tick of 1/1200 s of one island, for the batch run and for a live try-out.

Order: frame phase -> hold and quantise -> duty from position and speed -> rails -> currents -> speeds -> positions.
The pieces take plain arrays and run over all drives or mechs at once: a named tuple handed down to every mech costs more
than the mech itself.
"""

from __future__ import annotations

from numba import njit

from marotte.basis.contracts.common import F64, I64
from marotte.basis.ticks import SERIES_EVERY, TICK_S
from marotte.drive.lookup import between, invert_one, invert_two, outputs
from marotte.drive.moves import one_input, two_inputs
from marotte.drive.plan import (
    BRAKE,
    CURVE0,
    CURVE_M,
    DEAD,
    DELAY,
    DRIVE0,
    FRAME,
    GAIN,
    HI0,
    HOLD0,
    HOLD1,
    LO0,
    N_IN,
    N_OUT,
    OUT0,
    SKIN_INV,
    SKIN_LO,
    SKIN_REST,
    STEP,
    Plan,
    State,
)
from marotte.drive.rails import rails


@njit(cache=True, nogil=True)
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
        p.drive_f, p.drive_i, p.gears, p.mech_f, p.mech_i, p.table, p.out_f, p.out_i, p.inverse, p.lead_f, p.lead_i,
        p.skin_f, p.skin_i, p.hold_f, p.hold_i, p.curve, p.substeps,
        s.theta, s.omega, s.duty, s.amps, s.volts, s.torque, s.target, s.wait, s.position, s.rate, s.pull,
        s.lead_v, s.lead_a, s.lead_g, s.lead_s, s.mode, s.mean,
        asked, played, at, gravity,
    )  # fmt: skip


@njit(cache=True, nogil=True)
def advance(
    drive_f: F64, drive_i: I64, gears: F64, mech_f: F64, mech_i: I64, table: F64, out_f: F64, out_i: I64, inverse: F64,
    lead_f: F64, lead_i: I64, skin_f: F64, skin_i: I64, hold_f: F64, hold_i: I64, curve: F64, substeps: int,
    theta: F64, omega: F64, duty: F64, amps: F64, volts: F64, torque: F64, target: F64, wait: I64,
    position: F64, rate: F64, pull: F64, lead_v: F64, lead_a: F64, lead_g: F64, lead_s: F64, mode: I64, mean: F64,
    asked: F64, played: F64, at: float, gravity: F64,
) -> None:  # fmt: skip
    """Do what ``tick`` does, with the fields of Plan and State one by one: loops take the tuples apart once, not each tick."""
    _listen(drive_f, drive_i, mech_f, mech_i, table, out_f, out_i, inverse, asked, at, target, wait)
    h = TICK_S / substeps
    for row in range(len(played)):
        position[len(out_f) + row] = between(played, row, at)
    for step in range(substeps):
        _duties(drive_f, 0.5 * h, target, theta, omega, duty)
        rails(drive_f, drive_i, lead_f, lead_i, duty, omega, volts, lead_v, lead_a, lead_g, lead_s, mode)
        if len(skin_f) > 0:
            outputs(mech_f, mech_i, table, theta, omega, 0.5 * h, True, position, rate)
            _skins(skin_f, skin_i, hold_f, hold_i, curve, position, pull)
        one_input(
            drive_f, drive_i, gears, mech_f, mech_i, table, rate, pull, gravity, h,
            theta, omega, duty, amps, volts, torque,
        )  # fmt: skip
        two_inputs(
            drive_f, drive_i, gears, mech_f, mech_i, table, rate, pull, gravity, h,
            theta, omega, duty, amps, volts, torque,
        )  # fmt: skip

        if substeps > 1:
            _gather(amps, volts, torque, duty, mean, step, substeps)


@njit(cache=True, nogil=True)
def _listen(
    drive_f: F64, drive_i: I64, mech_f: F64, mech_i: I64, t: F64, out_f: F64, out_i: I64, inverse: F64,
    asked: F64, at: float, target: F64, wait: I64,
) -> None:  # fmt: skip
    """Let every servo whose frame begins take what is asked of its mech, as late as link and servo make it."""
    for m in range(len(mech_f)):
        d, first, outs = mech_i[m, DRIVE0], mech_i[m, OUT0], mech_i[m, N_OUT]
        if mech_i[m, N_IN] == 1:
            if wait[d] == 0:
                then = at - drive_i[d, DELAY] * (1.0 / SERIES_EVERY)
                wanted = invert_one(out_f, out_i, inverse, first, outs, asked, then)
                target[d] = _heard(min(max(wanted, mech_f[m, LO0]), mech_f[m, HI0]), drive_f[d, STEP])
                wait[d] = drive_i[d, FRAME]
            wait[d] -= 1
            continue
        for e in range(d, d + 2):
            if wait[e] == 0:
                then = at - drive_i[e, DELAY] * (1.0 / SERIES_EVERY)
                want0, want1 = between(asked, first, then), between(asked, first + outs - 1, then)
                a, b = invert_two(mech_f, mech_i, t, m, want0, want1, target[d], target[d + 1])
                target[e] = _heard(a if e == d else b, drive_f[e, STEP])
                wait[e] = drive_i[e, FRAME]
            wait[e] -= 1


@njit(cache=True, nogil=True)
def _gather(amps: F64, volts: F64, torque: F64, duty: F64, mean: F64, step: int, steps: int) -> None:
    """Leave the mean over the substeps of a tick, so that sums do not lean to its last part."""
    share = 1.0 / steps
    for d in range(len(amps)):
        if step == 0:
            mean[d, :] = 0.0
        mean[d, 0] += share * amps[d]
        mean[d, 1] += share * volts[d]
        mean[d, 2] += share * torque[d]
        mean[d, 3] += share * duty[d]
        if step == steps - 1:
            amps[d], volts[d], torque[d], duty[d] = mean[d, 0], mean[d, 1], mean[d, 2], mean[d, 3]


@njit(cache=True, nogil=True)
def _heard(wanted: float, step: float) -> float:
    return round(wanted / step) * step if step > 0.0 else wanted


@njit(cache=True, nogil=True)
def _duties(drive_f: F64, ahead: float, target: F64, theta: F64, omega: F64, duty: F64) -> None:
    """Set the duty of every servo: in proportion to the error half a step ahead beyond the dead band, less its speed."""
    for d in range(len(drive_f)):
        error = target[d] - theta[d] - ahead * omega[d]
        dead = drive_f[d, DEAD]
        error = error - dead if error > dead else error + dead if error < -dead else 0.0
        duty[d] = min(max(error * drive_f[d, GAIN] - omega[d] * drive_f[d, BRAKE], -1.0), 1.0)


@njit(cache=True, nogil=True)
def _skins(skin_f: F64, skin_i: I64, hold_f: F64, hold_i: I64, curve: F64, position: F64, pull: F64) -> None:
    """Add up what every skin pulls on its holds: one stretch, one force, so that no energy is made."""
    pull[:] = 0.0
    for s in range(len(skin_f)):
        stretch = -skin_f[s, SKIN_REST]
        for k in range(skin_i[s, HOLD0], skin_i[s, HOLD1]):
            stretch += hold_f[k] * position[hold_i[k]]
        x = (stretch - skin_f[s, SKIN_LO]) * skin_f[s, SKIN_INV]
        i = min(max(int(x), 0), skin_i[s, CURVE_M] - 2)
        base = skin_i[s, CURVE0] + i
        force = curve[base] + (x - i) * (curve[base + 1] - curve[base])
        for k in range(skin_i[s, HOLD0], skin_i[s, HOLD1]):
            pull[hold_i[k]] -= hold_f[k] * force
