"""What a screen says of a change, and how grades rank."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from marotte.basis.contracts.finding import Grade

RANK: Final[dict[Grade, int]] = {
    "performs": 0,
    "only_just": 1,
    "undecided": 2,
    "not_applicable": 2,
    "unknown": 3,
    "fails": 3,
}
"""Worse is more. What is no longer claimed is no better than what is left open."""
NOTHING: Final = -9.0
"""Stands for the margin of what has none."""


@dataclass(frozen=True, slots=True)
class Score:
    """What a screen says: nominal grade and margin of the finding in question, and how many of its neighbours got worse."""

    grade: Grade
    margin: float
    worse: int
    doubt: int = 0
    """0: sure. 1: only just, and the spread of its inputs can carry it back to failing. 2: that, and nearer to failing too."""

    @property
    def rank(self) -> tuple[int, int, bool]:
        """Less is better."""
        return RANK[self.grade], self.doubt, self.worse > 0

    @property
    def good(self) -> bool:
        """Whether it is worth confirming as a cure."""
        return self.grade == "performs" and not self.worse

    @property
    def known(self) -> bool:
        """Whether there is anything to compare."""
        return self.margin > NOTHING
