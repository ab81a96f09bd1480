"""What a compiled tick reads (Plan) and what it changes (State): arrays only, one dtype and layout each.

Column numbers stand here once; the model writes by them and the kernels read by them.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from marotte.basis.contracts.common import F64, I64

FITS: Final = 0x7FFFFFFF
"""Masks an index that is known not to be negative, so that the compiler drops its test for counting from the end."""

LANES: Final = 8
"""Drives stand side by side in blocks of so many lanes, quantity after quantity: eight numbers are one vector, or two, or
four, and a loop over all lanes of a block has no odd ones left over. Lanes without a drive are run too; they hold nothing
that moves. Drives of one-input mechs come first; those of two-input mechs begin a block of their own."""

# lanes that stay: what each servo is; the dry friction, losses and span of its mech; how its table is read (places per
# radian, last place that has a next one, first row, 1 where gravity is upright)
(
    KE, INV_R, GAIN, BRAKE, DEAD, INERTIA, STEP, LEVEL0, SLOPE0, LO, HI, RUB, LOSS_ON, LOSS_BACK,
    INV, TOP, ROW0, UPRIGHT,
) = range(0, 18 * LANES, LANES)  # fmt: skip
PLAN_ROWS = 18
# lanes that move: input position [rad], speed [rad/s], what it last heard [rad], duty, motor current [A], what it gives to
# the mech [N*m], voltage; conductance and source that it is to its lead; its place in its table, the share of the way to
# the next and the row there; the eight columns of that row; what the skins pull, gear friction at its current; three sums
# for means over substeps
(
    THETA, OMEGA, TARGET, DUTY, AMPS, GIVES, VOLTS, G, S, PLACE, SHARE, ROW, J, BEND, GX, GY, GZ, SPRING, DRY, VISC,
    PULLED, LEVEL, SLOPE, SUM_DUTY, SUM_AMPS, SUM_GIVES,
) = range(PLAN_ROWS * LANES, (PLAN_ROWS + 26) * LANES, LANES)  # fmt: skip
KEPT: Final = (PLAN_ROWS + 26) * LANES
# lanes of what is kept of a window: sums in the order of contracts.drive.SUMS, then worst values, each followed by its tick
(
    ENERGY, AMPS2, TORQUE2, LIMITED_TICKS, ERROR2, CHARGE, TICKS, USE, USE_AT, MOST, MOST_AT, FASTEST, CURRENT, LEAST_V,
    LEAST_V_AT,
) = range(KEPT, KEPT + 15 * LANES, LANES)  # fmt: skip
KEPT_ROWS, SUM_ROWS = 15, 7
BLOCK: Final = KEPT + KEPT_ROWS * LANES
"""Numbers in a block."""
# drive_i: one row a drive; its lane is where its quantities begin: quantity Q of it is ``drive[lane + Q]``
LANE, FRAME, DELAY, SEG0, SEG1, DRIVE_INTS = range(6)
# mech_f: one row a mech
LO0, INV0, HI0, LO1, INV1, HI1, MECH_COLS = range(7)
# mech_i: numbers and lanes of its drives (the second only if it has two)
N_IN, DRIVE0, LANE0, LANE1, TABLE, M0, M1, N_OUT, OUT0, WIDTH, WORLD, HELD, MECH_INTS = range(13)
# out_f: one row an output; out_i: also the plain ones. AT_LANE is the lane of the drive where a one-input mech moves the
# output, else -1; POSITIONS is where its positions and rates begin in the table, NEXT how far apart its places are there
INV_LO, INV_STEP, WEIGHT, OUT_COLS = range(4)
INV_TABLE, INV_M, AT_LANE, POSITIONS, NEXT, OUT_INTS = range(6)
# lead_f, lead_i: one row a lead, parents first; FED0 to FED1 are its drives in ``fed``
OHM, SOURCE_V, LIMIT_A, DROP_V, EFFICIENCY, LEAD_COLS = range(6)
PARENT, REGULATOR, FED0, FED1, LEAD_INTS = range(5)
# regulators and what they are doing
PLAIN, SWITCHING, LINEAR = range(3)
FREE, DROPPED, LIMITED = range(3)
# skin_f, skin_i
SKIN_LO, SKIN_INV, SKIN_REST, SKIN_COLS = range(4)
CURVE0, CURVE_M, SKIN_INTS = range(3)
# hold_i: one row a hold: the skin, the output, and AT_LANE, POSITIONS and NEXT of that
HOLD_SKIN, HOLD_OUT, HOLD_LANE, HOLD_AT, HOLD_NEXT, HOLD_INTS = range(6)
# columns of a one-input table, all at the input and in the order of their lanes; then position and rate of each output
T_J, T_BEND, T_GX, T_GY, T_GZ, T_SPRING, T_DRY, T_VISC, T1_BASE = range(9)
# columns of a two-input table: mass 00 01 11, gravity 0xyz 1xyz, spring 0 1, centrifugal 0:(00 01 11) 1:(...), dry, viscous
T2_MASS, T2_GRAVITY, T2_SPRING, T2_BEND, T2_DRY, T2_VISC, T2_BASE = 0, 3, 9, 11, 17, 19, 22
T2_READ: Final = 24
"""So many columns are read in whole vectors; the last are those of the first output."""

# of an output: position, rate per first and second input, force of the skins on it
POSITION, RATE0, RATE1, PULL, OUT_STATE = range(5)
# of a skin: stretch and force
STRETCH, FORCE, SKIN_STATE = range(3)
# of a lead: voltage at its far end, current; scratch: conductance and source folded into it, share of the voltage that it
# lets through to the conductance
LEAD_V, LEAD_A, LEAD_G, LEAD_S, LEAD_SHARE, LEAD_STATE = range(6)


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
    """All transmission tables: of the one-input mechs the columns that every tick reads, a row as long as a block is wide;
    then their positions and rates; then the tables of the two-input mechs."""
    out_f: F64
    out_i: I64
    """(n + plain, OUT_INTS)."""
    inverse: F64
    """Input over uniform output, one table after another (one-input mechs)."""
    lead_f: F64
    lead_i: I64
    fed: I64
    """(d,) lanes of the drives, sorted by lead."""
    skin_f: F64
    skin_i: I64
    hold_f: F64
    hold_i: I64
    """(holds, HOLD_INTS); outputs from ``len(out_f)`` on are the plain ones."""
    curve: F64
    """Uniform force tables of the skins."""
    substeps: int
    ones: int
    """How many mechs have one input; they stand before those that have two."""
    wide: int
    """LANES again, as a number that the compiler does not know: where it knows it, it writes short loops out eight times
    instead of making one vector of them."""


class State(NamedTuple):
    """One island in motion. Few arrays, so that little is handed down."""

    drive: F64
    """(blocks * BLOCK,): lanes that stay, that move, and that are kept."""
    wait: I64
    """(d + 2,) ticks until each drive listens again; then until the first of them does, and how many it was when last set."""
    out: F64
    """(n + plain, OUT_STATE): of the plain functions and, where skins hold them, of the outputs of two-input mechs."""
    lead: F64
    """(l, LEAD_STATE)."""
    mode: I64
    """(l,) what each regulator is doing."""
    skin: F64
    """(s, SKIN_STATE)."""
    rate: F64
    """(holds,) scratch: rates of what the skins hold."""
    row: F64
    """(T2_READ,) scratch: a row of a two-input table."""


def lane_of(drive: int, ones: int) -> int:
    """Return where the quantities of a drive begin; the first ``ones`` are those of one-input mechs."""
    slot = drive if drive < ones else -(-ones // LANES) * LANES + drive - ones
    return slot // LANES * BLOCK + slot % LANES


def blocks_of(drives: int, ones: int) -> int:
    """Return how many blocks so many drives take, the first ``ones`` of them on one-input mechs."""
    return -(-ones // LANES) + -(-(drives - ones) // LANES)


def in_line(size: int) -> F64:
    """Return zeros that begin where a vector of eight does in memory, so that none lies across two lines of the cache."""
    room = np.zeros(size + LANES)
    skip = (-room.ctypes.data // 8) % LANES
    return room[skip : skip + size]


def fresh(plan: Plan, plain: int) -> State:
    """Return a state of the right shapes, everything zero, for a plan and a number of plain functions."""
    d, n, leads = len(plan.drive_i), len(plan.out_f), len(plan.lead_f)
    lead = np.zeros((leads, LEAD_STATE))
    lead[:, LEAD_V] = plan.lead_f[:, SOURCE_V]
    drive = in_line(len(plan.lanes) * BLOCK)
    blocks = drive.reshape(-1, BLOCK)
    blocks[:, : PLAN_ROWS * LANES] = plan.lanes
    blocks[:, LEVEL : LEVEL + LANES] = plan.lanes[:, LEVEL0 : LEVEL0 + LANES]
    blocks[:, SLOPE : SLOPE + LANES] = plan.lanes[:, SLOPE0 : SLOPE0 + LANES]
    blocks[:, LEAST_V : LEAST_V + LANES] = 1e9
    return State(
        drive=drive, wait=np.zeros(d + 2, dtype=np.int64), out=np.zeros((n + plain, OUT_STATE)),
        lead=lead, mode=np.zeros(leads, dtype=np.int64), skin=np.zeros((len(plan.skin_f), SKIN_STATE)),
        rate=np.zeros(len(plan.hold_i)), row=in_line(T2_READ),
    )  # fmt: skip


def kept(plan: Plan, drive: F64) -> F64:
    """Return (d, KEPT_ROWS): what was kept of each drive, from ``State.drive``."""
    blocks = drive.reshape(-1, BLOCK)[:, KEPT:].reshape(-1, KEPT_ROWS, LANES).transpose(0, 2, 1)
    lanes = plan.drive_i[:, LANE]
    return np.asarray(blocks[lanes // BLOCK, lanes % BLOCK])
