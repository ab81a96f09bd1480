"""Where a search for lengths begins, beside what is written: closed forms that are right for small angles. docs/methods/sizing.md."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.units import DEG
from marotte.creature.schema.mechs import BellCrank, CrankSlider, FourBar, Linkage, TeeBar
from marotte.mech.size_free import made
from marotte.mech.size_judge import Trial
from marotte.mech.sizing import Lengths, chebyshev_points, freudenstein

SWINGS = (50 * DEG, 70 * DEG, 90 * DEG)
"""Swings of a horn that begin a search: even, and not too flat at their ends (common practice, no source)."""


def guess(trial: Trial) -> Linkage:
    """Return the record that a search begins from: as written, and a horn that is not written set for a swing of 70 deg."""
    record = trial.record
    if isinstance(record, TeeBar) and record.horn is None:
        return made(record, {"horn": round(_radius(_span(trial), SWINGS[1]) / 0.5e-3) * 0.5e-3})
    return record


def square(trial: Trial, record: Linkage, written: F64) -> Iterator[F64]:
    """Yield starts that are square in the middle of the travel, with the horn that a swing asks for.

    A slide: its stroke is 2 horn sin(swing / 2) where the rod is long, about the place where the horn stands square. A
    bell-crank: for small angles the tab goes horn / in_arm x out_arm a radian of the servo, an arm horn / in_arm x out_arm /
    next_arm (each pair of arms is as a pair of levers that are joined by a rod square to both).
    """
    fields, turn = trial.free.fields, trial.ask.line.turn
    for swing in SWINGS:
        if swing > turn:
            continue
        start = dict(zip(fields, map(float, written), strict=True))
        if isinstance(record, (CrankSlider, TeeBar)):
            start["horn"] = horn = _radius(_span(trial), swing)
            way = -1.0 if isinstance(record, CrankSlider) and record.slides == "in" else 1.0
            middle = _middle(trial) * way
            side = 1.0 if math.sin(start["horn_at_neutral"]) >= 0.0 else -1.0
            start["horn_at_neutral"] = side * math.acos(max(min(-middle / horn, 1.0), -1.0))
        elif isinstance(record, BellCrank):
            out = record.out_arm / (record.next_arm or 1.0)
            start["horn"] = _span(trial) / swing * record.in_arm / out
            start["in_arm_at_neutral"] = math.copysign(90 * DEG, math.sin(record.in_arm_at_neutral))
            start["out_arm_at_neutral"] = math.copysign(90 * DEG, math.sin(record.out_arm_at_neutral))
            start["rod"] = math.hypot(record.ground, record.in_arm - start["horn"])
        else:
            return
        yield np.array([start[field] for field in fields])


def syntheses(trial: Trial, record: FourBar) -> Iterator[F64]:
    """Yield four-bars whose horn follows the arm evenly at three places, for several swings and middles."""
    function = trial.case.functions[0]
    low, high = function.travel
    sense = 1.0 if record.arm_turns == "with" else -1.0
    exact = chebyshev_points(low, high)
    side = 1.0 if math.sin(record.arm_at_neutral or 1.0) >= 0.0 else -1.0
    for swing in (45, 60, 80):
        for middle in (75, 95):
            for horn_middle in (75, 100):
                share = (exact - 0.5 * (low + high)) / (high - low)
                arms = side * middle * DEG + sense * (exact - 0.5 * (low + high))
                way = sense if record.branch == "open" else -sense
                horns = side * horn_middle * DEG + way * share * min(swing * DEG, 0.9 * trial.ask.line.turn)
                found = freudenstein(horns, arms)
                if not isinstance(found, Lengths) or min(found.horn, found.arm) <= 0.0:
                    continue
                neutral = side * middle * DEG + sense * (function.neutral - 0.5 * (low + high))
                lengths = {"horn": found.horn, "rod": found.rod, "arm": found.arm}
                yield np.array([*(lengths[name] * record.ground for name in trial.free.lengths), neutral])


def _span(trial: Trial) -> float:
    grid = trial.ask.first.grid
    return float(grid[-1] - grid[0])


def _middle(trial: Trial) -> float:
    """Return the middle of the way, counted from neutral."""
    grid = trial.ask.first.grid
    neutral = 0.0 if isinstance(trial.record, TeeBar) else trial.case.functions[0].neutral
    return 0.5 * float(grid[0] + grid[-1]) - neutral


def _radius(stroke: float, swing: float) -> float:
    return stroke / (2.0 * math.sin(0.5 * swing))
