"""Two rods on one eye: docs/methods/two_rod_gimbal.md.

The eye turns about the vertical and lifts about its own, turned axis. With the eye at neutral both rods lie straight
fore and aft. The first input's rod is the outer one (to the left on a left eye, to the right on a right one).
"""

from __future__ import annotations

import math
from typing import cast

import numpy as np

from marotte.basis.contracts.common import F64, Bool, Unknown, f64
from marotte.basis.contracts.mech import MechFault, Transmission
from marotte.basis.frames import rotation
from marotte.creature.schema.mechs import TwoRodGimbal
from marotte.mech.case import Case, jammed, shown
from marotte.mech.kernels_gimbal import needed, sheet

NODES = 41
"""Nodes along each input of the grid."""
SAMPLES = 33
"""Eye positions along each side of the travel that are looked at."""
WAY = 200
"""Steps of pure turning or lifting on either side of neutral, over which cross-talk is looked for."""


def rods_of(record: TwoRodGimbal, neutral: tuple[float, float], side: str | None) -> F64:
    """Return (2, 9): ball p (3), horn centre c (3), horn, its angle at neutral, rod, of each rod."""
    outer = -1.0 if side == "right" else 1.0
    pose = rotation((0.0, 1.0, 0.0), neutral[0]) @ rotation((1.0, 0.0, 0.0), -neutral[1])
    horn = record.horn * np.array([0.0, math.sin(record.horn_at_neutral), math.cos(record.horn_at_neutral)])
    rows = []
    for x, rod in ((outer, record.rod), (-outer, record.second_rod or record.rod)):
        ball = np.array([x * record.arms.spacing / 2.0, record.arms.height, -record.arms.back])
        centre = pose @ ball - np.array([0.0, 0.0, rod]) - horn
        rows.append([*ball, *centre, record.horn, record.horn_at_neutral, rod])
    return np.array(rows)


def solve(case: Case) -> Transmission | Unknown:
    """Return the transmission of a two-rod gimbal: inputs are its horns, outputs turn and lift."""
    record = cast(TwoRodGimbal, case.mechanism.record)
    if len(case.functions) != 2 or len(case.mechanism.inputs) != 2:
        return jammed(case, "inputs", f"{case.said}: a two-rod gimbal has two means and moves two functions", ("kind",))
    if record.arms.height == 0.0:
        sentence = f"{case.said}: with both rods level with the eye's centre nothing lifts it: write a height"
        return jammed(case, "unreachable", sentence, ("arms",))
    neutral = (case.functions[0].neutral, case.functions[1].neutral)
    rods = rods_of(record, neutral, case.mechanism.side)
    sign = np.full(2, 1.0 if math.sin(record.horn_at_neutral) >= 0.0 else -1.0)
    least = math.sin(case.limits.angle)
    at_neutral = needed(np.array([neutral[0]]), np.array([neutral[1]]), rods, sign)[:, 0]
    if at_neutral[3] <= 0.0 or at_neutral[2] < least:
        angle = math.degrees(math.asin(min(max(at_neutral[2], 0.0), 1.0)))
        sentence = f"{case.said}: at neutral a rod meets its horn or the eye at {angle:.0f} deg: clock the horns anew"
        return jammed(case, "toggle", sentence, ("horn_at_neutral",))
    (t_low, t_high), (s_low, s_high) = case.functions[0].travel, case.functions[1].travel
    turns, lifts = np.meshgrid(np.linspace(t_low, t_high, SAMPLES), np.linspace(s_low, s_high, SAMPLES), indexing="ij")
    wanted = needed(turns.ravel(), lifts.ravel(), rods, sign)
    good = (wanted[3] > 0.0) & (wanted[2] >= least)
    faults = _faults(case, rods, sign, least) if not good.all() else ()
    grid, start = [], []
    for u in wanted[:2, good]:
        low, high = min(float(u.min()), 0.0), max(float(u.max()), 0.0)
        grid.append(np.linspace(low, high, NODES))
        start.append(int(np.argmin(np.abs(grid[-1]))))
    rows, solved = sheet(grid[0], grid[1], rods, (start[0], start[1]), neutral, least)
    if not solved[start[0], start[1]]:
        return jammed(case, "unreachable", f"{case.said}: it cannot leave neutral", ("rod",))
    shape = solved.shape
    slop, told = case.slop()
    play_at = rows[11:13] * slop
    inside = _inside(rows[0], t_low, t_high) & _inside(rows[1], s_low, s_high) & (solved > 0.0)
    turning_lifts, lifting_turns = cross_talk(
        rows[0:2], (grid[0], grid[1]), (case.functions[0].travel, case.functions[1].travel), solved > 0.0
    )
    return Transmission(
        name=case.name,
        inputs=case.mechanism.inputs,
        outputs=case.mechanism.outputs,
        grid=(f64(grid[0]), f64(grid[1])),
        position=f64(rows[0:2]),
        rate=f64(rows[2:6].reshape(2, 2, *shape)),
        bend=f64(rows[6:10].reshape(2, 2, *shape)),
        angle=f64(np.arcsin(np.clip(rows[10], 0.0, 1.0))),
        input_units=("rad", "rad"),
        output_units=case.units,
        dry=record.friction,
        forward=record.efficiency,
        back=record.efficiency,
        play=f64(play_at[:, inside].max(axis=1)),
        play_at=f64(play_at),
        clocking={"horn": record.horn_at_neutral},
        inside=_frozen(inside),
        facts={"rod_slop_m": slop, "turning_lifts_rad": turning_lifts, "lifting_turns_rad": lifting_turns},
        faults=faults,
        told=told,
        rests_on=case.rests_on(),
    )


