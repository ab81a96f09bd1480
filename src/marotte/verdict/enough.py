"""Which inputs must be measured so that an undecided grade is settled: all that can still flip it, in one go.

docs/methods/settling.md. An input that is measured may come out anywhere in its spread, and what was left aside may then
flip the grade all the same; so inputs are taken, test by test, until that is unlikely.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Mapping
from typing import Final, TypeAlias

from marotte.basis.given import Ref
from marotte.verdict.margins import Rule

OPEN: Final = 0.1
"""How likely it may be that a grade is still open when all that was named is measured (a rule of this project)."""
SLIGHT: Final = 0.05
"""Share of its test's largest part below which an input is not asked for (a rule of this project)."""
REACH: Final = 1.96
"""Standard deviations in a half-width that holds 19 of 20."""
LEAST: Final = 1e-3
"""Share of what is needed that counts as nothing, where margins are ratios."""
Part: TypeAlias = tuple[float, float]
"""How far something takes a margin down and up."""


def to_measure(
    margin: float, line: float, rule: Rule, shares: Mapping[Ref, Part], test: Callable[[Ref], Hashable]
) -> tuple[Ref, ...]:
    """Return the inputs to measure, what moves a margin most towards the line first; those of one test stand together.

    Args:
        margin: as it stands.
        line: the margin between failing and not failing.
        rule: of the margin.
        shares: of the guessed and typical inputs: how far each takes the margin down and up.
        test: input -> the test that measures it, and others with it.
    """
    scale = _scale(rule)
    base, edge = scale(margin), scale(line)
    towards = 0 if base >= edge else 1
    parts = {
        ref: (base - scale(margin - down), scale(margin + up) - base)
        for ref, (down, up) in shares.items()
        if down or up
    }
    tests: dict[Hashable, list[Ref]] = {}
    for ref in sorted(parts, key=lambda ref: (-parts[ref][towards], ref)):
        tests.setdefault(test(ref), []).append(ref)
    whole = {name: _together([parts[ref] for ref in refs]) for name, refs in tests.items()}
    order = sorted(whole, key=lambda name: (-whole[name][towards], str(name)))
    found: list[Ref] = []
    for k, name in enumerate(order):
        alone = whole[name][towards] > abs(base - edge)
        done, left = (_together([whole[other] for other in some]) for some in (order[:k], order[k:]))
        if k and not alone and _still_open(base - edge, done, left) <= OPEN:
            break
        largest = max(map(max, (parts[ref] for ref in tests[name])))
        found += [ref for ref in tests[name] if max(parts[ref]) > SLIGHT * largest]
    return tuple(found)


def _scale(rule: Rule) -> Callable[[float], float]:
    """Return what makes of a margin a number in which parts add up: of a ratio, its logarithm; more is better."""
    if rule.scale is not None or rule.kind == "share":
        return lambda margin: margin
    if rule.kind == "at_most":
        return lambda margin: -math.log(max(1.0 - margin, LEAST))
    return lambda margin: math.log(max(1.0 + margin, LEAST))


def _together(parts: list[Part]) -> Part:
    return math.hypot(*(part[0] for part in parts)), math.hypot(*(part[1] for part in parts))


def _still_open(above: float, done: Part, left: Part) -> float:
    """Return how likely it is that what is left can flip a grade, once the rest was measured and came out as it did.

    ``above`` is how far it stands over the line now; what was measured comes out by two halves of a normal curve.
    """
    return _below(left[0] - above, done) - _below(-left[1] - above, done)


def _below(value: float, spread: Part) -> float:
    """Return how likely it is that an outcome lies below a value; ``spread`` holds the half-widths down and up."""
    width = spread[0] if value < 0.0 else spread[1]
    if width <= 0.0:
        return 0.0 if value < 0.0 else 1.0
    return 0.5 * (1.0 + math.erf(value * REACH / (width * math.sqrt(2.0))))
