"""Cells: kept by what they read, bounded, the same from several threads."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from marotte.verdict.cells import Cache, known, weight


def test_an_equal_argument_is_not_computed_again() -> None:
    calls: list[float] = []

    def double(x: float) -> float:
        calls.append(x)
        return 2 * x

    cache = Cache()
    assert cache.cell("mech/double", 1, double, 3.0).value == 6.0
    assert cache.cell("mech/double", 1, double, 3.0).value == 6.0
    assert calls == [3.0]
    assert cache.hits == {"mech": 1}
    assert cache.misses == {"mech": 1}


def test_another_method_number_is_another_cell() -> None:
    cache = Cache()
    assert cache.cell("a/x", 1, lambda x: x, 1.0).value == 1.0
    assert cache.cell("a/x", 2, lambda x: -x, 1.0).value == -1.0


def test_equal_results_stop_the_wave() -> None:
    later: list[int] = []

    def last(x: int) -> int:
        later.append(x)
        return x

    cache = Cache()
    for start in (3, -3):
        square = cache.cell("a/square", 1, lambda x: x * x, start)
        cache.cell("a/last", 1, last, square)
    assert later == [9]


def test_the_least_recently_used_goes_first_and_the_bytes_stay_bounded() -> None:
    cache = Cache(limit_bytes=10_000)
    for k in range(40):
        cache.cell("a/zeros", 1, lambda n: np.full(100, float(n)), k)
        cache.cell("a/zeros", 1, lambda n: np.full(100, float(n)), 0)
    assert cache.bytes <= 10_000
    assert 2 <= len(cache) < 40
    hits = cache.hits["a"]
    cache.cell("a/zeros", 1, lambda n: np.full(100, float(n)), 0)
    assert cache.hits["a"] == hits + 1


def test_what_is_larger_than_the_cache_is_handed_on_and_not_kept() -> None:
    cache = Cache(limit_bytes=1000)
    assert cache.cell("a/big", 1, lambda: np.zeros(1000)).value.shape == (1000,)
    assert len(cache) == 0


def test_threads_get_the_same_results() -> None:
    cache = Cache()

    def job(k: int) -> bytes:
        return cache.cell("a/sin", 1, lambda n: np.sin(np.arange(500) * n), k % 7).result

    with ThreadPoolExecutor(4) as pool:
        many = list(pool.map(job, range(200)))
    assert many == [known(np.sin(np.arange(500) * (k % 7))).result for k in range(200)]
    assert cache.bytes == sum(weight(np.zeros(500)) for _ in range(7))


def test_seconds_of_inner_cells_are_not_counted_twice() -> None:
    cache = Cache()

    def outer() -> float:
        return cache.cell("drive/inner", 1, lambda: float(np.linalg.svd(np.ones((60, 60)))[1][0])).value

    cache.cell("mech/outer", 1, outer)
    assert set(cache.seconds) == {"mech", "drive"}
    assert all(spent >= 0 for spent in cache.seconds.values())


def test_an_argument_without_canonical_bytes_is_refused() -> None:
    with pytest.raises(TypeError, match="canonical"):
        Cache().cell("a/x", 1, lambda x: 1, object())


def test_what_the_check_on_its_way_asked_for_stays_and_the_next_one_finds_it() -> None:
    """A part of half an hour needs more than the bytes that are kept otherwise: it is not made anew at every edit."""
    cache = Cache(limit_bytes=10_000)
    for _ in range(3):
        cache.turn()
        for k in range(40):
            cache.cell("a/zeros", 1, lambda n: np.full(100, float(n)), k)
    assert cache.misses["a"] == 40
    cache.turn()
    for k in range(100, 103):  # another creature, and a small one: what the last ones needed goes
        cache.cell("a/zeros", 1, lambda n: np.full(100, float(n)), k)
    cache.turn()
    for k in range(200, 203):
        cache.cell("a/zeros", 1, lambda n: np.full(100, float(n)), k)
    assert cache.bytes <= 10_000


def test_of_what_is_large_the_last_one_alone_is_kept() -> None:
    cache, made = Cache(), []

    def large(n: int) -> int:
        made.append(n)
        return n

    assert [cache.last("a/large", 1, large, n).value for n in (1, 1, 2, 1)] == [1, 1, 2, 1]
    assert made == [1, 2, 1]