def _frozen(mask: Bool) -> Bool:
    mask.flags.writeable = False
    return mask


def _inside(values: F64, low: float, high: float) -> Bool:
    inside: Bool = (values >= low - 1e-9) & (values <= high + 1e-9)
    return inside


def _faults(case: Case, rods: F64, sign: F64, least: float) -> tuple[MechFault, ...]:
    """Return the first unsound place on the way from neutral to each corner and end of the travel."""
    (t0, s0), found = (case.functions[0].neutral, case.functions[1].neutral), []
    for t1 in (*case.functions[0].travel, t0):
        for s1 in (*case.functions[1].travel, s0):
            way = np.linspace(0.0, 1.0, 201)
            rows = needed(t0 + way * (t1 - t0), s0 + way * (s1 - s0), rods, sign)
            bad = (rows[3] <= 0.0) | (rows[2] < least)
            if not bad.any():
                continue
            at = max(int(np.argmax(bad)) - 1, 0)
            t, s = t0 + way[at] * (t1 - t0), s0 + way[at] * (s1 - s0)
            why = "a rod is out of reach" if rows[3][at + 1] <= 0.0 else "a rod meets its horn or the eye too flat"
            sentence = (
                f"{case.said}: towards turn {shown(t1, True)}, lift {shown(s1, True)} sound only to "
                f"{shown(t, True)}, {shown(s, True)}; past it {why}: a longer horn, or less travel"
            )
            output = 0 if abs(t1 - t0) >= abs(s1 - s0) else 1
            kind = "unreachable" if rows[3][at + 1] <= 0.0 else "angle"
            name = case.mechanism.outputs[output]
            found.append(MechFault(kind=kind, output=name, at=float((t, s)[output]), sentence=sentence))
    return tuple(found)


def cross_talk(
    position: F64, grid: tuple[F64, F64], travels: tuple[tuple[float, float], tuple[float, float]], solved: Bool
) -> tuple[float, float]:
    """Return how far a gimbal lifts when only turned, and turns when only lifted [rad].

    Only turned: both horns go equally far against each other, as far as the turn's travel; only lifted: equally far
    together, as far as the lift's. (The grid reaches further, to where both are wanted at once.)

    Args:
        position: (2, m0, m1) turn and lift.
        grid: both inputs.
        travels: of turn and lift [rad].
        solved: (m0, m1) where the sheet is a solution and not its continuation.
    """
    reach = min(-grid[0][0], grid[0][-1], -grid[1][0], grid[1][-1])
    way = np.linspace(-reach, reach, 2 * WAY + 1)
    known = solved.astype(np.float64)
    leaks = []
    for own, (low, high), sense in ((0, travels[0], -1.0), (1, travels[1], 1.0)):
        moved = _bilinear(position[own], grid, way, sense * way)
        leaked = _bilinear(position[1 - own], grid, way, sense * way)
        good = (moved >= low) & (moved <= high) & (_bilinear(known, grid, way, sense * way) > 1.0 - 1e-9)
        first = WAY - int(np.argmin(np.append(good[WAY::-1], False)))  # the run of good ones on either side of neutral
        last = WAY + int(np.argmin(np.append(good[WAY:], False)))
        leaks.append(float(np.abs(leaked[first + 1 : last] - leaked[WAY]).max(initial=0.0)))
    return leaks[0], leaks[1]


def _bilinear(sheet_: F64, grid: tuple[F64, F64], x: F64, y: F64) -> F64:
    places = []
    for axis, at in zip(grid, (x, y), strict=True):
        exact = (at - axis[0]) / (axis[1] - axis[0])
        low = np.clip(exact.astype(np.int64), 0, axis.size - 2)
        places.append((low, exact - low))
    (i, p), (j, q) = places
    near = sheet_[i, j] * (1 - q) + sheet_[i, j + 1] * q
    far = sheet_[i + 1, j] * (1 - q) + sheet_[i + 1, j + 1] * q
    return np.asarray(near * (1 - p) + far * p)
