"""Which hits come off."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from marotte.basis.contracts.common import Motion, f32
from marotte.basis.contracts.script import Hit, Need
from marotte.creature.load import load
from marotte.verdict.check import examine
from marotte.verdict.hits import came_off, widths


def motion(values: list[float]) -> Motion:
    return Motion(names=("jaw",), units=("rad",), start=0, every=5, values=f32([values]))


def hit(opens: int, shuts: int, hold: int, sense: str = "<=", bound: float = 0.1) -> Hit:
    need = Need(function="jaw", sense=sense, bound=bound)  # type: ignore[arg-type]
    return Hit(id="closure.1.1", kind="closure", opens=opens, shuts=shuts, hold=hold, needs=(need,), line=1, word="map")


def test_a_closure_held_long_enough_inside_its_window_comes_off() -> None:
    asked = motion([1, 1, 0, 0, 0, 0, 1, 1])
    assert came_off(asked, [hit(5, 35, 15)]).tolist() == [True]
    assert came_off(asked, [hit(5, 35, 20)]).tolist() == [False]


def test_what_comes_after_the_window_shut_does_not_count() -> None:
    asked = motion([1, 1, 1, 1, 1, 1, 0, 0, 0])
    assert came_off(asked, [hit(0, 25, 5), hit(0, 40, 5)]).tolist() == [False, True]


def test_two_short_closures_do_not_make_a_long_one() -> None:
    assert came_off(motion([0, 0, 1, 0, 0]), [hit(0, 20, 10)]).tolist() == [False]


def test_a_function_that_nothing_moves_never_comes_off() -> None:
    need = Need(function="ear", sense=">=", bound=0.0)
    other = Hit(id="x.1.1", kind="landed", opens=0, shuts=20, hold=0, needs=(need,), line=1, word="")
    assert came_off(motion([0, 0, 0, 0, 0]), [other]).tolist() == [False]


def stillness(hold: int, low: float = 0.2, high: float = 0.3) -> Hit:
    needs = (Need(function="jaw", sense=">=", bound=low), Need(function="jaw", sense="<=", bound=high))
    return Hit(id="still.eyes.1.0", kind="still", opens=0, shuts=45, hold=hold, needs=needs, line=1, word="eyes")


def test_a_stillness_is_judged_by_how_far_it_moves_and_not_by_where_it_stands() -> None:
    off_but_still = motion([0.5, 0.5, 0.52, 0.5, 0.55, 0.5, 0.5, 0.5, 0.5, 0.5])
    hunting = motion([0.2, 0.35, 0.2, 0.35, 0.2, 0.35, 0.2, 0.35, 0.2, 0.35])
    assert came_off(off_but_still, [stillness(30)]).tolist() == [True]
    assert came_off(hunting, [stillness(30)]).tolist() == [False]


@given(st.lists(st.booleans(), min_size=1, max_size=40), st.integers(1, 12))
def test_a_hit_comes_off_where_the_text_has_its_run(bits: list[bool], samples: int) -> None:
    text = "".join("x" if bit else " " for bit in bits)
    asked = motion([0.0 if bit else 1.0 for bit in bits])
    whole = hit(0, 5 * (len(bits) - 1), 5 * (samples - 1))
    assert came_off(asked, [whole]).tolist() == ["x" * samples in text]


@given(st.lists(st.sampled_from([0.0, 0.04, 0.09, 0.2]), min_size=10, max_size=10), st.integers(0, 45))
def test_a_stillness_is_some_stretch_of_the_series_that_stays_within_its_room(values: list[float], hold: int) -> None:
    size = hold // 5 + 1
    pieces = [np.float32(values[k : k + size]) for k in range(len(values) + 1 - size)]
    expected = any(piece.max() - piece.min() <= np.float32(0.3 - 0.2) for piece in pieces)
    assert came_off(motion(values), [stillness(hold)]).tolist() == [expected]


@given(shift=st.integers(0, 50))
def test_hits_do_not_depend_on_where_time_begins(shift: int) -> None:
    values = [1.0, 1.0, 0.0, 0.0, 0.0, 1.0]
    moved = Motion(names=("jaw",), units=("rad",), start=5 * shift, every=5, values=f32([values]))
    assert came_off(moved, [hit(5 + 5 * shift, 25 + 5 * shift, 10)]).tolist() == [True]


def test_the_width_of_an_opening_is_counted_from_shut_and_within_its_window() -> None:
    """Shut at 1, asked to 5, reached 4: three quarters. Where nothing is asked to open there is no width."""
    asked, reached = motion([1, 1, 5, 1, 1, 1, 3, 1]), motion([1, 1, 2, 4, 1, 1, 3, 9])
    opening = hit(5, 15, 0, ">=", 2.0)
    shares = widths(asked, reached, [opening, hit(25, 30, 0, ">=", 2.0), hit(0, 35, 0)], {"jaw": 1.0})["jaw"]
    assert shares[:2] == pytest.approx([0.75, 1.0])
    assert np.isnan(shares[2])


@pytest.mark.parametrize(("name", "smaller"), [("tansy", True), ("colm", False), ("pip", False)])
def test_a_jaw_that_gapes_short_is_said_to_come_off_smaller_and_one_that_follows_is_not(
    name: str, smaller: bool
) -> None:
    folder = Path(__file__).resolve().parents[2] / "examples" / name
    done = examine(load(folder))
    hits = next(item for item in done.verdict.findings if item.id == "speech.hits")
    assert hits.grade == "performs"
    assert ("openings come off only smaller: the jaw opens" in hits.sentence) is smaller
    assert ("(see jaw.drive)" in hits.sentence) is smaller
    read = {step.symbol: step.result for step in done.workings["speech.hits"].steps}
    assert ("n_small" in read) is smaller
    if smaller:
        assert f"{read['n_small']:.0f} of {read['n_open']:.0f} openings come off only smaller" in hits.sentence
