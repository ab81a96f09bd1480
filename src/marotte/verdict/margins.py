"""Margin rules, thresholds, grades, bands, and when a grade is undecided.

Each requirement owns its rule and its thresholds (docs/methods/margins.md). A grade is that of the creature as written.
It becomes ``undecided`` only where the spread of guessed and typical inputs carries it over the line between failing and
not failing; a flip between ``performs`` and ``only_just`` is shown by the band alone, or nearly everything that rests on
a stock servo would be undecided and nobody would read it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from marotte.basis.contracts.finding import Grade, Marks, RuleKind
from marotte.basis.given import Given, Ref
from marotte.verdict.formula import FormulaError
from marotte.verdict.workings import Writer, again, source_of


@dataclass(frozen=True, slots=True)
class Rule:
    """How a margin follows from what a design has and what is needed."""

    kind: RuleKind
    scale: float | None = None
    """For a need at or near zero: the size, in the same unit, that counts as a margin of 1."""

    def margin(self, has: float, needed: float) -> float | None:
        """Return the margin; None for yes-or-no and counts.

        at_least: has/needed - 1. at_most: 1 - has/needed. share: 1 - missed/allowed to miss. With a scale: the distance
        to what is needed over the scale.
        """
        if self.kind == "yes_no":
            return None
        if self.kind == "share":
            allowed = 1.0 - needed
            return None if allowed <= 0.0 else 1.0 - (1.0 - has) / allowed
        gap = has - needed if self.kind == "at_least" else needed - has
        base = self.scale if self.scale is not None else abs(needed)
        if base <= 0.0:
            raise ValueError("a need of zero wants a scale of its own")
        return gap / base

    def reached(self, margin: float, needed: float) -> float:
        """Return what a design must have for a margin: the other way round."""
        if self.kind == "share":
            return 1.0 - (1.0 - margin) * (1.0 - needed)
        gap = margin * (self.scale if self.scale is not None else abs(needed))
        return needed + gap if self.kind == "at_least" else needed - gap

    def says(self) -> str:
        """Return the rule as the reference page prints it."""
        words = {
            "at_least": "at least: has / needed - 1",
            "at_most": "at most: 1 - has / limit",
            "share": "share: 1 - missed / allowed to miss",
            "yes_no": "yes or no",
        }
        return words[self.kind] + ("" if self.scale is None else f", over a scale of {self.scale:g} in SI")


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Margins from which a grade holds, and why."""

    performs: float
    only_just: float
    why: str

    def grade(self, margin: float) -> Grade:
        """Return the grade of a margin."""
        if margin >= self.performs - 1e-12:
            return "performs"
        return "only_just" if margin >= self.only_just - 1e-12 else "fails"


def marks(rule: Rule, thresholds: Thresholds, needed: float, margin: float | None) -> Marks:
    """Return what made a grade, where ``needed`` is needed; ``margin`` is None of yes or no."""
    if margin is None:
        return Marks(
            rule="yes_no", performs=None, only_just=None, performs_at=None, only_just_at=None, why=thresholds.why
        )
    lines = thresholds.performs, thresholds.only_just
    at = [rule.reached(line, needed) for line in lines]
    return Marks(
        rule=rule.kind, performs=lines[0], only_just=lines[1], performs_at=at[0], only_just_at=at[1], why=thresholds.why
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Spread:
    """How far a margin may lie off, and what moves it."""

    band: tuple[float, float]
    """Margin at the ends of the spread of all inputs."""
    doubtful: tuple[float, float]
    """The same of guessed and typical inputs alone."""
    shares: Mapping[Ref, tuple[float, float]]
    """Every input's own part: how far it takes the margin down and up."""
    doubted: Mapping[Ref, tuple[float, float]]
    """The parts of guessed and typical inputs among them."""


def spread(
    writer: Writer, rule: Rule, needed: float, ledger: Mapping[Ref, Given], of: tuple[str, str] | None = None
) -> Spread | None:
    """Return the band of a margin from the spreads of the inputs its working is made of; None where it reads none.

    First order: each input goes to both ends of its spread by itself, the working is evaluated again, and the parts are
    added as root of the sum of squares, down and up apart. One written value is one draw: all symbols of one ref move
    together. A number read from a simulation stands still, so a band covers what the static working expresses. ``of`` names
    the symbols of what is needed and of what the design has, where these are not the finding's own.
    """
    need, last = of or (writer.needed, writer.steps[-1].symbol)
    base = rule.margin(writer.values[last], writer.values[need] if need else needed)
    inputs = writer.inputs()
    if base is None or not inputs:
        return None
    shares: dict[Ref, tuple[float, float]] = {}
    for ref in sorted(inputs):
        symbols = inputs[ref]
        down = up = 0.0
        for sign in (-1.0, 1.0):
            moved = _moved(writer, rule, needed, symbols, sign, ref, base, last, need)
            down, up = max(down, base - moved), max(up, moved - base)
        if down or up:
            shares[ref] = (down, up)
    for symbol, ends in writer.swings.items():
        margins = [base, *(_again(writer, rule, needed, {symbol: end}, last, base, need) for end in ends)]
        shares[f"in use: {symbol}"] = (base - min(margins), max(margins) - base)
    doubtful = {
        ref: part for ref, part in shares.items() if ref in inputs and source_of(ledger, ref) in ("typical", "guess")
    }
    least = -1.0 if rule.kind == "at_least" and rule.scale is None else -math.inf
    return Spread(_joined(base, shares, least), _joined(base, doubtful, least), shares, doubtful)


def _moved(
    writer: Writer, rule: Rule, needed: float, symbols: tuple[str, ...], sign: float, ref: Ref,
    base: float, last: str, need: str | None,
) -> float:  # fmt: skip
    """Return the margin with one input at an end of its spread; a shorter step, scaled up, where the end has no value."""
    for step in (1.0, 0.25, 0.05):
        changed = {symbol: writer.values[symbol] + sign * step * writer.half_width(ref, symbol) for symbol in symbols}
        margin = _again(writer, rule, needed, changed, last, math.nan, need)
        if not math.isnan(margin):
            return base + (margin - base) / step
    return base


def _again(
    writer: Writer,
    rule: Rule,
    needed: float,
    changed: Mapping[str, float],
    last: str,
    otherwise: float,
    need: str | None,
) -> float:
    """Return the margin with some symbols at other values; ``otherwise`` where there is none."""
    try:
        values = again(writer.steps, changed)
        margin = rule.margin(values[last], values[need] if need else needed)
    except (FormulaError, ValueError):
        return otherwise
    return otherwise if margin is None else margin


def _joined(base: float, shares: Mapping[Ref, tuple[float, float]], least: float) -> tuple[float, float]:
    """Return both ends; not under ``least``: what a design has cannot be less than nothing."""
    down = math.sqrt(math.fsum(part[0] ** 2 for part in shares.values()))
    up = math.sqrt(math.fsum(part[1] ** 2 for part in shares.values()))
    return max(base - down, min(least, base)), base + up


def undecided(margin: float, thresholds: Thresholds, found: Spread | None) -> bool:
    """Return whether guessed or typical inputs alone can carry a margin over the line between failing and not failing."""
    if found is None or not found.doubted:
        return False
    fails = thresholds.grade(margin) == "fails"
    low, high = found.doubtful
    return (thresholds.grade(high) != "fails") if fails else (thresholds.grade(low) == "fails")
