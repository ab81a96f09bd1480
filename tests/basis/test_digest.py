from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from marotte.basis import digest as digest_module
from marotte.basis.digest import digest, key
from marotte.basis.draws import stream

PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text() | st.binary(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=20,
)


@dataclass(frozen=True)
class Pair:
    a: float
    b: tuple[int, ...]


@given(st.dictionaries(st.text(), PLAIN, max_size=5))
def test_order_of_writing_does_not_show_in_a_digest(table: dict[str, object]) -> None:
    assert digest(table) == digest(dict(reversed(list(table.items()))))


@given(PLAIN, PLAIN)
def test_different_contents_have_different_digests(a: object, b: object) -> None:
    if digest(a) == digest(b):
        assert repr(a).replace("-0.0", "0.0") == repr(b).replace("-0.0", "0.0") or a == b


def test_neighbouring_texts_do_not_run_together() -> None:
    assert digest(("ab", "c")) != digest(("a", "bc"))
    assert digest((1, 1.0)) != digest((1.0, 1))
    assert digest(("1",)) != digest((1,))


def test_arrays_are_told_apart_by_shape_type_and_values() -> None:
    flat = np.arange(6.0)
    assert digest(flat) != digest(flat.reshape(2, 3))
    assert digest(flat) != digest(flat.astype(np.float32))
    assert digest(flat) == digest(flat[::-1][::-1])


def test_dataclasses_are_digested_by_content() -> None:
    assert digest(Pair(1.0, (2,))) == digest(Pair(1.0, (2,)))
    assert digest(Pair(1.0, (2,))) != digest(Pair(1.0, (3,)))


def test_what_has_no_canonical_bytes_is_refused() -> None:
    with pytest.raises(TypeError, match="canonical"):
        digest(object())


def test_a_digest_is_the_same_in_another_process_with_another_hash_seed() -> None:
    code = "from marotte.basis.digest import key; print(key({'a': 1, 'b': {1.5, 2.5}}, (1, 'x')))"
    done = [
        subprocess.run(
            [sys.executable, "-c", code],
            env={"PYTHONHASHSEED": seed, "PATH": ""},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert done[0] == done[1] == key({"a": 1, "b": {1.5, 2.5}}, (1, "x")) + "\n"


def test_streams_of_one_seed_are_repeatable_and_apart() -> None:
    assert stream(7, "blinks").random() == stream(7, "blinks").random()
    assert stream(7, "blinks").random() != stream(7, "idle").random()
    assert stream(7, "blinks").random() != stream(8, "blinks").random()


def test_a_large_array_has_the_digest_of_its_bytes_and_is_not_copied_for_it() -> None:
    """Arrays are read where they lie from a size on; their place in a larger thing counts as before."""
    size = digest_module.LARGE // 8
    for count in (size - 1, size, size + 3):
        array = np.arange(count, dtype=np.float64)
        pieces = (b"a", b"<f8", str(array.shape).encode(), array.tobytes())
        taken: list[bytes] = []
        digest_module._add(array, taken)
        assert b"".join(map(bytes, taken)) == b"".join(pieces)
        assert digest(array) == digest(array[::-1][::-1])
        assert digest((1, array)) != digest((2, array))
