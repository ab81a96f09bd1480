"""How grades and numbers are shown to people: a word and a mark each, never colour alone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Unknown
from marotte.basis.units import show

if TYPE_CHECKING:
    from marotte.basis.contracts.common import Quantity
    from marotte.basis.contracts.finding import Finding, Grade
    from marotte.cli.screen import Screen

WORDS: Final[dict[Grade, str]] = {
    "fails": "fails",
    "undecided": "undecided",
    "only_just": "only just",
    "unknown": "unknown",
    "performs": "performs",
    "not_applicable": "not applicable",
}
"""In the order in which a person wants to read them."""
_MARKS: Final[dict[Grade, tuple[str, str]]] = {
    "fails": ("✗", "x"), "undecided": ("?", "?"), "only_just": ("≈", "~"),
    "unknown": ("–", "-"), "performs": ("✓", "+"), "not_applicable": ("·", "."),
}  # fmt: skip


def graded(grade: Grade, screen: Screen) -> str:
    """Return a grade with its mark, in letters that the screen can carry."""
    fine, plain = _MARKS[grade]
    return f"{fine if screen.can_show(fine) else plain} {WORDS[grade]}"


def number(quantity: Quantity | Unknown) -> str:
    """Return a number with its unit as people read it."""
    return "unknown" if isinstance(quantity, Unknown) else show(quantity.value, quantity.unit)


def margin(finding: Finding) -> str:
    """Return a margin in percent with its band."""
    if finding.margin is None:
        return ""
    text = f"{finding.margin * 100:+.0f} %"
    if finding.band is not None and abs(finding.band[1] - finding.band[0]) >= 0.02:
        text += f" ({finding.band[0] * 100:+.0f} .. {finding.band[1] * 100:+.0f})"
    return text
