"""Changed creatures tried on what one finding needs, other things standing as they are."""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any, Final, TypeVar

import numpy as np

from marotte.basis.contracts.common import F64, Motion, Quantity, Unknown, f32
from marotte.basis.contracts.finding import Finding, Grade
from marotte.basis.contracts.script import Demand
from marotte.basis.digest import digest
from marotte.basis.ticks import SERIES_EVERY, SERIES_HZ
from marotte.creature.creature import Creature
from marotte.verdict.along import static_reach
from marotte.verdict.cells import Cache, Cell
from marotte.verdict.check import Examined
from marotte.verdict.graph import Results
from marotte.verdict.ledger import Ledgers
from marotte.verdict.margins import spread, undecided
from marotte.verdict.remedies.score import NOTHING, RANK, Score
from marotte.verdict.remedies.turn import Turn, Value
from marotte.verdict.requirements import REGISTRY
from marotte.verdict.requirements.base import NotClaimed, Requirement
from marotte.verdict.requirements.drive import DRIVE
from marotte.verdict.workings import Writer

T = TypeVar("T")
CHEAP: Final = frozenset({"mass", "noise", "cost", "hours"})
"""Requirements about the whole creature that need no simulation: they are screened as they are."""
HALF_AGAIN: Final = 1.5
"""Torque over what there was that is sought for findings of a simulation, before the full check says what it gave."""


class Scratch(Cache):
    """A cache for tries: operating points, which no two tries share, are found without looking for them first."""

    def cell(
        self,
        method: str,
        number: int,
        function: Callable[..., T],
        *arguments: object,
        by_key: bool = False,
        weighs: int = 0,
    ) -> Cell[T]:
        """Return the cell of a function of its arguments, under the same rules as any cache."""
        if function is static_reach:  # only said, never graded
            return Cell((0.0, 0.0), b"")  # type: ignore[arg-type]
        if method == "verdict/operating_point":
            return Cell(function(*arguments), b"")
        return super().cell(method, number, function, *arguments, by_key=by_key, weighs=weighs)


