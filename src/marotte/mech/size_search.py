"""The search for lengths and clocking of a rod linkage: bounded least squares from fixed starts. docs/methods/sizing.md.

It knows nothing of kinds: what is missed, how a record is judged and where else to begin are given to it.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator
from typing import Final, NamedTuple

import numpy as np
from scipy.optimize import least_squares

from marotte.basis.contracts.common import F64
from marotte.basis.units import DEG
from marotte.creature.schema.mechs import Linkage
from marotte.mech.size_candidate import Candidate
from marotte.mech.size_free import CLOCK_STEP, TURNS, bounds, made, rounded, value_of
from marotte.mech.size_judge import Trial

STEPS: Final = 40
"""Evaluations of each least squares' direction."""
ROOM: Final = 1.25
"""Angles are aimed for this much over what is good, so that what is rounded still is."""
TURNED: Final = 0.95
"""Share of the servo's whole turn that a horn may swing by."""
DRIFT: Final = 0.03
"""How much is counted for leaving what is written by the whole way between a field's bounds."""
ALONE: Final = 31
"""Values of a length that are tried with nothing else changed."""
COARSE: Final = 15 * DEG
"""Clockings that work on one another are first tried in pairs, in these steps."""


class Ways(NamedTuple):
    """What a search is told of a kind."""

    misses: Callable[[Trial, Linkage], F64]
    """What the least squares makes small, always as many: angles short, torque over, swing over."""
    judge: Callable[[Trial, Linkage], Candidate | None]
    """A record solved in full."""
    starts: Callable[[Trial, Linkage, F64], Iterable[F64]]
    """Where to begin beside what is written, (f,) each."""


class Search:
    """Evaluates trial records of one mechanism against what is asked."""

    def __init__(self, trial: Trial, begin: Linkage, ways: Ways) -> None:
        self.trial, self.free, self.ways = trial, trial.free, ways
        self.record = begin
        self.written = np.array([value_of(begin, field) or 0.0 for field in self.free.fields])
        self.low, self.high = bounds(begin, self.free, self.written)
        self.clocks = range(len(self.free.lengths), len(self.free.fields))

    def made(self, x: F64) -> Linkage:
        """Return the record of some lengths and clockings, (f,)."""
        return made(self.record, dict(zip(self.free.fields, map(float, x), strict=True)))

    def misses(self, x: F64) -> F64:
        """Return what the least squares makes small: what the kind misses, and a little for leaving what is written."""
        drift = DRIFT * (x - self.written) / np.maximum(np.abs(self.high - self.low), 1e-9)
        return np.concatenate((self.ways.misses(self.trial, self.made(x)), drift))

    def candidates(self) -> Iterator[Candidate]:
        """Yield what each start comes to, rounded and judged, in a fixed order."""
        clocked = self._clocked_anew()
        found = self.ways.judge(self.trial, self._rounded(clocked, lengths=False))
        if found is not None:
            yield found
        for x in self._one_thing():
            found = self.ways.judge(self.trial, self._rounded(x))
            if found is not None:
                yield found
        for start in self._starts(clocked):
            found = self.ways.judge(self.trial, self._rounded(self._descend(start)))
            if found is not None:
                yield found

    def _one_thing(self) -> Iterator[F64]:
        """Yield what is written with one length alone changed to where it misses least: one new part, and no other."""
        for i in range(self.clocks.start):
            tries = np.repeat(self.written[None], ALONE, axis=0)
            tries[:, i] = np.linspace(self.low[i], self.high[i], ALONE)
            yield min(tries, key=lambda x: float(np.sum(self.misses(x) ** 2)))

    def _descend(self, start: F64) -> F64:
        inside = np.clip(start, self.low + 1e-9, self.high - 1e-9)
        scale = np.maximum(np.abs(self.high - self.low), 1e-6)
        found = least_squares(
            self.misses, inside, bounds=(self.low, self.high), x_scale=scale, method="trf", max_nfev=STEPS
        )
        return np.asarray(found.x)

    def _starts(self, clocked: F64) -> Iterator[F64]:
        yield self.written
        if len(self.clocks) > 1:
            yield clocked
        for clock in self.clocks:
            for turned in (-40, -20, 20, 40):
                start = self.written.copy()
                start[clock] += turned * DEG
                yield start
        yield from self.ways.starts(self.trial, self.record, self.written)

    def _clocked_anew(self) -> F64:
        """Return what is written with its clockings where they miss least, in steps of a degree; of several, one after another."""
        best = self.written.copy()
        if len(self.clocks) > 1:
            ways = np.arange(-TURNS, TURNS + 1e-9, COARSE)
            tries = [
                self._clocked(best, dict(zip(self.clocks, way, strict=True)))
                for way in itertools.product(ways, repeat=len(self.clocks))
            ]
            best = min(tries, key=lambda x: float(np.sum(self.misses(x) ** 2)))
        for clock in self.clocks:
            steps = round(TURNS / CLOCK_STEP)
            tries = [self._clocked(best, {clock: k * CLOCK_STEP}) for k in range(-steps, steps + 1)]
            best = min(tries, key=lambda x: (float(np.sum(self.misses(x) ** 2)), float(x[clock])))
        return best

    def _clocked(self, x: F64, turned: dict[int, float]) -> F64:
        """Return x with some clockings turned so far from what is written."""
        out = x.copy()
        for clock, way in turned.items():
            out[clock] = self.written[clock] + way
        return out

    def _rounded(self, x: F64, *, lengths: bool = True) -> Linkage:
        out = {
            field: rounded(field, float(value)) if lengths or field in self.free.clocks else float(value)
            for field, value in zip(self.free.fields, x, strict=True)
        }
        return made(self.record, out)
