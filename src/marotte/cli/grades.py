"""How grades and numbers are shown to people: a word and a mark each, never colour alone."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Unknown
from marotte.basis.units import show
from marotte.verdict.said import MOST_SHOWN, percent

if TYPE_CHECKING:
    from collections.abc import Mapping

    from marotte.basis.contracts.common import Quantity
    from marotte.basis.contracts.finding import Finding, Grade
    from marotte.basis.given import Given, Ref
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
    if isinstance(quantity, Unknown):
        return "unknown"
    if quantity.percent and not quantity.word:
        return f"{100 * quantity.value:.1f}".removesuffix(".0") + " %"
    return quantity.word or ("over " if quantity.more else "") + show(quantity.value, quantity.unit)


def sides(finding: Finding, screen: Screen) -> tuple[str, str]:
    """Return what a finding needs and what the design has, as people read them; empty where there is nothing to compare.

    What must not be exceeded is marked so.
    """
    if finding.grade == "not_applicable" or (finding.margin is None and finding.grade == "performs"):
        return "", ""
    if isinstance(finding.has, Unknown):
        return (_needed(finding, screen) if finding.needed.value else ""), "unknown"
    if finding.margin is None:  # a count of faults, which the sentence names
        return "", ""
    if finding.decides is not None:
        return number(finding.decides.needed), number(finding.decides.has)
    return _needed(finding, screen), number(finding.has)


def _needed(finding: Finding, screen: Screen) -> str:
    if finding.marks is None or finding.marks.rule != "at_most" or finding.needed.word:
        return number(finding.needed)
    return f"{'≤' if screen.can_show('≤') else '<='} {number(finding.needed)}"


def margin(finding: Finding) -> str:
    """Return a margin in percent with its band; of what decides, and with its name, where that is not what is graded."""
    shown = finding.decides or finding
    if shown.margin is None:
        return ""
    low, high = shown.band if shown.band is not None else (shown.margin, shown.margin)
    text = f"{'' if finding.decides is None else f'{finding.decides.what} '}{percent(shown.margin)} %"
    if low > MOST_SHOWN or high < -MOST_SHOWN:
        return text
    return f"{text} ({percent(low)} .. {percent(high)})" if high - low >= 0.02 else text


def marked(finding: Finding) -> str:
    """Return what made a grade: what performs and what is only just, in numbers, and why these."""
    marks = finding.marks
    if marks is None:
        return ""
    if marks.performs is None or marks.only_just is None:
        return f"It performs or it fails. {marks.why}"
    lines = (marks.performs, marks.performs_at), (marks.only_just, marks.only_just_at)
    best, least = (_line(finding, margin, at) for margin, at in lines)
    more = f", only just {least}" if marks.only_just < marks.performs else ""
    return f"Performs {best}{more}, else it fails. {marks.why}"


def _line(finding: Finding, margin: float, at: float | None) -> str:
    """Return from where a grade holds: ``up to 1.91 kg (a margin of +13 %)``."""
    assert finding.marks is not None
    from_ = f"a margin of {percent(margin)} %"
    if at is None or finding.needed.word:
        return f"from {from_}"
    side = "up to" if finding.marks.rule == "at_most" else "from"
    return f"{side} {number(replace(finding.needed, value=at))} ({from_})"


def source_words(ref: Ref, given: Mapping[Ref, Given]) -> str:
    """Return where a number came from, with its place in the file."""
    found = given.get(ref)
    if found is None and ref.startswith("default:"):
        return "not written: our default, which counts as typical"
    if found is None and ref.startswith("stock:"):
        return f"stock, {ref.removeprefix('stock:').replace('/', ' > ')}"
    if found is None:
        return ref.lstrip("/").replace("/", " > ") if ref.startswith("/") else ref
    unsaid = {"measured": "as drawn", "guess": "unsaid: a guess"}
    return f"{found.written}, {found.source if found.said else unsaid[found.source]} ({found.place})"
