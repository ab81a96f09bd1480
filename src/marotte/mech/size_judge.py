"""A trial record judged by its own transmission: what the search only reckons with is solved in full here."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import cast

import numpy as np

from marotte.basis.contracts.mech import Transmission
from marotte.creature.schema.mechs import Linkage, Mech, TeeBar
from marotte.mech.ask import Ask, use_of
from marotte.mech.case import Case
from marotte.mech.kinds import KINDS
from marotte.mech.size_candidate import Candidate, is_good
from marotte.mech.size_free import Free, changes


@dataclass(frozen=True, slots=True)
class Trial:
    """A mechanism that is to be sized, as it is written, and what is asked of it."""

    case: Case
    ask: Ask
    free: Free
    written: Linkage
    """What changes are counted from."""
    output: int = 0
    """Of the function that was named, among the mechanism's."""
    reach: float = math.inf
    """How far from an eye's middle its rods may take hold [m]."""

    @property
    def record(self) -> Linkage:
        """What a search begins from."""
        return self.case.mechanism.record

    def with_record(self, record: Linkage) -> Case:
        """Return the case with another record."""
        return replace(self.case, mechanism=replace(self.case.mechanism, record=cast(Mech, record)))

    def place(self, position: float) -> float:
        """Return where the named function stands, with what is asked of (it, or the bar that moves it) at a position."""
        if not isinstance(self.record, TeeBar):
            return position
        return self.case.functions[self.output].neutral + self.record.shares[self.output] * position


def solved(trial: Trial, record: Linkage) -> Transmission | None:
    """Return the transmission of a trial record; None where it does not go together, or is not turned by its servo."""
    found = KINDS[type(record)](trial.with_record(record))
    return found if isinstance(found, Transmission) and "m" not in found.input_units else None


def judged(trial: Trial, record: Linkage) -> Candidate | None:
    """Return a record of a mechanism with one input with its margins; None where it does not go together."""
    found, ask = solved(trial, record), trial.ask
    if found is None:
        return None
    way, rate = found.position[0], found.rate[0, 0]
    if isinstance(record, TeeBar):  # the bar's own way, which every tab follows by its share
        way, rate = (way - trial.case.functions[0].neutral) / record.shares[0], rate / record.shares[0]
    order = np.argsort(way, kind="stable")
    use = use_of(ask, np.interp(ask.first.grid, way[order], rate[order]), found.forward, found.dry)
    worst = int(np.argmax(use))
    swing = float(found.grid[0][-1] - found.grid[0][0])
    faults = tuple(fault for fault in found.faults if fault.serious)
    angle = None if found.angle is None else float(found.angle.min())
    return Candidate(
        record=record, changes=changes(trial.written, record, trial.free), least_angle=angle,
        use=float(use[worst]), use_at=(trial.place(float(ask.first.grid[worst])),), swing=swing,
        play=float(found.play[trial.output]), faults=faults, performs=is_good(angle, float(use[worst]), swing, ask, faults),
    )  # fmt: skip
