"""The supply as a tree, solved without iteration.

With the duty known each servo is a conductance and a source. They are folded from the leaves to the battery and the
voltages are handed back down: exact, in one pass each way. What a regulator is doing (holding its voltage, dropped out,
at its limit) is taken from the last tick; so is the voltage that a switching regulator turns its power into current at.
"""

from __future__ import annotations

from marotte.basis.contracts.common import F64, I64
from marotte.drive.compiled import inside, kernel
from marotte.drive.plan import (
    AMPS,
    BRAKE,
    DEAD,
    DROP_V,
    DROPPED,
    DUTY,
    EFFICIENCY,
    FED0,
    FED1,
    FITS,
    FREE,
    GAIN,
    INV_R,
    KE,
    LEAD_A,
    LEAD_G,
    LEAD_S,
    LEAD_SHARE,
    LEAD_V,
    LIMIT_A,
    LIMITED,
    LINEAR,
    OHM,
    OMEGA,
    PARENT,
    PLAIN,
    REGULATOR,
    SOURCE_V,
    TARGET,
    THETA,
    VOLTS,
    G,
    S,
)  # fmt: skip


@inside
def set_duty(drive: F64, i: int, ahead: float) -> None:
    """Set the duty of the servo of lane i, and what it is to its lead: a conductance and a source.

    The duty is in proportion to the error beyond the dead band, taken ``ahead`` seconds on, less the speed.
    """
    omega, dead = drive[i + OMEGA], drive[i + DEAD]
    error = drive[i + TARGET] - drive[i + THETA] - ahead * omega
    error = error - dead if error > dead else error + dead if error < -dead else 0.0
    duty = error * drive[i + GAIN] - omega * drive[i + BRAKE]
    duty = 1.0 if duty > 1.0 else -1.0 if duty < -1.0 else duty
    drive[i + DUTY] = duty
    per_volt = duty * drive[i + INV_R]
    drive[i + G] = duty * per_volt
    drive[i + S] = -per_volt * drive[i + KE] * omega


@inside
def rails(lead_f: F64, lead_i: I64, fed: I64, drive: F64, lead: F64, mode: I64) -> None:
    """Set voltage and current of every lead, and the voltage at every servo.

    Args:
        lead_f: (l, LEAD_COLS), and so on, of the Plan.
        lead_i: see there.
        fed: see there.
        drive: (blocks * BLOCK,), and so on, of the State.
        lead: see there; set.
        mode: see there; set for the next step.
    """
    leads = len(lead_f)
    for n in range(leads):
        g, s = 0.0, 0.0
        for i in range(lead_i[n, FED0] & FITS, lead_i[n, FED1] & FITS):
            lane = fed[i & FITS] & FITS
            g += drive[lane + G]
            s += drive[lane + S]
        lead[n, LEAD_G] = g
        lead[n, LEAD_S] = s
    for n in range(leads - 1, -1, -1):
        up, kind = lead_i[n, PARENT], lead_i[n, REGULATOR]
        if up < 0:
            continue
        ohm, g, s = lead_f[n, OHM], lead[n, LEAD_G], lead[n, LEAD_S]
        if kind == PLAIN or mode[n] == DROPPED:
            drop = lead_f[n, DROP_V] if kind != PLAIN else 0.0
            share = 1.0 / (1.0 + ohm * g)
            lead[n, LEAD_SHARE] = share
            lead[up, LEAD_G] += g * share
            lead[up, LEAD_S] += (s - g * drop) * share
            continue
        far, amps = _held(lead_f[n, SOURCE_V], ohm, lead_f[n, LIMIT_A], g, s, mode[n])
        if amps > 0.0:  # a regulator takes nothing back
            if kind == LINEAR:
                lead[up, LEAD_S] += amps
            else:
                before = max(lead[up, LEAD_V], 0.25 * lead_f[n, SOURCE_V])
                lead[up, LEAD_S] += (far + ohm * amps) * amps / (lead_f[n, EFFICIENCY] * before)
    for n in range(leads):
        up, kind, ohm = lead_i[n, PARENT], lead_i[n, REGULATOR], lead_f[n, OHM]
        g, s = lead[n, LEAD_G], lead[n, LEAD_S]
        if up >= 0 and (kind == PLAIN or mode[n] == DROPPED):
            drop = lead_f[n, DROP_V] if kind != PLAIN else 0.0
            near = max(lead[up, LEAD_V] - drop, 0.0)
            far = max((near - ohm * s) * lead[n, LEAD_SHARE], 0.0)
            amps = g * far + s
        else:
            far, amps = _held(lead_f[n, SOURCE_V], ohm, lead_f[n, LIMIT_A], g, s, mode[n])
        lead[n, LEAD_V] = far
        lead[n, LEAD_A] = amps
        if kind != PLAIN:
            above = lead[up, LEAD_V] - lead_f[n, DROP_V] if up >= 0 else lead_f[n, SOURCE_V]
            mode[n] = _mode(mode[n], far + ohm * amps, amps, lead_f[n, LIMIT_A], lead_f[n, SOURCE_V], above)
        for i in range(lead_i[n, FED0] & FITS, lead_i[n, FED1] & FITS):
            drive[(fed[i & FITS] & FITS) + VOLTS] = far


