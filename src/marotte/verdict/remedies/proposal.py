"""A proposal: a change that is more than a knob, as edits with what they are, and what its generators look at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

from marotte.basis.contracts.finding import Edit, Finding, Grade
from marotte.basis.given import Ref
from marotte.creature.creature import Creature
from marotte.creature.edit import value_at
from marotte.creature.tree import Tree
from marotte.verdict.graph import Results


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """Edits with what they are."""

    edits: tuple[Edit, ...]
    says: str
    then: str
    """What else goes with it; may be empty."""
    cost: float
    asks: bool = False
    """Whether it changes what is asked of the creature, not how it is built."""
    hopes: Grade = "undecided"
    """Grade that its generator has computed, where no screen can; the full check has the last word."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What a generator may look at."""

    creature: Creature
    results: Results
    tree: Tree
    finding: Finding
    mechs: tuple[str, ...]
    """Mechanisms that the finding is about, or that its missed hits need."""
    performs: float
    """Margin from which its requirement performs."""

    def edit(self, path: Ref, to: Any) -> Edit:
        """Return the edit that writes a value at a path."""
        return Edit(path=path, from_=value_at(self.tree, path), to=to)


Generator: TypeAlias = Callable[[Case], tuple[Proposal, ...]]


def once(found: list[Proposal]) -> tuple[Proposal, ...]:
    """Return proposals without those that write the same: both sides of a pair are written once."""
    seen: dict[tuple[tuple[Ref, str], ...], Proposal] = {}
    for one in found:
        seen.setdefault(tuple((edit.path, repr(edit.to)) for edit in one.edits), one)
    return tuple(seen.values())


def plain(name: str) -> str:
    """Return the name of a pair: what is written once is for both sides."""
    return name.removesuffix("_left").removesuffix("_right")


def bears(creature: Creature, carrier: str) -> bool:
    """Return whether anything of a creature is borne there."""
    borne = [function.carried_by for function in creature.functions.values()]
    return carrier in borne + [entry.carried_by for entry in creature.masses.values()]


AT_SERVO: Final = frozenset({"drive", "hold", "lag"})
"""Requirements that a stronger means or a lighter load helps."""
