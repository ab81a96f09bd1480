"""The search for lengths and clocking of a rod linkage: bounded least squares from fixed starts. docs/methods/sizing.md."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import cast

import numpy as np
from scipy.optimize import least_squares

from marotte.basis.contracts.common import F64, Unknown
from marotte.basis.contracts.mech import Transmission
from marotte.basis.units import DEG
from marotte.creature.schema.mechs import BallRod, CrankSlider, FourBar, Linkage, Mech
from marotte.mech.asked_of import Ask, use_of
from marotte.mech.case import Case
from marotte.mech.chain import Link
from marotte.mech.kernels import POSITION, RATE, REACH, SIN_FAR, SIN_NEAR
from marotte.mech.kinds import KINDS, ball_rod, crank_slider, four_bar
from marotte.mech.size_candidate import GOOD_ANGLE, GOOD_USE, Candidate
from marotte.mech.sizing import Lengths, chebyshev_points, freudenstein

STEPS = 40
"""Evaluations of each least squares' direction."""
LENGTH_STEP = 0.5e-3
CLOCK_STEP = 1.0 * DEG

FREE: dict[type[Linkage], tuple[tuple[str, ...], str]] = {
    FourBar: (("horn", "rod", "arm"), "arm_at_neutral"),
    CrankSlider: (("horn", "rod"), "horn_at_neutral"),
    BallRod: (("horn", "rod", "arm"), "arm_at_neutral"),
}
"""Record -> the lengths that may change, and its clocking. Axles stay where they are."""


