"""What a compiled tick reads (Plan) and what it changes (State): arrays only, one dtype and layout each.

Column numbers stand here once; the model writes by them and the kernels read by them.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from marotte.basis.contracts.common import F64, I64

# drive_f: one row a drive
KE, INV_R, GAIN, BRAKE, DEAD, INERTIA, STEP, DRIVE_COLS = range(8)
# drive_i
LEAD, FRAME, DELAY, SEG0, SEG1, DRIVE_INTS = range(6)
# mech_f: one row a mech
LO0, INV0, HI0, LO1, INV1, HI1, DRY, LOSS_ON, LOSS_BACK, MECH_COLS = range(10)
# mech_i
N_IN, DRIVE0, TABLE, M0, M1, N_OUT, OUT0, WIDTH, WORLD, HELD, MECH_INTS = range(11)
# out_f, out_i: one row an output
INV_LO, INV_STEP, WEIGHT, OUT_COLS = range(4)
INV_TABLE, INV_M, OUT_INTS = range(3)
# lead_f, lead_i: one row a lead, parents first
OHM, SOURCE_V, LIMIT_A, DROP_V, EFFICIENCY, LEAD_COLS = range(6)
PARENT, REGULATOR, LEAD_INTS = range(3)
# regulators and what they are doing
PLAIN, SWITCHING, LINEAR = range(3)
FREE, DROPPED, LIMITED = range(3)
# skin_f, skin_i
SKIN_LO, SKIN_INV, SKIN_REST, SKIN_COLS = range(4)
HOLD0, HOLD1, CURVE0, CURVE_M, SKIN_INTS = range(5)
# columns of a one-input table: all at the input, so that outputs beyond the first cost nothing
T_J, T_BEND, T_GX, T_GY, T_GZ, T_SPRING, T_DRY, T_VISC, T1_BASE = range(9)
# columns of a two-input table: mass 00 01 11, gravity 0xyz 1xyz, spring 0 1, centrifugal 0:(00 01 11) 1:(...), dry, viscous
T2_MASS, T2_GRAVITY, T2_SPRING, T2_BEND, T2_DRY, T2_VISC, T2_BASE = 0, 3, 9, 11, 17, 19, 22


class Plan(NamedTuple):
    """One island, ready to run. n outputs, d drives, m mechs, l leads, s skins; constant over a run."""

    drive_f: F64
    """(d, DRIVE_COLS)"""
    drive_i: I64
    """(d, DRIVE_INTS)"""
    gears: F64
    """(pieces, 3): from current, N*m, N*m per A: dry friction of the gears."""
    mech_f: F64
    mech_i: I64
    table: F64
    """All transmission tables, one after another."""
    out_f: F64
    out_i: I64
    inverse: F64
    """Input over uniform output, one table after another (one-input mechs)."""
    lead_f: F64
    lead_i: I64
    skin_f: F64
    skin_i: I64
    hold_f: F64
    hold_i: I64
    """Output that each hold draws on; outputs from ``len(out_f)`` on are the plain ones."""
    curve: F64
    """Uniform force tables of the skins."""
    substeps: int


class State(NamedTuple):
    """One island in motion."""

    theta: F64
    """(d,) input position [rad]."""
    omega: F64
    """(d,) [rad/s]."""
    duty: F64
    amps: F64
    """(d,) motor current [A]."""
    volts: F64
    """(d,) voltage at the servo [V]."""
    torque: F64
    """(d,) what the servo gives to the mech [N*m]."""
    target: F64
    """(d,) what the servo last heard [rad]."""
    wait: I64
    """(d,) ticks until it listens again."""
    position: F64
    """(n + plain,) of the outputs, then of the plain functions."""
    rate: F64
    """(n, 2) output per input."""
    pull: F64
    """(n + plain,) force of the skins on each."""
    lead_v: F64
    """(l,) at the far end."""
    lead_a: F64
    lead_g: F64
    lead_s: F64
    mode: I64
    mean: F64
    """(d, 4) scratch: current, voltage, torque and duty added up over the substeps of a tick."""


def fresh(plan: Plan, plain: int) -> State:
    """Return a state of the right shapes, everything zero, for a plan and a number of plain functions."""
    d, n, leads = len(plan.drive_f), len(plan.out_f), len(plan.lead_f)
    return State(
        theta=np.zeros(d), omega=np.zeros(d), duty=np.zeros(d), amps=np.zeros(d), volts=np.zeros(d),
        torque=np.zeros(d), target=np.zeros(d), wait=np.zeros(d, dtype=np.int64),
        position=np.zeros(n + plain),
        rate=np.zeros((n, 2)), pull=np.zeros(n + plain),
        lead_v=plan.lead_f[:, SOURCE_V].copy(), lead_a=np.zeros(leads), lead_g=np.zeros(leads), lead_s=np.zeros(leads),
        mode=np.zeros(leads, dtype=np.int64), mean=np.zeros((d, 4)),
    )  # fmt: skip
