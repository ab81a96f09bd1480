"""Islands: what is joined by an unregulated lead, a skin or a mechanism must be run together; the rest need not.

A regulated lead is a border where nothing above it carries a servo: the island below it sees a stiff source. That holds
as long as the regulator never drops out, which is checked after the run (``upstream.py``); else the whole tree is joined.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from marotte.basis.contracts.common import F64, I64, f64
from marotte.basis.digest import digest
from marotte.drive.leads import LeadRow
from marotte.drive.model import DriveModel, DriveRow, SkinRow
from marotte.drive.plain import Plain
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
    PLAIN,
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Island:
    """One part of the drive that runs by itself."""

    name: str
    drives: tuple[str, ...]
    functions: tuple[str, ...]
    """Outputs of its mechs, in the order of the plan."""
    plain: tuple[Plain, ...]
    """Functions that no servo moves and that hold one of its skins."""
    leads: tuple[str, ...]
    roots: tuple[int, ...]
    """Of ``leads``, those that stand on a stiff source."""
    plan: Plan
    delay: int
    """Longest delay of a drive [ticks]."""
    _digest: list[bytes] = field(default_factory=list, compare=False, repr=False)

    def __digest__(self) -> bytes:
        if not self._digest:
            parts = (self.name, self.drives, self.functions, self.plain, self.leads, self.roots, tuple(self.plan))
            self._digest.append(digest(("Island", *parts)))
        return self._digest[0]

    @property
    def asked(self) -> tuple[str, ...]:
        """Names of the rows that its command has: outputs, then plain functions."""
        return self.functions + tuple(row.function for row in self.plain)


class _Groups:
    """Things that are joined, by the least of their numbers."""

    def __init__(self, size: int) -> None:
        self.up = list(range(size))

    def find(self, item: int) -> int:
        while self.up[item] != item:
            self.up[item] = self.up[self.up[item]]
            item = self.up[item]
        return item

    def join(self, items: Iterable[int]) -> None:
        roots = sorted({self.find(item) for item in items})
        for root in roots[1:]:
            self.up[root] = roots[0]


def islands(
    model: DriveModel,
    whole: bool = False,
    again: Callable[..., Any] = lambda function, *arguments: function(*arguments),
) -> tuple[Island, ...]:
    """Return the islands of a model, in the order of their first drive.

    Args:
        model: the drive model.
        whole: join the supply into one tree, as where a regulator dropped out.
        again: as in ``model``.
    """
    zones = _zones(model, whole)
    groups = _Groups(len(model.tables))
    drive_at = {row.name: k for k, row in enumerate(model.drives)}
    moved_by = {name: m for m, t in enumerate(model.tables) for name in t.outputs}
    by_zone: dict[int, list[int]] = {}
    for m, t in enumerate(model.tables):
        for name in t.inputs:
            by_zone.setdefault(zones[model.drives[drive_at[name]].lead], []).append(m)
    for members in by_zone.values():
        groups.join(members)
    for skin in model.skins:
        groups.join(moved_by[name] for name in skin.functions if name in moved_by)
    by_root: dict[int, list[int]] = {}
    for m in range(len(model.tables)):
        by_root.setdefault(groups.find(m), []).append(m)
    return tuple(
        _one(model, zones, sorted((model.tables[m] for m in members), key=lambda t: len(t.inputs)), again)
        for _, members in sorted(by_root.items())
    )


def _one(model: DriveModel, zones: list[int], tables: list[Table], again: Callable[..., Any]) -> Island:
    """Return the island of some mechs, made of what it reads of the model alone."""
    outs = {name for t in tables for name in t.outputs}
    inputs = {name for t in tables for name in t.inputs}
    drives = tuple(row for row in model.drives if row.name in inputs)
    skins = tuple(skin for skin in model.skins if not outs.isdisjoint(skin.functions))
    world = tuple(t.name for t in tables if t.name in model.world)
    made: Island = again(_made, drives, tuple(tables), world, model.plain, skins, model.leads, tuple(zones))
    return made


def _made(
    drives: tuple[DriveRow, ...], tables: tuple[Table, ...], world: tuple[str, ...], plain: tuple[Plain, ...],
    skins: tuple[SkinRow, ...], leads: tuple[LeadRow, ...], zones: tuple[int, ...],
) -> Island:  # fmt: skip
    part = DriveModel(
        functions=(), neutral=(), drives=drives, tables=tables, world=frozenset(world), plain=plain, skins=skins, leads=leads,
        told=(),
    )  # fmt: skip
    return _island(part, list(zones), list(tables))


def _zones(model: DriveModel, whole: bool) -> list[int]:
    """Return for each lead the lead at which its stiff source stands."""
    loaded = {row.lead for row in model.drives}
    zones: list[int] = []
    for k, lead in enumerate(model.leads):
        above = k
        free = not whole and lead.regulator != PLAIN and lead.parent >= 0
        while free and model.leads[above].parent >= 0:
            above = model.leads[above].parent
            # servos on the same unregulated stretch, or one of its other branches, would move this lead's feed
            free = not any(_feed(model.leads, other) == _feed(model.leads, above) for other in loaded)
        zones.append(k if free else (zones[lead.parent] if lead.parent >= 0 else k))
    return zones


def _feed(leads: tuple[LeadRow, ...], index: int) -> int:
    """Return the lead whose regulator (or the battery) holds the voltage of a lead."""
    while leads[index].parent >= 0 and leads[index].regulator == PLAIN:
        index = leads[index].parent
    return index


def _island(model: DriveModel, zones: list[int], tables: list[Table]) -> Island:
    rows = {row.name: row for row in model.drives}
    drives = [rows[name] for t in tables for name in t.inputs]
    outs = [name for t in tables for name in t.outputs]
    skins = [skin for skin in model.skins if any(name in outs for name in skin.functions)]
    held = {name for skin in skins for name in skin.functions}
    plain = tuple(row for row in model.plain if row.function in held)
    wanted = sorted({zones[row.lead] for row in drives})
    lead_at = [k for k in range(len(model.leads)) if zones[k] in wanted]
    leads = [model.leads[k] for k in lead_at]
    parents = [
        lead_at.index(lead.parent) if lead.parent in lead_at and k not in wanted else -1
        for k, lead in zip(lead_at, leads, strict=True)
    ]
    ones = sum(len(t.inputs) == 1 for t in tables)
    fed_by = [lead_at.index(row.lead) for row in drives]
    lanes, drive_i, gears = _drive_arrays(drives, tables, ones, model.world)
    mech_f, mech_i, out_f, out_i, flat, inverse = _mech_arrays(tables, ones, model.world, held, len(plain))
    places = {name: k for k, name in enumerate((*outs, *(row.function for row in plain)))}
    skin_f, skin_i, hold_f, hold_i, curve = _skin_arrays(skins, places, out_i)
    lead_f = np.zeros((len(leads), LEAD_COLS))
    lead_i = np.zeros((len(leads), LEAD_INTS), dtype=np.int64)
    for k, lead in enumerate(leads):
        lead_f[k] = (lead.ohm, lead.source_v, lead.limit_a, lead.drop_v, lead.efficiency)
        lead_i[k] = (parents[k], lead.regulator, sum(by < k for by in fed_by), sum(by <= k for by in fed_by))
    fed = [lane_of(d, ones) for d in sorted(range(len(drives)), key=lambda d: fed_by[d])]
    plan = Plan(
        lanes=_fixed(lanes), drive_i=_whole(drive_i), gears=_fixed(gears), mech_f=_fixed(mech_f),
        mech_i=_whole(mech_i), table=flat, out_f=_fixed(out_f), out_i=_whole(out_i), inverse=_fixed(inverse),
        lead_f=_fixed(lead_f), lead_i=_whole(lead_i), fed=_whole(np.array(fed, dtype=np.int64)), skin_f=_fixed(skin_f), skin_i=_whole(skin_i),
        hold_f=_fixed(hold_f), hold_i=_whole(hold_i), curve=_fixed(curve),
        substeps=max(t.substeps for t in tables),
        ones=ones,
        wide=LANES,
    )  # fmt: skip
    return Island(
        name="+".join(lead.name for k, lead in enumerate(leads) if parents[k] < 0) + ":" + drives[0].name,
        drives=tuple(row.name for row in drives),
        functions=tuple(outs),
        plain=plain,
        leads=tuple(lead.name for lead in leads),
        roots=tuple(k for k, parent in enumerate(parents) if parent < 0),
        plan=plan,
        delay=max(row.delay for row in drives),
    )


def _fixed(array: F64) -> F64:
    return f64(array)


def _whole(array: I64) -> I64:
    out = np.ascontiguousarray(array, dtype=np.int64)
    out.flags.writeable = False
    return out


def _drive_arrays(
    drives: list[DriveRow], tables: list[Table], ones: int, world: frozenset[str]
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
    tables: list[Table], ones: int, world: frozenset[str], held: set[str], plain: int
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
