"""What must be measured so that a grade is settled: against draws of all that may come out."""

from __future__ import annotations

import numpy as np
import pytest

from marotte.verdict.enough import OPEN, REACH, to_measure
from marotte.verdict.margins import Rule

LINEAR = Rule("at_least", scale=1.0)
RATIO = Rule("at_least")


def own(ref: str) -> str:
    return ref


def test_an_input_that_alone_can_flip_is_named_and_one_that_can_not_matter_is_not() -> None:
    shares = {"large": (0.5, 0.5), "alone": (0.11, 0.11), "small": (0.001, 0.001)}
    assert to_measure(0.1, 0.0, LINEAR, shares, own) == ("large", "alone")


def test_only_the_side_towards_the_line_counts() -> None:
    """A skin that may be softer saves nothing that performs: what may be slower is measured first."""
    shares = {"softer": (0.1, 5.0), "slower": (1.2, 0.3)}
    assert to_measure(1.0, 0.0, LINEAR, shares, own)[0] == "slower"
    assert to_measure(-1.0, 0.0, LINEAR, shares, own)[0] == "softer"


def test_what_one_test_measures_counts_together() -> None:
    """Two of 0.8 are 1.13 together (root of the sum of squares) and come before one of 1."""
    shares = {"a": (0.8, 0.8), "b": (0.8, 0.8), "c": (1.0, 1.0), "trifle": (0.01, 0.01)}
    found = to_measure(0.5, 0.0, LINEAR, shares, lambda ref: "c" if ref == "c" else "ab")
    assert found == ("a", "b", "c")


@pytest.mark.parametrize("seed", range(12))
def test_with_all_that_is_named_measured_nine_of_ten_outcomes_are_settled(seed: int) -> None:
    """Draws of every input by its own spread: what is named takes its drawn value, the rest can flip where its joint reach does."""
    rng = np.random.default_rng(seed)
    shares = {f"input {k}": (width := float(rng.uniform(0.05, 1.0)), width) for k in range(6)}
    margin = float(rng.uniform(-0.6, 0.6))
    named = to_measure(margin, 0.0, LINEAR, shares, own)
    outcomes = margin + sum(rng.normal(0.0, shares[ref][0] / REACH, 20_000) for ref in named)
    left = np.hypot.reduce([0.0, *(shares[ref][0] for ref in shares if ref not in named)])
    assert np.mean(np.abs(outcomes) < left) <= OPEN + 0.01


def test_factors_add_up_in_the_logarithm() -> None:
    """Ten times what is wanted, a speed that may leave next to nothing, a friction of a third: where little is left, friction takes
    a third of little, and need not be measured. Counted in plain margins it would be a third of ten."""
    shares = {"speed": (9.2, 5.0), "friction": (3.5, 4.5)}
    assert to_measure(9.1, 0.0, RATIO, shares, own) == ("speed",)
    assert to_measure(9.1, 0.0, LINEAR, shares, own) == ("speed", "friction")