class Search:
    """Evaluates trial records of one case against what is asked."""

    def __init__(self, case: Case, ask: Ask) -> None:
        self.case, self.ask = case, ask
        self.record = case.mechanism.record
        self.lengths, self.clock = FREE[type(self.record)]
        if isinstance(self.record, FourBar) and self.record.arm_at_neutral is None:
            self.clock = "horn_at_neutral"
        self.fields = (*self.lengths, self.clock)
        self.written = np.array([float(getattr(self.record, name) or 0.0) for name in self.fields])
        room = self.record.room or math.inf
        self.low = np.array([*(0.6 * self.written[:-1]), self.written[-1] - 60 * DEG])
        self.high = np.array([*(1.6 * self.written[:-1]), self.written[-1] + 60 * DEG])
        rod = self.lengths.index("rod")
        self.high[rod] = min(self.high[rod], room)
        self.low[rod] = min(self.low[rod], 0.9 * self.high[rod])

    def made(self, x: F64) -> Linkage:
        """Return the record of some lengths and a clocking; a clock that is found from the rod is left unwritten."""
        update = {name: float(value) for name, value in zip(self.fields, x, strict=True)}
        if isinstance(self.record, BallRod):
            update["horn_at_neutral"] = None  # type: ignore[assignment]
        return self.record.model_copy(update=update)

    def link(self, record: Linkage) -> Link | None:
        """Return the link of a trial record, or None where it does not close at neutral."""
        case = replace(self.case, mechanism=replace(self.case.mechanism, record=cast(Mech, record)))
        if isinstance(record, BallRod):
            pair = ball_rod.link_of(case)
            return None if isinstance(pair, Unknown) else pair[0]
        one = four_bar.link_of(case) if isinstance(record, FourBar) else crank_slider.link_of(case)
        return None if isinstance(one, Unknown) else one

    def misses(self, x: F64) -> F64:
        """Return what the least squares makes small, (3 n + 1 + k,): angles short, torque over, way from what is written."""
        n = self.ask.grid.size
        drift = 0.03 * (x - self.written) / np.maximum(np.abs(self.high - self.low), 1e-9)
        link = self.link(self.made(x))
        if link is None:
            return np.concatenate((np.full(3 * n + 1, 2.0), drift))
        rows = link.backward(self.ask.grid, 0.0)
        closed = rows[REACH] > 0.0
        sine = np.where(closed, np.minimum(rows[SIN_NEAR], rows[SIN_FAR]), rows[REACH])
        rate = np.where(closed, 1.0 / np.where(rows[RATE] == 0.0, 1e-3, np.where(closed, rows[RATE], 1.0)), 1.0)
        flat = np.maximum(math.sin(1.25 * GOOD_ANGLE) - sine, 0.0)
        use = use_of(self.ask, rate, self.record.efficiency, self.record.friction)
        weak = np.maximum(np.log(np.maximum(use, 1e-6) / (0.9 * GOOD_USE)), 0.0)
        turned = np.where(np.sign(rate) != np.sign(rate[0]), 1.0, 0.0)
        swing = float(np.ptp(rows[POSITION][closed])) if closed.any() else 0.0
        far = max(swing / (0.95 * self.ask.turn) - 1.0, 0.0)
        share = 1.0 / math.sqrt(n)
        return np.concatenate((3.0 * share * flat, share * weak, share * turned, [5.0 * far], drift))

    def starts(self) -> Iterator[tuple[str, F64]]:
        """Yield where to begin, in a fixed order."""
        yield "clocked anew", self.written
        yield "new lengths", self.written
        for turned in (-40, -20, 20, 40):
            start = self.written.copy()
            start[-1] += turned * DEG
            yield "new lengths", start
        if isinstance(self.record, FourBar) and self.clock == "arm_at_neutral":
            yield from (("new lengths", start) for start in self._syntheses(self.record))

    def _syntheses(self, record: FourBar) -> Iterator[F64]:
        """Yield four-bars whose horn follows the arm evenly at three places, for several swings and middles."""
        low, high = self.case.functions[0].travel
        sense = 1.0 if record.arm_turns == "with" else -1.0
        exact = chebyshev_points(low, high)
        side = 1.0 if math.sin(record.arm_at_neutral or 1.0) >= 0.0 else -1.0
        for swing in (45, 60, 80):
            for middle in (75, 95):
                for horn_middle in (75, 100):
                    share = (exact - 0.5 * (low + high)) / (high - low)
                    arms = side * middle * DEG + sense * (exact - 0.5 * (low + high))
                    way = sense if record.branch == "open" else -sense
                    horns = side * horn_middle * DEG + way * share * min(swing * DEG, 0.9 * self.ask.turn)
                    found = freudenstein(horns, arms)
                    if not isinstance(found, Lengths) or min(found.horn, found.arm) <= 0.0:
                        continue
                    neutral = side * middle * DEG + sense * (self.case.functions[0].neutral - 0.5 * (low + high))
                    lengths = {"horn": found.horn, "rod": found.rod, "arm": found.arm}
                    yield np.array([*(lengths[name] * record.ground for name in self.lengths), neutral])

    def from_start(self, what: str, start: F64) -> Candidate | None:
        """Return the candidate that the least squares comes to from one start, rounded and judged."""
        inside = np.clip(start, self.low + 1e-9, self.high - 1e-9)
        if what == "clocked anew":
            best = min(
                (self.written[-1] + k * CLOCK_STEP for k in range(-60, 61)),
                key=lambda angle: (float(np.sum(self.misses(np.array([*self.written[:-1], angle])) ** 2)), angle),
            )
            return self.judged(what, self._rounded(np.array([*self.written[:-1], best]), lengths=False))
        scale = np.maximum(np.abs(self.high - self.low), 1e-6)
        found = least_squares(
            self.misses, inside, bounds=(self.low, self.high), x_scale=scale, method="trf", max_nfev=STEPS
        )
        return self.judged(what, self._rounded(np.asarray(found.x)))

    def _rounded(self, x: F64, *, lengths: bool = True) -> Linkage:
        out = x.copy()
        if lengths:
            out[:-1] = np.round(x[:-1] / LENGTH_STEP) * LENGTH_STEP
        out[-1] = round(x[-1] / CLOCK_STEP) * CLOCK_STEP
        return self.made(out)

    def judged(self, what: str, record: Linkage) -> Candidate | None:
        """Return a record with its margins, by the transmission itself; None where it does not go together."""
        case = replace(self.case, mechanism=replace(self.case.mechanism, record=cast(Mech, record)))
        found = KINDS[type(record)](case)
        if not isinstance(found, Transmission) or found.angle is None:
            return None
        position, ask = found.position[0], self.ask
        rate = np.interp(ask.grid, position, found.rate[0, 0])
        use = use_of(ask, rate, found.forward, found.dry)
        worst = int(np.argmax(use))
        swing = float(found.grid[0][-1] - found.grid[0][0])
        faults = tuple(fault for fault in found.faults if fault.serious)
        angle = float(found.angle.min())
        changes = {
            name: (getattr(self.record, name), float(getattr(record, name)))
            for name in self.fields
            if getattr(record, name) is not None and getattr(self.record, name) != getattr(record, name)
        }
        return Candidate(
            what=what, record=record, changes=changes, least_angle=angle, use=float(use[worst]),
            use_at=float(ask.grid[worst]), swing=swing, horn_at_neutral=found.clocking["horn"],
            play=float(found.play[0]), faults=faults,
            performs=not faults and angle >= GOOD_ANGLE and float(use[worst]) <= GOOD_USE and swing <= ask.turn,
        )  # fmt: skip
