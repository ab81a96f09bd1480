"""Number words against an independent library (inflect), for every form that we read."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.script import numbers

inflect = pytest.importorskip("inflect", reason="the library that number words are held against is not installed")
ENGINE = inflect.engine()


def words(text: str) -> list[str]:
    return re.sub(r"[,-]", " ", text).split()


@settings(deadline=None, max_examples=120)
@given(st.integers(0, 10**14))
def test_cardinals_agree(number: int) -> None:
    assert numbers.cardinal(number) == words(ENGINE.number_to_words(number))


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 10**9))
def test_ordinals_agree(number: int) -> None:
    assert numbers.ordinal(number) == words(ENGINE.number_to_words(ENGINE.ordinal(number)))


@pytest.mark.parametrize("text", ["3.14", "0.5", "100.07"])
def test_decimals_agree(text: str) -> None:
    whole, part = text.split(".")
    assert numbers.decimal(whole, part) == words(ENGINE.number_to_words(text))
