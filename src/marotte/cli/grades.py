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
MOST_SHOWN: Final = 3.0
"""Margins beyond this are shown as more, or less, than it; --json has them all."""
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
    if isinstance(quantity, Unknown):
        return "unknown"
    return quantity.word or show(quantity.value, "%" if quantity.percent else quantity.unit)


def sides(finding: Finding) -> tuple[str, str]:
    """Return what a finding needs and what the design has, as people read them; empty where there is nothing to compare."""
    if finding.grade == "not_applicable" or (finding.margin is None and finding.grade == "performs"):
        return "", ""
    if isinstance(finding.has, Unknown):
        return (number(finding.needed) if finding.needed.value else ""), "unknown"
    if finding.margin is None:  # a count of faults, which the sentence names
        return "", ""
    return number(finding.needed), number(finding.has)


def margin(finding: Finding) -> str:
    """Return a margin in percent with its band."""
    if finding.margin is None:
        return ""
    low, high = finding.band if finding.band is not None else (finding.margin, finding.margin)
    if low > MOST_SHOWN or high < -MOST_SHOWN:
        return f"{_percent(finding.margin)} %"
    text = f"{_percent(finding.margin)} %"
    return f"{text} ({_percent(low)} .. {_percent(high)})" if high - low >= 0.02 else text


def _percent(margin: float) -> str:
    """Return a margin in percent; beyond a few times over or under nobody reads the digits."""
    if abs(margin) > MOST_SHOWN:
        return f"{'>' if margin > 0 else '<'} {100 * MOST_SHOWN if margin > 0 else -100 * MOST_SHOWN:+.0f}"
    text = f"{margin * 100:+.0f}"
    return "0" if text in ("+0", "-0") else text
