"""What an island is made of -> the flat arrays of a Plan: lanes, tables, skins, leads."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np

from marotte.basis.contracts.common import F64, I64, f64
from marotte.drive.leads import LeadRow
from marotte.drive.model import DriveRow, SkinRow
from marotte.drive.plan import (
    AT_LANE,
    BLOCK,
    DRIVE_INTS,
    INERTIA,
    LANES,
    LEAD_COLS,
    LEAD_INTS,
    MECH_COLS,
    MECH_INTS,
    NEXT,
    OUT_COLS,
    OUT_INTS,
    PLAN_ROWS,
    POSITIONS,
    SKIN_COLS,
    SKIN_INTS,
    T1_BASE,
    Plan,
    blocks_of,
    in_line,
    lane_of,
)  # fmt: skip
from marotte.drive.servo import gear_losses
from marotte.drive.tables import Table


def plan_of(
    tables: list[Table], drives: list[DriveRow], fed_by: Sequence[int], leads: Sequence[LeadRow], parents: Sequence[int],
    skins: list[SkinRow], plain: Sequence[str], world: Collection[str],
) -> Plan:  # fmt: skip
    """Return the Plan of an island.

    Args:
        tables: its mechs, those with one input first.
        drives: their servos, in the order of the mechs' inputs.
        fed_by: for each drive its lead, as a place in ``leads``.
        leads: its leads, parents first.
        parents: for each lead the lead that feeds it, as a place in ``leads``; -1 where a stiff source stands.
        skins: skins that hold an output of the mechs.
        plain: functions without a servo that such a skin holds, too.
        world: mechs for which gravity is upright.
    """
    ones = sum(len(t.inputs) == 1 for t in tables)
    outs = [name for t in tables for name in t.outputs]
    held = {name for skin in skins for name in skin.functions}
    lanes, drive_i, gears = _drive_arrays(drives, tables, ones, world)
    mech_f, mech_i, out_f, out_i, flat, inverse = _mech_arrays(tables, ones, world, held, len(plain))
    places = {name: k for k, name in enumerate((*outs, *plain))}
    skin_f, skin_i, hold_f, hold_i, curve = _skin_arrays(skins, places, out_i)
    lead_f, lead_i = _lead_arrays(leads, parents, fed_by)
    fed = [lane_of(d, ones) for d in sorted(range(len(drives)), key=lambda d: fed_by[d])]
    return Plan(
        lanes=f64(lanes), drive_i=_whole(drive_i), gears=f64(gears), mech_f=f64(mech_f),
        mech_i=_whole(mech_i), table=flat, out_f=f64(out_f), out_i=_whole(out_i), inverse=f64(inverse),
        lead_f=f64(lead_f), lead_i=_whole(lead_i), fed=_whole(np.array(fed, dtype=np.int64)), skin_f=f64(skin_f), skin_i=_whole(skin_i),
        hold_f=f64(hold_f), hold_i=_whole(hold_i), curve=f64(curve),
        substeps=max(t.substeps for t in tables),
        ones=ones,
        wide=LANES,
    )  # fmt: skip


def _whole(array: I64) -> I64:
    out = np.ascontiguousarray(array, dtype=np.int64)
    out.flags.writeable = False
    return out


def _drive_arrays(
    drives: list[DriveRow], tables: list[Table], ones: int, world: Collection[str]
) -> tuple[F64, I64, F64]:
    """Return lanes, drive_i and gears of the Plan; drives stand in the order of the inputs of the tables."""
    lanes = np.zeros((blocks_of(len(drives), ones), PLAN_ROWS, LANES))
    lanes[:, INERTIA // LANES] = 1.0  # so that lanes without a drive divide by something
    drive_i = np.zeros((len(drives), DRIVE_INTS), dtype=np.int64)
    gears: list[F64] = []
    count = start = 0
    mechs = [(t, axis) for t in tables for axis in t.grid]
    for d, (row, (t, axis)) in enumerate(zip(drives, mechs, strict=True)):
        losses = gear_losses(row.motor) * (float(row.count), float(row.count), 1.0)
        low, inverse, high = _axis(axis)
        lane = lane_of(d, ones)
        lanes[lane // BLOCK, :, lane % BLOCK] = (
            row.motor.back_emf_vs, row.count / row.motor.resistance_ohm, 1.0 / row.full_at, row.brake_time / row.full_at,
            row.dead_band, row.count * row.motor.inertia_kgm2, row.signal_step, losses[0, 1], losses[0, 2],
            low, high, t.dry, t.loss_on, t.loss_back, inverse, len(axis) - 2, start, t.name in world,
        )  # fmt: skip
        drive_i[d] = (lane, row.frame, row.delay, count, count + len(losses))
        gears.append(losses)
        count += len(losses)
        start += T1_BASE * len(axis)
    return lanes.reshape(-1, PLAN_ROWS * LANES), drive_i, np.concatenate(gears)


def _axis(axis: F64) -> tuple[float, float, float]:
    """Return the beginning, the places per radian and the end of a grid."""
    return float(axis[0]), (len(axis) - 1) / float(axis[-1] - axis[0]), float(axis[-1])


def _mech_arrays(
    tables: list[Table], ones: int, world: Collection[str], held: set[str], plain: int
) -> tuple[F64, I64, F64, I64, F64, F64]:
    """Return mech_f, mech_i, out_f, out_i, table and inverse of the Plan for some mechs, in their order."""
    outs = sum(len(t.outputs) for t in tables)
    mech_f = np.zeros((len(tables), MECH_COLS))
    mech_i = np.zeros((len(tables), MECH_INTS), dtype=np.int64)
    out_f = np.zeros((outs, OUT_COLS))
    out_i = np.zeros((outs + plain, OUT_INTS), dtype=np.int64)
    out_i[:, AT_LANE] = -1
    flat = [t.rows[:, :T1_BASE].ravel() for t in tables[:ones]]
    inverse: list[F64] = []
    drive = out = back = 0
    start = sum(map(len, flat))
    for m, t in enumerate(tables):
        rest = t.rows[:, T1_BASE:] if m < ones else t.rows
        axes = [_axis(g) for g in t.grid]
        axes += [(0.0, 0.0, 0.0)] * (2 - len(axes))
        mech_f[m] = (*axes[0], *axes[1])
        mech_i[m] = (
            len(t.inputs), drive, lane_of(drive, ones), lane_of(drive + len(t.inputs) - 1, ones), start, len(t.grid[0]),
            len(t.grid[-1]), len(t.outputs), out, rest.shape[-1], int(t.name in world),
            int(any(name in held for name in t.outputs)),
        )  # fmt: skip
        for o in range(len(t.outputs) if m < ones else 0):
            places = t.inverse.shape[1]
            span = max(float(t.inverse_to[o] - t.inverse_from[o]), 1e-12)
            out_f[out + o] = (t.inverse_from[o], (places - 1) / span, t.weight[o])
            out_i[out + o] = (back, places, lane_of(drive, ones), start + 2 * o, rest.shape[-1])
            inverse.append(t.inverse[o])
            back += places
        flat.append(rest.ravel())
        start += rest.size
        drive += len(t.inputs)
        out += len(t.outputs)
    table = in_line(start)
    table[:] = np.concatenate(flat)
    table.flags.writeable = False
    return mech_f, mech_i, out_f, out_i, table, np.concatenate(inverse) if inverse else np.zeros(1)


def _skin_arrays(skins: list[SkinRow], places: dict[str, int], out_i: I64) -> tuple[F64, I64, F64, I64, F64]:
    """Return skin_f, skin_i, hold_f, hold_i and curve of the Plan; ``places`` are those of the outputs in out_i."""
    skin_f = np.zeros((len(skins), SKIN_COLS))
    skin_i = np.zeros((len(skins), SKIN_INTS), dtype=np.int64)
    hold_f: list[float] = []
    held: list[tuple[int, int]] = []
    curves: list[F64] = []
    start = 0
    for s, skin in enumerate(skins):
        skin_f[s] = (skin.low, (len(skin.force) - 1) / (skin.high - skin.low), skin.rest)
        skin_i[s] = (start, len(skin.force))
        hold_f += skin.holds.tolist()
        held += [(s, places[name]) for name in skin.functions]
        curves.append(skin.force)
        start += len(skin.force)
    curve = np.concatenate(curves) if curves else np.zeros(1)
    hold_i = np.array(held, dtype=np.int64).reshape(-1, 2)
    hold_i = np.concatenate((hold_i, out_i[hold_i[:, 1]][:, [AT_LANE, POSITIONS, NEXT]]), axis=1)
    return skin_f, skin_i, np.array(hold_f), hold_i, curve


def _lead_arrays(leads: Sequence[LeadRow], parents: Sequence[int], fed_by: Sequence[int]) -> tuple[F64, I64]:
    """Return lead_f and lead_i of the Plan."""
    lead_f = np.zeros((len(leads), LEAD_COLS))
    lead_i = np.zeros((len(leads), LEAD_INTS), dtype=np.int64)
    for k, lead in enumerate(leads):
        lead_f[k] = (lead.ohm, lead.source_v, lead.limit_a, lead.drop_v, lead.efficiency)
        lead_i[k] = (parents[k], lead.regulator, sum(by < k for by in fed_by), sum(by <= k for by in fed_by))
    return lead_f, lead_i
