"""Sizing of wires: the radius of horn and arm, or of both drums, against travel and the servo's turn. docs/methods/sizing.md.

The ratio is plain, so that every pair of radii is looked at in closed form; what is picked is then solved in full.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.contracts.mech import MechFault, Transmission
from marotte.basis.units import DEG, show
from marotte.creature.schema.mechs import Linkage
from marotte.mech.ask import use_of
from marotte.mech.size_candidate import GOOD_USE, Candidate
from marotte.mech.size_free import LENGTH_STEP, bounds, made, value_of
from marotte.mech.size_judge import Trial, judged, solved
from marotte.mech.size_search import TURNED

UNSAID: Final = (3e-3, 40e-3)
"""Radii that are tried where a horn is not written (common practice, no source)."""
WIDE: Final = (0.4, 2.5)
"""How far a radius may go from what is written, as shares: a drum is a new part anyway (a rule of this project)."""
DRUM: Final = 120 * DEG
"""Swing past which a straight horn will not do: at 60 deg either way its lever is half."""


class Pair(NamedTuple):
    """Two radii with what they come to."""

    horn: float
    arm: float
    use: float
    swing: float
    tension: float


def candidates(trial: Trial) -> Iterator[Candidate]:
    """Yield proposals for a wire, judged: another horn, then both radii; the nearest that performs, and the easiest."""
    record = trial.record
    alone = [pair for pair in _pairs(trial) if pair.arm == (value_of(record, "arm") or 1.0)]
    for tries in (alone, _pairs(trial)):
        good = [pair for pair in tries if _performs(trial, pair)]
        nearest = min(good, key=lambda pair: _way(trial, pair), default=None)
        turning = [pair for pair in tries if pair.swing <= TURNED * trial.ask.line.turn] or tries
        easiest = min(turning, key=lambda pair: (max(pair.use, 0.5 * GOOD_USE), _way(trial, pair)), default=None)
        for pair in (nearest, easiest):
            found = None if pair is None else judged_wire(trial, _record(trial, pair))
            if found is not None:
                yield found
        if good:
            return


def judged_wire(trial: Trial, record: Linkage) -> Candidate | None:
    """Return a wire with its margins; one that is pulled over its working load does not perform."""
    candidate, found = judged(trial, record), solved(trial, record)
    if candidate is None or found is None:
        return None
    tension = _tension(trial, found, value_of(record, "arm") or 1.0)
    works = found.facts["works_at_n"]
    if tension <= works:
        return candidate
    sentence = (
        f"{trial.case.said}: its wire is pulled with {show(tension, 'N', 2)} and works at {show(works, 'N', 2)}: a longer arm, or a "
        "thicker wire"
    )
    fault = MechFault(
        kind="wire", output=trial.case.mechanism.outputs[0], at=trial.case.functions[0].neutral, sentence=sentence
    )
    return replace(candidate, faults=(*candidate.faults, fault), performs=False)


def _pairs(trial: Trial) -> list[Pair]:
    """Return every pair of radii in steps of half a millimetre, with torque and swing; of a stroke, the horn alone."""
    record, fields = trial.record, trial.free.lengths
    begin = made(record, {"horn": UNSAID[0]}) if value_of(record, "horn") is None else record
    found = solved(trial, begin)
    if found is None:
        return []
    written = np.array([value_of(begin, field) or 0.0 for field in fields])
    low, high = bounds(begin, trial.free, written, WIDE)
    if begin is not record:
        low[0], high[0] = UNSAID
    radii = [_steps(*ends) for ends in zip(low, high, strict=True)]
    arms = [float(a) for a in radii[1]] if len(radii) > 1 else [1.0]
    if len(radii) > 1:
        arms = sorted({*arms, float(written[1])})
    drag = (found.dry - record.friction) / written[0]
    span = float(np.ptp(trial.ask.first.grid))
    made_of: list[Pair] = []
    for horn in sorted({*(float(r) for r in radii[0]), float(written[0])}):
        for arm in arms:
            rate = np.full(trial.ask.first.grid.size, horn / arm)
            use = float(use_of(trial.ask, rate, found.forward, record.friction + drag * horn).max())
            made_of.append(Pair(horn, arm, use, span * arm / horn, _tension(trial, found, arm)))
    return made_of


def _steps(low: float, high: float) -> F64:
    """Return radii between two, in half millimetres, or in as many of them as make sixty steps at most."""
    step = LENGTH_STEP * max(1, round((high - low) / (60 * LENGTH_STEP)))
    return np.asarray(np.arange(np.ceil(low / step - 1e-9), np.floor(high / step + 1e-9) + 1) * step)


def _tension(trial: Trial, found: Transmission, arm: float) -> float:
    """Return the largest pull [N] in the wire at the servo's end."""
    return float(trial.ask.first.asked.max()) / arm / found.forward


def _performs(trial: Trial, pair: Pair) -> bool:
    return pair.use <= GOOD_USE and pair.swing <= TURNED * trial.ask.line.turn


def _way(trial: Trial, pair: Pair) -> float:
    """Return how far a pair is from what is written, as shares of it; from a swing of 90 deg where no horn is."""
    horn, arm = value_of(trial.record, "horn"), value_of(trial.record, "arm") or 1.0
    from_horn = abs(pair.swing / (90 * DEG) - 1.0) if horn is None else abs(pair.horn / horn - 1.0)
    return from_horn + abs(pair.arm / arm - 1.0)


def _record(trial: Trial, pair: Pair) -> Linkage:
    values = {"horn": pair.horn, "arm": pair.arm}
    return made(trial.record, {field: values[field] for field in trial.free.lengths})
