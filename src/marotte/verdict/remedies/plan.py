"""A plan: remedies one after another until nothing fails or nothing helps, and then without those that are not needed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from marotte.basis.contracts.finding import Edit, Finding, Remedy
from marotte.basis.faults import BadInput, BadRequest
from marotte.creature.edit import apply
from marotte.creature.load import build
from marotte.creature.tree import Tree
from marotte.verdict.cells import Cache
from marotte.verdict.check import Examined, examine
from marotte.verdict.remedies.search import remedies

MOST: Final = 24
"""Steps at most."""


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


def plan(tree: Tree, folder: Path, cache: Cache | None = None, progress: Callable[[str], None] | None = None) -> Plan:
    """Return the plan of a written creature; the tree is as it was when this returns.

    What is cheapest to undo comes first among remedies that reach the same grade. A remedy that makes another finding fail is
    not taken.

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
            tell(f"looking for what helps {item.id}")
            remedy = next((one for one in remedies(tree, folder, standing, item.id, cache) if not _breaks(one)), None)
            if remedy is None:
                given_up.add(item.id)
                continue
            backs.append(apply(tree, remedy.edits))
            standing = examine(build(tree, folder), cache)
            steps.append(remedy)
            if remedy.grade == "fails":
                given_up.add(item.id)
    finally:
        for back in reversed(backs):
            apply(tree, back)
    kept, standing = _needed(tree, folder, steps, standing, cache, tell)
    return Plan(steps=tuple(kept), before=first, after=standing, remains=_fails(standing))


def _next(standing: Examined, given_up: set[str]) -> Finding | None:
    """Return the worst finding that fails and has not been given up."""
    failing = [item for item in standing.verdict.findings if item.grade == "fails" and item.id not in given_up]
    return min(failing, key=lambda item: (_first(item), item.id), default=None)


def _first(item: Finding) -> int:
    """Mechanisms that do not go together come first: nothing behind them can be computed."""
    order = {"mech": 0, "travel": 1, "drive": 2, "hold": 3}
    return order.get(item.requirement, 4)


def _breaks(remedy: Remedy) -> bool:
    return any(text.endswith("-> fails") for text in remedy.worsens)


def _fails(examined: Examined) -> tuple[str, ...]:
    return tuple(item.id for item in examined.verdict.findings if item.grade == "fails")


def _needed(
    tree: Tree, folder: Path, steps: list[Remedy], standing: Examined, cache: Cache, tell: Callable[[str], None]
) -> tuple[list[Remedy], Examined]:
    """Drop every step without which nothing more fails, the dearest first."""
    kept, best = list(steps), standing
    allowed = set(_fails(standing))
    for step in sorted(steps, key=lambda one: (-one.cost, one.finding)):
        fewer = [one for one in kept if one is not step]
        tell(f"trying without: {step.sentence}")
        tried = _with(tree, folder, fewer, cache)
        if tried is not None and set(_fails(tried)) <= allowed:
            kept, best = fewer, tried
    return kept, best


def _with(tree: Tree, folder: Path, steps: list[Remedy], cache: Cache) -> Examined | None:
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
