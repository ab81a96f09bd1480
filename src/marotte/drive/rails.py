"""The supply as a tree, solved without iteration.

With the duty known each servo is a conductance and a source. They are folded from the leaves to the battery and the
voltages are handed back down: exact, in one pass each way. What a regulator is doing (holding its voltage, dropped out,
at its limit) is taken from the last tick; so is the voltage that a switching regulator turns its power into current at.
"""

from __future__ import annotations

from numba import njit

from marotte.basis.contracts.common import F64, I64
from marotte.drive.plan import (
    DROP_V,
    DROPPED,
    EFFICIENCY,
    FREE,
    INV_R,
    KE,
    LEAD,
    LIMIT_A,
    LIMITED,
    LINEAR,
    OHM,
    PARENT,
    PLAIN,
    REGULATOR,
    SOURCE_V,
)


@njit(cache=True, nogil=True)
def rails(
    drive_f: F64, drive_i: I64, lead_f: F64, lead_i: I64, duty: F64, omega: F64, volts: F64,
    lead_v: F64, lead_a: F64, g: F64, s: F64, mode: I64,
) -> None:  # fmt: skip
    """Set voltage and current of every lead, and the voltage at every servo, from duties and speeds.

    Args:
        drive_f: (d, DRIVE_COLS), and so on, of the Plan.
        drive_i: see there.
        lead_f: see there.
        lead_i: see there.
        duty: (d,), and so on, of the State.
        omega: see there.
        volts: see there; set.
        lead_v: see there; set.
        lead_a: see there; set.
        g: scratch.
        s: scratch.
        mode: see there; set for the next tick.
    """
    leads = len(lead_f)
    for n in range(leads):
        g[n] = 0.0
        s[n] = 0.0
    for d in range(len(drive_f)):
        n = drive_i[d, LEAD]
        per_volt = duty[d] * drive_f[d, INV_R]
        g[n] += duty[d] * per_volt
        s[n] -= per_volt * drive_f[d, KE] * omega[d]
    for n in range(leads - 1, -1, -1):
        up, kind = lead_i[n, PARENT], lead_i[n, REGULATOR]
        if up < 0:
            continue
        ohm = lead_f[n, OHM]
        if kind == PLAIN or mode[n] == DROPPED:
            drop = lead_f[n, DROP_V] if kind != PLAIN else 0.0
            share = 1.0 / (1.0 + ohm * g[n])
            g[up] += g[n] * share
            s[up] += (s[n] - g[n] * drop) * share
            continue
        far, amps = _held(lead_f[n, SOURCE_V], ohm, lead_f[n, LIMIT_A], g[n], s[n], mode[n])
        if amps > 0.0:  # a regulator takes nothing back
            if kind == LINEAR:
                s[up] += amps
            else:
                before = max(lead_v[up], 0.25 * lead_f[n, SOURCE_V])
                s[up] += (far + ohm * amps) * amps / (lead_f[n, EFFICIENCY] * before)
    for n in range(leads):
        up, kind, ohm = lead_i[n, PARENT], lead_i[n, REGULATOR], lead_f[n, OHM]
        if up >= 0 and (kind == PLAIN or mode[n] == DROPPED):
            drop = lead_f[n, DROP_V] if kind != PLAIN else 0.0
            near = max(lead_v[up] - drop, 0.0)
            far = max((near - ohm * s[n]) / (1.0 + ohm * g[n]), 0.0)
            amps = g[n] * far + s[n]
        else:
            far, amps = _held(lead_f[n, SOURCE_V], ohm, lead_f[n, LIMIT_A], g[n], s[n], mode[n])
        lead_v[n] = far
        lead_a[n] = amps
        if kind != PLAIN:
            above = lead_v[up] - lead_f[n, DROP_V] if up >= 0 else lead_f[n, SOURCE_V]
            mode[n] = _mode(mode[n], far + ohm * amps, amps, lead_f[n, LIMIT_A], lead_f[n, SOURCE_V], above)
    for d in range(len(drive_f)):
        volts[d] = lead_v[drive_i[d, LEAD]]


@njit(cache=True, nogil=True)
def _held(source_v: float, ohm: float, limit: float, g: float, s: float, mode: int) -> tuple[float, float]:
    """Return voltage at the far end and current of a lead whose near end is held at its source, limit included."""
    if mode == LIMITED and g > 1e-12:
        return max((limit - s) / g, 0.0), limit
    far = max((source_v - ohm * s) / (1.0 + ohm * g), 0.0)
    return far, g * far + s


@njit(cache=True, nogil=True)
def _mode(mode: int, near: float, amps: float, limit: float, source_v: float, above: float) -> int:
    """Return what a regulator does in the next tick."""
    if mode == LIMITED and near < min(source_v, above):
        return LIMITED
    if mode != LIMITED and amps > limit:
        return LIMITED
    return DROPPED if above < source_v else FREE
