"""The short way to what is kept: the very same objects, never things that only look the same."""

from __future__ import annotations

import gc
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from marotte.basis.contracts.common import f64
from marotte.basis.digest import digest
from marotte.verdict.cells import Cache
from marotte.verdict.near import MOST, ChangingError, Near, alike, near


@dataclass(frozen=True)
class Pair:
    left: object
    right: object


VALUES = st.recursive(
    st.one_of(st.floats(allow_nan=False), st.integers(-5, 5), st.booleans(), st.text(max_size=2), st.none()),
    lambda inner: st.one_of(
        st.tuples(inner, inner), st.builds(Pair, inner, inner), st.dictionaries(st.text(max_size=1), inner, max_size=2)
    ),
    max_leaves=6,
)


@given(VALUES, VALUES)
def test_what_is_alike_has_equal_digests(a: object, b: object) -> None:
    assert alike(a, a)
    if alike(a, b):
        assert digest(a) == digest(b)


def test_one_and_true_and_one_point_nought_are_not_the_same() -> None:
    keys = {near((value,), []) for value in (1, 1.0, True)}
    assert len(keys) == 3
    assert not alike(1, True)
    assert not alike((1.0,), (1,))


def test_arrays_are_alike_only_as_the_same_object() -> None:
    one, other = f64([1.0, 2.0]), f64([1.0, 2.0])
    assert alike(Pair(one, "x"), Pair(one, "x"))
    assert not alike(Pair(one, "x"), Pair(other, "x"))


def test_an_array_that_may_be_written_to_is_read_each_time() -> None:
    values = np.array([1.0, 2.0])
    with pytest.raises(ChangingError):
        near((values,), [])
    cache = Cache()
    first = cache.cell("a/sum", 1, np.sum, values).value
    values[0] = 5.0
    assert cache.cell("a/sum", 1, np.sum, values).value == first + 4.0
    assert cache.again(np.sum, values) == 7.0


def test_a_table_that_was_changed_is_another_key() -> None:
    cache, table = Cache(), {"a": 1.0}
    assert cache.again(lambda: 0) == 0
    assert cache.again(len, table) == 1
    table["b"] = 2.0
    assert cache.again(len, table) == 2


def test_what_a_key_stands_on_lives_as_long_as_the_key() -> None:
    """Else another array at the same place in memory would be taken for the first."""
    cache = Cache()
    for k in range(200):
        values = f64(np.full(3, float(k)))
        assert cache.again(np.sum, values) == 3.0 * k
        assert cache.cell("a/sum", 1, np.sum, values).value == 3.0 * k
        del values
        gc.collect(0)


def test_what_is_not_asked_for_again_is_let_go() -> None:
    kept = Near()
    kept.put("one", 1, [])
    kept.turn()
    assert kept.get("one") == 1
    kept.turn()
    kept.turn()
    assert kept.get("one") is None
    for k in range(3 * MOST):
        kept.put(k, k, [])
    assert kept.get(0) is None
    assert kept.get(3 * MOST - 1) == 3 * MOST - 1
