"""What a compiled tick reads (Plan) and what it changes (State): arrays only, one dtype and layout each.

Column numbers stand here once; the model writes by them and the kernels read by them.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from marotte.basis.contracts.common import F64, I64

FITS: Final = 0x7FFFFFFF
"""Masks an index that is known not to be negative, so that the compiler drops its test for counting from the end."""

LANES: Final = 64
"""Drives stand side by side in blocks of so many lanes, quantity after quantity, at distances that the compiler knows: only
then does it make vectors of the loops over them. Drive d stands in block ``d // LANES``, lane ``d % LANES``."""
SHIFT: Final = 6
LAST: Final = LANES - 1

# lanes of the plan: what each servo is, and the dry friction, losses and span of its mech
(
    KE, INV_R, GAIN, BRAKE, DEAD, INERTIA, STEP, LEVEL0, SLOPE0, LO, HI, RUB, LOSS_ON, LOSS_BACK,
) = range(0, 14 * LANES, LANES)  # fmt: skip
PLAN_ROWS = 14
# drive_i: one row a drive
LEAD, FRAME, DELAY, SEG0, SEG1, DRIVE_INTS = range(6)
# mech_f: one row a mech
LO0, INV0, HI0, LO1, INV1, HI1, MECH_COLS = range(7)
# mech_i: the drive of a one-input mech has the number of the mech
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
# columns of a one-input table, all at the input; then position and rate of each output, of which the first stands in the row
T_J, T_BEND, T_GX, T_GY, T_GZ, T_SPRING, T_DRY, T_VISC, T1_BASE = range(9)
T_POSITION, T_RATE, T1_ROW = range(8, 11)
# columns of a two-input table: mass 00 01 11, gravity 0xyz 1xyz, spring 0 1, centrifugal 0:(00 01 11) 1:(...), dry, viscous
T2_MASS, T2_GRAVITY, T2_SPRING, T2_BEND, T2_DRY, T2_VISC, T2_BASE = 0, 3, 9, 11, 17, 19, 22

# lanes of the state: input position [rad], speed [rad/s], what it last heard [rad], duty, motor current [A], what it gives
# to the mech [N*m], voltage; conductance and source that it is to its lead; load, inertia, bend, viscous and dry friction of
# its mech, gear friction at its current; three sums for means over substeps, and the torque that it has
(
    THETA, OMEGA, TARGET, DUTY, AMPS, GIVES, VOLTS, G, S, LOAD, J, BEND, VISC, DRY, LEVEL, SLOPE,
    SUM_DUTY, SUM_AMPS, SUM_GIVES, HAS,
) = range(0, 20 * LANES, LANES)  # fmt: skip
STATE_ROWS = 20
# lanes of what is kept of a window: sums in the order of contracts.drive.SUMS, then worst values, each followed by its tick
(
    ENERGY, AMPS2, TORQUE2, LIMITED_TICKS, ERROR2, CHARGE, TICKS, USE, USE_AT, MOST, MOST_AT, FASTEST, CURRENT, LEAST_V,
    LEAST_V_AT,
) = range(0, 15 * LANES, LANES)  # fmt: skip
KEPT_ROWS, SUM_ROWS = 15, 7
# of an output: position, rate per first and second input, force of the skins on it
POSITION, RATE0, RATE1, PULL, OUT_STATE = range(5)
# of a lead: voltage at its far end, current; conductance and source folded into it (scratch)
LEAD_V, LEAD_A, LEAD_G, LEAD_S, LEAD_STATE = range(5)


class Plan(NamedTuple):
    """One island, ready to run. n outputs, d drives, m mechs, l leads, s skins; constant over a run."""

    lanes: F64
    """(blocks, PLAN_ROWS * LANES)."""
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
    ones: int
    """How many mechs have one input; they stand before those that have two."""


class State(NamedTuple):
    """One island in motion. Few arrays, so that little is handed down."""

    drive: F64
    """(blocks, STATE_ROWS * LANES)."""
    wait: I64
    """(d + 2,) ticks until each drive listens again; then until the first of them does, and how many it was when last set."""
    out: F64
    """(n + plain, OUT_STATE): of the outputs, then of the plain functions."""
    lead: F64
    """(l, LEAD_STATE)."""
    mode: I64
    """(l,) what each regulator is doing."""
    row: F64
    """(T1_ROW,) scratch."""


def fresh(plan: Plan, plain: int) -> State:
    """Return a state of the right shapes, everything zero, for a plan and a number of plain functions."""
    d, n, leads = len(plan.drive_i), len(plan.out_f), len(plan.lead_f)
    lead = np.zeros((leads, LEAD_STATE))
    lead[:, LEAD_V] = plan.lead_f[:, SOURCE_V]
    drive = np.zeros((len(plan.lanes), STATE_ROWS * LANES))
    drive[:, LEVEL : LEVEL + LANES] = plan.lanes[:, LEVEL0 : LEVEL0 + LANES]
    drive[:, SLOPE : SLOPE + LANES] = plan.lanes[:, SLOPE0 : SLOPE0 + LANES]
    return State(
        drive=drive, wait=np.zeros(d + 2, dtype=np.int64), out=np.zeros((n + plain, OUT_STATE)),
        lead=lead, mode=np.zeros(leads, dtype=np.int64), row=np.zeros(T1_ROW),
    )  # fmt: skip