@inside
def flows(lead_f: F64, lead_i: I64, fed: I64, drive: F64, lead: F64, mode: I64) -> None:
    """Set current and voltage of every lead to the mean over the tick, once the speeds in it are known.

    ``rails`` has the currents of the tick's beginning: right for what the servos get, too high where a frame has just begun.
    """
    leads = len(lead_f)
    for n in range(leads):
        first, stop = lead_i[n, FED0] & FITS, lead_i[n, FED1] & FITS
        even, odd = 0.0, 0.0  # two sums side by side, since each waits for its last term
        for i in range(first, stop - 1, 2):
            lane, other = fed[i & FITS] & FITS, fed[(i + 1) & FITS] & FITS
            even += drive[lane + DUTY] * drive[lane + AMPS]
            odd += drive[other + DUTY] * drive[other + AMPS]
        if (stop - first) & 1:
            lane = fed[(stop - 1) & FITS] & FITS
            even += drive[lane + DUTY] * drive[lane + AMPS]
        lead[n, LEAD_S] = even + odd
    for n in range(leads - 1, -1, -1):
        up, kind = lead_i[n, PARENT], lead_i[n, REGULATOR]
        if mode[n] != LIMITED:  # one at its limit gives that, and its voltage is what it may
            lead[n, LEAD_A] = lead[n, LEAD_S]
        amps = lead[n, LEAD_A]
        if up < 0:
            continue
        if kind == PLAIN or mode[n] == DROPPED:
            lead[up, LEAD_S] += amps
        elif kind == LINEAR:
            lead[up, LEAD_S] += max(amps, 0.0)
        else:
            near = lead[n, LEAD_V] + lead_f[n, OHM] * amps
            before = max(lead[up, LEAD_V], 0.25 * lead_f[n, SOURCE_V])
            lead[up, LEAD_S] += max(near * amps, 0.0) / (lead_f[n, EFFICIENCY] * before)
    for n in range(leads):
        up, kind = lead_i[n, PARENT], lead_i[n, REGULATOR]
        if mode[n] == LIMITED:
            continue
        near = lead_f[n, SOURCE_V]
        if up >= 0 and (kind == PLAIN or mode[n] == DROPPED):
            near = lead[up, LEAD_V] - (lead_f[n, DROP_V] if kind != PLAIN else 0.0)
        lead[n, LEAD_V] = max(near - lead_f[n, OHM] * lead[n, LEAD_A], 0.0)


@kernel
def _held(source_v: float, ohm: float, limit: float, g: float, s: float, mode: int) -> tuple[float, float]:
    """Return voltage at the far end and current of a lead whose near end is held at its source, limit included."""
    if mode == LIMITED and g > 1e-12:
        return max((limit - s) / g, 0.0), limit
    far = max((source_v - ohm * s) / (1.0 + ohm * g), 0.0)
    return far, g * far + s


@kernel
def _mode(mode: int, near: float, amps: float, limit: float, source_v: float, above: float) -> int:
    """Return what a regulator does in the next tick."""
    if mode == LIMITED and near < min(source_v, above):
        return LIMITED
    if mode != LIMITED and amps > limit:
        return LIMITED
    return DROPPED if above < source_v else FREE
