"""A plan: remedies one after another until nothing fails or nothing helps, and then without what is not needed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from marotte.basis.contracts.finding import Edit, Finding, Remedy
from marotte.basis.faults import BadInput, BadRequest
from marotte.creature.edit import apply
from marotte.creature.load import build
from marotte.creature.tree import Tree
from marotte.verdict.cells import Cache
from marotte.verdict.check import Examined, examine
from marotte.verdict.remedies.score import RANK
from marotte.verdict.remedies.search import remedies
from marotte.verdict.said import to_settle, told_tests

MOST: Final = 24
"""Steps at most."""
ORDER: Final = {"mech": 0, "travel": 1, "drive": 2, "hold": 3}
"""Mechanisms that do not go together come first: nothing behind them can be computed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What to change, in order, and where the creature then stands."""

    steps: tuple[Remedy, ...]
    before: Examined
    after: Examined
    remains: tuple[str, ...]
    """Findings that still fail."""

    @property
    def edits(self) -> tuple[Edit, ...]:
        """All edits in order."""
        return tuple(edit for step in self.steps for edit in step.edits)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The steps in words."""
        return tuple(step.sentence for step in self.steps)

    @property
    def left(self) -> tuple[str, ...]:
        """What remains, in words: what still fails, and what only a measurement settles."""
        findings = self.after.verdict.findings
        fails = [f"{item.id} still fails: {item.sentence}" for item in findings if item.grade == "fails"]
        tests = [" ".join(told_tests(names, tests)) for names, tests in to_settle(findings).items()]
        return (*fails, *tests)


def plan(tree: Tree, folder: Path, cache: Cache | None = None, progress: Callable[[str], None] | None = None) -> Plan:
    """Return the plan of a written creature; the tree is as it was when this returns.

    What is cheapest to undo comes first among remedies that reach the same grade, and in the plan.

    Raises:
        BadInput: the tree cannot be read.
    """
    cache = cache if cache is not None else Cache()
    tell = progress or (lambda text: None)
    first = standing = examine(build(tree, folder), cache)
    steps: list[Remedy] = []
    backs: list[tuple[Edit, ...]] = []
    given_up: set[str] = set()
    try:
        while len(steps) < MOST:
            item = _next(standing, given_up)
            if item is None:
                break
            tell(f"what helps {item.id}")
            remedy = next(iter(remedies(tree, folder, standing, item.id, cache)), None)
            if remedy is None:
                given_up.add(item.id)
                continue
            backs.append(apply(tree, remedy.edits))
            standing = examine(build(tree, folder), cache)
            steps.append(remedy)
    finally:
        for back in reversed(backs):
            apply(tree, back)
    kept = _cheapest_first(_needed(tree, folder, steps, standing, cache, tell))
    after = _with(tree, folder, kept, cache)
    assert after is not None  # it was checked with just these edits
    return Plan(steps=tuple(kept), before=first, after=after, remains=_fails(after))


def _next(standing: Examined, given_up: set[str]) -> Finding | None:
    """Return the failing finding to cure next."""
    failing = [item for item in standing.verdict.findings if item.grade == "fails" and item.id not in given_up]
    return min(failing, key=lambda item: (ORDER.get(item.requirement, len(ORDER)), item.id), default=None)


def _fails(examined: Examined) -> tuple[str, ...]:
    return tuple(item.id for item in examined.verdict.findings if item.grade == "fails")


def _as_good(tried: Examined | None, standing: Examined) -> bool:
    """Return whether no finding has a worse grade than in the verdict of all steps together."""
    if tried is None:
        return False
    grades = {item.id: RANK[item.grade] for item in standing.verdict.findings}
    return all(RANK[item.grade] <= grades.get(item.id, RANK["fails"]) for item in tried.verdict.findings)


def _needed(
    tree: Tree, folder: Path, steps: Sequence[Remedy], standing: Examined, cache: Cache, tell: Callable[[str], None]
) -> list[Remedy]:
    """Drop every step without which no grade is worse, the dearest first."""
    kept = list(steps)
    for step in sorted(steps, key=lambda one: (-one.cost, steps.index(one))):
        tell(f"is it needed: {step.sentence.split(':')[0]}")
        k = next(k for k, one in enumerate(kept) if one.finding == step.finding and one.sentence == step.sentence)
        fewer = kept[:k] + _rebased(kept[k], kept[k + 1 :])
        if _as_good(_with(tree, folder, fewer, cache), standing):
            kept = fewer
    return kept


def _rebased(gone: Remedy, later: Sequence[Remedy]) -> list[Remedy]:
    """Return later steps that start from what was written before a step that is gone."""
    first = {edit.path: edit.from_ for edit in gone.edits}
    out: list[Remedy] = []
    for step in later:
        edits = tuple(replace(edit, from_=first.pop(edit.path, edit.from_)) for edit in step.edits)
        out.append(replace(step, edits=edits))
    return out


def _cheapest_first(steps: Sequence[Remedy]) -> list[Remedy]:
    """Return steps by cost, where none writes what another has written."""
    paths = [edit.path for step in steps for edit in step.edits]
    if any(a == b or a.startswith(f"{b}/") for k, a in enumerate(paths) for m, b in enumerate(paths) if k != m):
        return list(steps)
    return sorted(steps, key=lambda step: (step.cost, step.finding))


def _with(tree: Tree, folder: Path, steps: Sequence[Remedy], cache: Cache) -> Examined | None:
    backs: list[tuple[Edit, ...]] = []
    try:
        for step in steps:
            backs.append(apply(tree, step.edits))  # noqa: PERF401 - each must be taken back, also where a later one fails
        return examine(build(tree, folder), cache)
    except (BadInput, BadRequest):
        return None
    finally:
        for back in reversed(backs):
            apply(tree, back)
