"""Trying a change: screened on one mechanism alone, confirmed by a full check through the written file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

import numpy as np

from marotte.basis.contracts.common import F64, Motion, Quantity, Unknown, f32
from marotte.basis.contracts.finding import Edit, Finding, Grade
from marotte.basis.contracts.script import Demand
from marotte.basis.digest import digest
from marotte.basis.faults import BadInput, BadRequest
from marotte.basis.ticks import SERIES_EVERY, SERIES_HZ
from marotte.creature.creature import Creature
from marotte.creature.edit import apply
from marotte.creature.load import build
from marotte.creature.tree import Tree
from marotte.verdict.cells import Cache, Cell
from marotte.verdict.check import Examined, examine
from marotte.verdict.graph import Results
from marotte.verdict.requirements import REGISTRY
from marotte.verdict.requirements.base import NotClaimed, Requirement

WINDOWS: Final = 3
"""Windows of the part that a screen looks at: the scarcest instant's, that of the widest and that of the fastest move."""
RANK: Final[dict[Grade, int]] = {
    "performs": 0,
    "only_just": 1,
    "undecided": 2,
    "unknown": 2,
    "fails": 3,
    "not_applicable": 0,
}
LOST: Final = 0.05
"""Loss of margin that counts as worse."""


@dataclass(frozen=True, slots=True)
class Score:
    """What a screen says: nominal grade and margin of the finding in question, and how many of its neighbours got worse."""

    grade: Grade
    margin: float
    worse: int

    @property
    def good(self) -> bool:
        """Whether it is worth confirming as a cure."""
        return self.grade == "performs" and not self.worse


class Screen:
    """Tries changed creatures on what one finding needs, other things standing as they are."""

    def __init__(self, examined: Examined, finding: Finding, cache: Cache) -> None:
        self._held: tuple[Creature, Results] | None = None
        self.whole = cache
        """Of full checks: for requirements that look at a simulation."""
        self.results = examined.results
        self.creature: Creature = examined.results.creature
        self.requirement = requirement_of(finding, self.creature)
        self.about = finding.about
        self.only = _mechanisms(self.creature, finding.about)
        self.cache = Cache(32 * 1024 * 1024)
        self.demand = self._reduced()
        self.neighbours = [
            (r, about) for r in REGISTRY if r.local for about in r.subjects(self.creature)
            if self.only and _mechanisms(self.creature, about) == self.only and (r, about) != (self.requirement, self.about)
        ]  # fmt: skip
        self.standing = {(r.name, about): self._one(self.creature, r, about)[0] for r, about in self.neighbours}

    def score(self, creature: Creature) -> Score:
        """Return how a changed creature does."""
        grade, margin = self._one(creature, self.requirement, self.about)
        worse = 0
        for r, about in self.neighbours:
            if RANK[self._one(creature, r, about)[0]] > RANK[self.standing[r.name, about]]:
                worse += 1
        return Score(grade, margin, worse)

    def _one(self, creature: Creature, requirement: Requirement[Any], about: str) -> tuple[Grade, float]:
        """Return the nominal grade and margin of one requirement."""
        results = self._results(creature, requirement)
        gathered = requirement.gather(creature, results, about)
        if isinstance(gathered, (Unknown, NotClaimed)):
            return ("unknown" if isinstance(gathered, Unknown) else "not_applicable"), -9.0
        found = requirement.find(gathered)
        if isinstance(found.has, Unknown):
            return "unknown", -9.0
        if found.passed is not None:
            return ("performs", 0.0) if found.passed else ("fails", -1.0)
        margin = requirement.rule.margin(found.has.value, found.needed.value)
        if margin is None:
            return ("performs", 0.0) if found.has.value >= found.needed.value else ("fails", -1.0)
        return requirement.thresholds.grade(margin), margin

    def _results(self, creature: Creature, requirement: Requirement[Any]) -> Results:
        if not requirement.local:
            return Results(creature, self.whole)
        if self._held is not None and self._held[0] is creature:
            return self._held[1]
        made = Results(creature, self.cache, only=self.only, demand=self.demand)
        self._held = (creature, made)
        return made

    def _reduced(self) -> Cell[Demand] | Unknown:
        """Return the asked motion of the few windows that count for this mechanism, one after another."""
        asked = self.results.asked
        if not isinstance(asked, Cell) or not self.only:
            return asked
        names = {name for mech in sorted(self.only) for name in self.creature.mechs[mech].outputs}
        motion = asked.value.motion
        spans = [(w.start, w.stop) for w in asked.value.windows]
        chosen: set[int] = set()
        for name in sorted(names & set(motion.names)):
            row = motion.row(name).astype(np.float64)
            pieces = [row[motion.index(a) : motion.index(b - 1) + 1] for a, b in spans]
            wide = [float(np.abs(p - self.creature.functions[name].neutral).max(initial=0.0)) for p in pieces]
            fast = [float(np.abs(np.diff(p)).max(initial=0.0)) for p in pieces]
            chosen |= {int(np.argmax(wide)), int(np.argmax(fast))}
        for mech in sorted(self.only):
            points = self.results.worst.get(mech)
            for point in points if isinstance(points, tuple) else ():
                tick = self.results.tick_of(point.sample)
                chosen |= {k for k, (a, b) in enumerate(spans) if a <= tick < b}
        parts = [
            motion.values[:, motion.index(spans[k][0]) : motion.index(spans[k][1] - 1) + 1] for k in sorted(chosen)
        ]
        values = f32(_joined([part.astype(np.float64) for part in parts]))
        short = Motion(names=motion.names, units=motion.units, start=0, every=SERIES_EVERY, values=values)
        return Cell(replace(asked.value, motion=short), digest(("screen", asked.result, tuple(sorted(chosen)))))


