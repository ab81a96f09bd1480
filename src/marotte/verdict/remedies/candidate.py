"""A candidate: levers turned or a proposal, with what the screen says of it, and the edits that it writes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from marotte.basis.contracts.finding import Edit
from marotte.basis.given import Ref
from marotte.creature.creature import Creature
from marotte.creature.edit import writing
from marotte.creature.tree import Tree
from marotte.verdict.remedies.knobs import turned
from marotte.verdict.remedies.levers import Setting
from marotte.verdict.remedies.proposal import Proposal
from marotte.verdict.remedies.score import RANK, Score


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A change with what the screen says of it: levers turned, or a proposal."""

    settings: tuple[Setting, ...]
    score: Score
    proposal: Proposal | None = None

    @property
    def cost(self) -> float:
        """How dear it is to do and to undo."""
        own = self.proposal.cost if self.proposal is not None else 0.0
        return own + sum(setting.cost for setting in self.settings)

    @property
    def asks(self) -> bool:
        """Whether it changes what is asked of the creature."""
        return self.proposal is not None and self.proposal.asks

    @property
    def refs(self) -> tuple[Ref, ...]:
        """What it changes."""
        if self.proposal is not None:
            return tuple(edit.path for edit in self.proposal.edits)
        return tuple(ref for setting in self.settings for ref in setting.refs)

    @property
    def marks(self) -> tuple[str, ...]:
        """What it changes, a servo of the same body and one of another as two things."""
        return self.refs if self.proposal is not None else tuple(m for setting in self.settings for m in setting.marks)

    @property
    def order(self) -> tuple[int, int, int, float, tuple[Ref, ...]]:
        """Best first: grade, neighbours made worse, cost, refs."""
        score = self.score
        return RANK[score.grade] if score.known else 9, score.doubt, score.worse, self.cost, self.refs

    def turned(self, creature: Creature) -> Creature:
        """Return a creature with the levers turned."""
        return turned_by(creature, self.settings)


def turned_by(creature: Creature, settings: Iterable[Setting]) -> Creature:
    """Return a creature with levers turned."""
    return turned(creature, {turn: value for setting in settings for turn, value in setting.turns})


def edits_of(tree: Tree, settings: Iterable[Setting]) -> tuple[Edit, ...]:
    """Return the edits of the written file that turn a candidate's knobs; what is not written yet is put in."""
    return tuple(writing(tree, turn.ref, turn.to_write(value)) for setting in settings for turn, value in setting.turns)