class Screen:
    """Tries changed creatures on what one finding needs, other things standing as they are.

    A requirement that looks at one mechanism is tried as it is, on the few windows of the part that count for it. One that
    looks at a simulation is not simulated again for every try: the torque left on the mechanisms that it is about stands
    for it, and the full check has the last word.
    """

    def __init__(self, examined: Examined, finding: Finding, cache: Cache) -> None:
        self.whole = cache
        """Of full checks: for requirements about the whole creature."""
        self.results = examined.results
        self.creature: Creature = examined.results.creature
        self.requirement = requirement_of(finding, self.creature)
        self.about = finding.about
        self.before: Grade = finding.grade
        """Grade of the finding as it stands; neighbours are looked at only where it is bettered."""
        self.proxied = not self.requirement.local and self.requirement.name not in CHEAP
        self.mechs = _mechanisms(self.creature, finding.about) or _missing(examined, self.requirement, finding.about)
        self.cache = Scratch(32 * 1024 * 1024, at_hand=256)
        self.ledgers = _ledgers(self.creature)
        self.windows = self._first_windows()
        self._start()

    @property
    def by_levers(self) -> bool:
        """Whether turning knobs can be screened for this finding at all."""
        return bool(self.proxies) if self.proxied else self.requirement.local

    def _start(self) -> None:
        """Look at the creature as it stands, on the windows chosen."""
        self._held: tuple[Creature, Results] | None = None
        self.demand = self._reduced()
        self.neighbours = [
            (r, about) for r in REGISTRY if r.local for about in r.subjects(self.creature)
            if _mechanisms(self.creature, about) & self.mechs and (r, about) != (self.requirement, self.about)
        ]  # fmt: skip
        self.standing = {(r.name, about): self._one(self.creature, r, about)[0] for r, about in self.neighbours}
        drives = [(r, about) for r, about in self.neighbours if r.name == DRIVE.name]
        self.proxies = drives if self.proxied else []
        self.wanted = max((1.0 + self._least(self.creature)) * HALF_AGAIN - 1.0, 0.0)

    def score(self, creature: Creature, changes: Sequence[tuple[Turn, Value]] = ()) -> Score:
        """Return how a changed creature does; ``changes`` are the knobs that were turned in it."""
        grade: Grade
        if self.proxied:
            margin = self._least(creature)
            grade = "performs" if margin >= self.wanted else "fails"
        else:
            grade, margin = self._one(creature, self.requirement, self.about)
        if RANK[grade] >= RANK[self.before]:
            return Score(grade, margin, 0)
        worse = 0
        for r, about in self.neighbours:
            found = self._one(creature, r, about)[0]
            if found == "fails" and self.standing[r.name, about] != "fails":
                return Score("fails", margin, 1)  # a cure that breaks something else is none
            worse += RANK[found] > RANK[self.standing[r.name, about]]
        doubt = 0
        if grade == "only_just" and not self.proxied and self._doubtful(creature, changes):
            marks = self.requirement.thresholds
            doubt = 2 if margin < 0.5 * (marks.only_just + marks.performs) else 1
        return Score(grade, margin, worse, doubt)

    def widened(self, creatures: Iterable[Creature]) -> bool:
        """Add the windows in which changed creatures have their scarcest instant, over the whole part; whether there were new ones.

        A change can move the scarcest instant to a window that was not looked at; when this adds none, what was screened
        holds over the whole part.
        """
        if not isinstance(self.results.asked, Cell) or not self.mechs:
            return False
        before = set(self.windows)
        for creature in creatures:
            whole = Results(creature, self.cache, only=self.mechs, demand=self.results.asked)
            self.windows |= self._scarcest(whole)
        if self.windows == before:
            return False
        self._start()
        return True

    def _least(self, creature: Creature) -> float:
        return min((self._one(creature, r, about)[1] for r, about in self.proxies), default=NOTHING)

    def _one(self, creature: Creature, requirement: Requirement[Any], about: str) -> tuple[Grade, float]:
        """Return the nominal grade and margin of one requirement."""
        results = self._results(creature, requirement)
        gathered = requirement.gather(creature, results, about)
        if isinstance(gathered, (Unknown, NotClaimed)):
            return ("unknown" if isinstance(gathered, Unknown) else "not_applicable"), NOTHING
        found = requirement.find(gathered)
        if isinstance(found.has, Unknown):
            return "unknown", NOTHING
        if found.passed is not None:
            return ("performs", 0.0) if found.passed else ("fails", -1.0)
        margin = requirement.rule.margin(found.has.value, found.needed.value)
        if margin is None:
            return ("performs", 0.0) if found.has.value >= found.needed.value else ("fails", -1.0)
        return requirement.thresholds_of(found).grade(margin), margin

    def _doubtful(self, creature: Creature, changes: Sequence[tuple[Turn, Value]]) -> bool:
        """Return whether typical and guessed inputs leave it open whether the finding in question still fails."""
        requirement = self.requirement
        gathered = requirement.gather(creature, self._results(creature, requirement), self.about)
        found = requirement.find(gathered)
        if requirement.work is None or not isinstance(found.has, Quantity):
            return False
        own = self.ledgers if creature.given is self.creature.given else _ledgers(creature)
        ledger = {
            **own.of(gathered).given,
            **{t.stands: g for t, v in changes if (g := t.given(v)) is not None},
        }
        writer = Writer(ledger, requirement.method)
        requirement.work(writer, gathered, found)
        margin = requirement.rule.margin(found.has.value, found.needed.value)
        if margin is None or not writer.steps:
            return False
        return undecided(margin, requirement.thresholds, spread(writer, requirement.rule, found.needed.value, ledger))

    def _results(self, creature: Creature, requirement: Requirement[Any]) -> Results:
        if not requirement.local:
            return Results(creature, self.whole)
        if self._held is not None and self._held[0] is creature:
            return self._held[1]
        made = Results(creature, self.cache, only=self.mechs, demand=self.demand)
        self._held = (creature, made)
        return made

    def _first_windows(self) -> set[int]:
        """Return the windows of the scarcest instant, of the widest and of the fastest move of every function moved."""
        asked = self.results.asked
        if not isinstance(asked, Cell) or not self.mechs:
            return set()
        names = {name for mech in sorted(self.mechs) for name in self.creature.mechs[mech].outputs}
        motion = asked.value.motion
        spans = [(w.start, w.stop) for w in asked.value.windows]
        chosen = self._scarcest(self.results)
        for name in sorted(names & set(motion.names)):
            row = motion.row(name).astype(np.float64)
            pieces = [row[motion.index(a) : motion.index(b - 1) + 1] for a, b in spans]
            wide = [float(np.abs(p - self.creature.functions[name].neutral).max(initial=0.0)) for p in pieces]
            fast = [float(np.abs(np.diff(p)).max(initial=0.0)) for p in pieces]
            chosen |= {int(np.argmax(wide)), int(np.argmax(fast))}
        return chosen

    def _scarcest(self, results: Results) -> set[int]:
        assert isinstance(self.results.asked, Cell)
        spans = [(w.start, w.stop) for w in self.results.asked.value.windows]
        chosen: set[int] = set()
        for mech in sorted(self.mechs):
            points = results.worst.get(mech)
            for point in points if isinstance(points, tuple) else ():
                tick = results.tick_of(point.sample)
                chosen |= {k for k, (a, b) in enumerate(spans) if a <= tick < b}
        return chosen

    def _reduced(self) -> Cell[Demand] | Unknown:
        """Return the asked motion of the chosen windows, one after another."""
        asked = self.results.asked
        if not isinstance(asked, Cell) or not self.windows:
            return asked
        motion, spans = asked.value.motion, asked.value.windows
        chosen = [spans[k] for k in sorted(self.windows)]
        parts = [motion.values[:, motion.index(w.start) : motion.index(w.stop - 1) + 1] for w in chosen]
        values = f32(_joined([part.astype(np.float64) for part in parts]))
        short = Motion(names=motion.names, units=motion.units, start=0, every=SERIES_EVERY, values=values)
        return Cell(replace(asked.value, motion=short), digest(("screen", asked.result, tuple(sorted(self.windows)))))


def requirement_of(finding: Finding, creature: Creature) -> Requirement[Any]:
    """Return the requirement that a finding belongs to."""
    return next(
        r for r in REGISTRY if r.id_of(finding.about) == finding.id and finding.about in set(r.subjects(creature))
    )


def _ledgers(creature: Creature) -> Ledgers:
    return Ledgers(ChainMap(dict(creature.given), dict(creature.stock_tables.given)))


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


def _missing(examined: Examined, requirement: Requirement[Any], about: str) -> frozenset[str]:
    """Return the mechanisms that the hits want which a finding says are missed."""
    gathered = requirement.gather(examined.results.creature, examined.results, about)
    hits = getattr(gathered, "missed", ())
    wanted = {need.function for hit in hits for need in hit.needs}
    mechs = examined.results.creature.mechs
    return frozenset(name for name, mech in mechs.items() if wanted & set(mech.outputs))
