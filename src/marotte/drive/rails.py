"""The supply as a tree, solved without iteration.

With the duty known each servo is a conductance and a source. They are folded from the leaves to the battery and the
voltages are handed back down: exact, in one pass each way. What a regulator is doing (holding its voltage, dropped out,
at its limit) is taken from the last tick; so is the voltage that a switching regulator turns its power into current at.
"""

from __future__ import annotations

from numba import njit

from marotte.basis.contracts.common import F64, I64
from marotte.drive.plan import (
    BRAKE,
    DEAD,
    DROP_V,
    DROPPED,
    DUTY,
    EFFICIENCY,
    FITS,
    FREE,
    GAIN,
    INV_R,
    KE,
    LANES,
    LAST,
    LEAD,
    LEAD_A,
    LEAD_G,
    LEAD_S,
    LEAD_V,
    LIMIT_A,
    LIMITED,
    LINEAR,
    OHM,
    OMEGA,
    PARENT,
    PLAIN,
    REGULATOR,
    SHIFT,
    SOURCE_V,
    TARGET,
    THETA,
    VOLTS,
    G,
    S,
)  # fmt: skip


@njit(inline="always", error_model="numpy", fastmath={"contract"})
def duties(drives: int, lanes: F64, drive: F64, ahead: float) -> None:
    """Set the duty of every servo, and what it is to its lead: a conductance and a source.

    The duty is in proportion to the error beyond the dead band, taken ``ahead`` seconds on, less the speed.
    """
    for block in range(len(drive)):
        w, p = drive[block], lanes[block]
        for m in range(min(drives - block * LANES, LANES)):
            omega, dead = w[OMEGA + m], p[DEAD + m]
            error = w[TARGET + m] - w[THETA + m] - ahead * omega
            error = error - dead if error > dead else error + dead if error < -dead else 0.0
            duty = error * p[GAIN + m] - omega * p[BRAKE + m]
            duty = 1.0 if duty > 1.0 else -1.0 if duty < -1.0 else duty
            w[DUTY + m] = duty
            per_volt = duty * p[INV_R + m]
            w[G + m] = duty * per_volt
            w[S + m] = -per_volt * p[KE + m] * omega


@njit(inline="always", error_model="numpy", fastmath={"contract"})
def rails(drive_i: I64, lead_f: F64, lead_i: I64, drive: F64, lead: F64, mode: I64) -> None:
    """Set voltage and current of every lead, and the voltage at every servo.

    Args:
        drive_i: (d, DRIVE_INTS), and so on, of the Plan.
        lead_f: see there.
        lead_i: see there.
        drive: (blocks, STATE_ROWS * LANES), and so on, of the State.
        lead: see there; set.
        mode: see there; set for the next step.
    """
    leads = len(lead_f)
    for n in range(leads):
        lead[n, LEAD_G] = 0.0
        lead[n, LEAD_S] = 0.0
    for d in range(len(drive_i)):
        n = drive_i[d, LEAD] & FITS
        lead[n, LEAD_G] += drive[d >> SHIFT, G + (d & LAST)]
        lead[n, LEAD_S] += drive[d >> SHIFT, S + (d & LAST)]
    for n in range(leads - 1, -1, -1):
        up, kind = lead_i[n, PARENT], lead_i[n, REGULATOR]
        if up < 0:
            continue
        ohm, g, s = lead_f[n, OHM], lead[n, LEAD_G], lead[n, LEAD_S]
        if kind == PLAIN or mode[n] == DROPPED:
            drop = lead_f[n, DROP_V] if kind != PLAIN else 0.0
            share = 1.0 / (1.0 + ohm * g)
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
            far = max((near - ohm * s) / (1.0 + ohm * g), 0.0)
            amps = g * far + s
        else:
            far, amps = _held(lead_f[n, SOURCE_V], ohm, lead_f[n, LIMIT_A], g, s, mode[n])
        lead[n, LEAD_V] = far
        lead[n, LEAD_A] = amps
        if kind != PLAIN:
            above = lead[up, LEAD_V] - lead_f[n, DROP_V] if up >= 0 else lead_f[n, SOURCE_V]
            mode[n] = _mode(mode[n], far + ohm * amps, amps, lead_f[n, LIMIT_A], lead_f[n, SOURCE_V], above)
    for d in range(len(drive_i)):
        drive[d >> SHIFT, VOLTS + (d & LAST)] = lead[drive_i[d, LEAD] & FITS, LEAD_V]


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _held(source_v: float, ohm: float, limit: float, g: float, s: float, mode: int) -> tuple[float, float]:
    """Return voltage at the far end and current of a lead whose near end is held at its source, limit included."""
    if mode == LIMITED and g > 1e-12:
        return max((limit - s) / g, 0.0), limit
    far = max((source_v - ohm * s) / (1.0 + ohm * g), 0.0)
    return far, g * far + s


@njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _mode(mode: int, near: float, amps: float, limit: float, source_v: float, above: float) -> int:
    """Return what a regulator does in the next tick."""
    if mode == LIMITED and near < min(source_v, above):
        return LIMITED
    if mode != LIMITED and amps > limit:
        return LIMITED
    return DROPPED if above < source_v else FREE
