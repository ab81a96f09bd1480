from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marotte.basis.ticks import SERIES_EVERY, TICKS_PER_SECOND, clock, on_series, seconds, ticks


@pytest.mark.parametrize("rate", [24, 25, 30, 50, 60, 100, 240, 300])
def test_every_usual_frame_is_a_whole_number_of_ticks(rate: int) -> None:
    assert TICKS_PER_SECOND % rate == 0


@given(st.integers(-(10**9), 10**9))
def test_a_tick_survives_the_way_to_seconds_and_back(tick: int) -> None:
    assert ticks(seconds(tick)) == tick


@given(st.integers(0, 10**9))
def test_a_sample_of_the_series_is_at_or_just_before_its_tick(tick: int) -> None:
    assert 0 <= tick - on_series(tick) < SERIES_EVERY


@pytest.mark.parametrize(
    ("tick", "said"),
    [
        (0, "0:00.0"),
        (49_560, "0:41.3"),
        (72_000, "1:00.0"),
        (71_999, "1:00.0"),
        (4_467_600, "1:02:03.0"),
        (-600, "-0:00.5"),
    ],
)
def test_times_are_said_as_people_say_them(tick: int, said: str) -> None:
    assert clock(tick) == said
