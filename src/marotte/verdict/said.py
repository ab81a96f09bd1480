"""Margins, pairs and tests of findings as people are told them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from marotte.basis.contracts.finding import Finding

MOST_SHOWN: Final = 3.0
"""Margins beyond this are shown as more, or less, than it: a few times over or under nobody reads the digits."""

COUNTS: Final = ("no", "one", "two", "three", "four", "five", "six")


def percent(margin: float) -> str:
    """Return a margin in percent, clamped, with its sign and without the unit.

    >>> percent(0.254), percent(-0.001), percent(8.83), percent(-12.0)
    ('+25', '0', '> +300', '< -300')
    """
    if abs(margin) > MOST_SHOWN:
        return f"{'>' if margin > 0 else '<'} {100 * MOST_SHOWN if margin > 0 else -100 * MOST_SHOWN:+.0f}"
    text = f"{margin * 100:+.0f}"
    return "0" if text in ("+0", "-0") else text


def pair_named(finding: str) -> str:
    """Return the name of a left-hand finding that stands for both sides: ``lid_left/right.drive``."""
    return finding.replace("_left.", "_left/right.")


def worst_first(findings: Sequence[Finding]) -> list[Finding]:
    """Return findings with the least margin first, a pair's two sides by the worse of them; what has no margin leads."""
    worst: dict[str, float] = {}
    for item in findings:
        both = item.id.replace("_right.", "_left.")
        margin = -math.inf if item.margin is None else item.margin
        worst[both] = min(worst.get(both, math.inf), margin)
    return sorted(findings, key=lambda item: worst[item.id.replace("_right.", "_left.")])


def to_settle(findings: Iterable[Finding]) -> dict[str, tuple[str, ...]]:
    """Return names -> shop tests of the undecided among some findings; findings that the same tests settle stand together."""
    names: dict[tuple[str, ...], list[str]] = {}
    for item in findings:
        if item.grade == "undecided" and item.settle:
            own = names.setdefault(tuple(one.test for one in item.settle), [])
            left = item.id.replace("_right.", "_left.")
            if left != item.id and left in own:
                own[own.index(left)] = pair_named(left)
            else:
                own.append(item.id)
    return {" and ".join(found): tests for tests, found in names.items()}


def told_tests(names: str, tests: Sequence[str]) -> tuple[str, ...]:
    """Return how some findings are settled, line by line: the test, or how many tests and each of them."""
    if len(tests) == 1:
        return (f"To settle {names}: {tests[0]}",)
    count = COUNTS[len(tests)] if len(tests) < len(COUNTS) else str(len(tests))
    return (
        f"To settle {names}, {count} tests, what moves it most first:",
        *(f"{number}. {test}" for number, test in enumerate(tests, start=1)),
    )