def requirement_of(finding: Finding, creature: Creature) -> Requirement[Any]:
    """Return the requirement that a finding belongs to."""
    return next(
        r for r in REGISTRY if r.id_of(finding.about) == finding.id and finding.about in set(r.subjects(creature))
    )


def _joined(parts: Sequence[F64]) -> F64:
    """Return pieces one after another, each led over to the next within a second, slowly enough to ask nothing."""
    out = [parts[0]]
    ramp = 0.5 - 0.5 * np.cos(np.pi * np.arange(SERIES_HZ) / SERIES_HZ)
    for before, after in pairwise(parts):
        out += [before[:, -1:] + (after[:, :1] - before[:, -1:]) * ramp, after]
    return np.concatenate(out, axis=1)


def _mechanisms(creature: Creature, about: str) -> frozenset[str]:
    """Return the mechanism that a subject is, or that moves it; nothing for a subject that is neither."""
    if about in creature.mechs:
        return frozenset({about})
    return frozenset(name for name, mech in creature.mechs.items() if about in mech.outputs)


@dataclass(frozen=True, slots=True)
class Confirmed:
    """A change that was checked in full."""

    examined: Examined
    finding: Finding
    worsens: tuple[str, ...]
    lost: int
    """Findings that fell a grade."""


def confirm(
    tree: Tree, folder: Path, standing: Examined, finding: Finding, edits: Sequence[Edit], cache: Cache
) -> Confirmed | None:
    """Apply edits to the written tree, check in full, and take them back; None where the file does not bear them."""
    try:
        back = apply(tree, edits)
    except BadRequest:
        return None
    try:
        after = examine(build(tree, folder), cache)
    except BadInput:
        return None
    finally:
        apply(tree, back)
    now = {item.id: item for item in after.verdict.findings}
    if finding.id not in now:
        return None
    worsens, lost = worse(standing.verdict.findings, now, finding.id)
    return Confirmed(after, now[finding.id], worsens, lost)


def worse(before: Sequence[Finding], now: dict[str, Finding], but: str) -> tuple[tuple[str, ...], int]:
    """Return the findings that fell a grade or lost 0.05 of margin, and how many fell."""
    out: list[str] = []
    lost = 0
    for item in before:
        other = now.get(item.id)
        if other is None or item.id == but:
            continue
        fell = RANK[other.grade] > RANK[item.grade]
        slipped = item.margin is not None and other.margin is not None and other.margin < item.margin - LOST
        lost += fell
        if fell:
            out.append(f"{item.id}: {item.grade} -> {other.grade}")
        elif slipped and other.margin is not None and item.margin is not None and other.margin < 1.0:
            out.append(f"{item.id}: margin {item.margin:+.0%} -> {other.margin:+.0%}")
    return tuple(out), lost


def number_of(finding: Finding) -> Quantity | None:
    """Return what a finding has, where it is known."""
    return finding.has if isinstance(finding.has, Quantity) else None
