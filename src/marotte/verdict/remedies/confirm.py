"""A change confirmed: put into the written file, checked in full, and taken out again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from marotte.basis.contracts.finding import Edit, Finding
from marotte.basis.faults import BadInput, BadRequest
from marotte.creature.edit import apply
from marotte.creature.load import build
from marotte.creature.tree import Tree
from marotte.verdict.cells import Cache
from marotte.verdict.check import Examined, examine
from marotte.verdict.remedies.score import RANK
from marotte.verdict.said import MOST_SHOWN, percent

LOST: Final = 0.05
"""Loss of margin that counts as worse."""


@dataclass(frozen=True, slots=True)
class Confirmed:
    """A change that was checked in full."""

    examined: Examined
    finding: Finding
    worsens: tuple[str, ...]
    lost: int
    """Grades that other findings fell, less those that they rose."""


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
    """Return the findings that fell a grade or lost 0.05 of margin, and how far grades fell, less how far they rose.

    A margin that is still several times over is no loss: nobody reads its digits.
    """
    out: list[str] = []
    lost = 0
    for item in before:
        other = now.get(item.id)
        if other is None or item.id == but:
            continue
        lost += RANK[other.grade] - RANK[item.grade]
        if RANK[other.grade] > RANK[item.grade]:
            out.append(f"{item.id}: {_word(item)} -> {_word(other)}")
        elif item.grade == "unknown" and other.grade == "fails":
            out.append(f"{item.id}: could not be seen before, and fails")
        elif (
            item.margin is not None and other.margin is not None and other.margin < min(item.margin - LOST, MOST_SHOWN)
        ):
            out.append(f"{item.id}: margin {percent(item.margin)} % -> {percent(other.margin)} %")
    return tuple(out), lost


def _word(item: Finding) -> str:
    return item.grade.replace("_", " ")
