"""Cells: pure functions of what they read, kept by the digest of what they read.

A cell's key is the digest of its method, its number, the function's name and the arguments; an argument may be another cell, which then counts
by the digest of its *result*, so that equal results stop the wave of an edit. Nothing is ever invalidated: another input
is another key. Where the arguments are the very objects of last time the digest is taken from then (near.py). Seconds and
hits are counted beside the answer, never in it.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from threading import Lock, local
from time import perf_counter
from typing import Any, Final, Generic, TypeVar, cast

import numpy as np

from marotte.basis.digest import digest
from marotte.verdict.near import MOST, ChangingError, Near, near

T = TypeVar("T")
LIMIT_BYTES: Final = 128 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Cell(Generic[T]):
    """A result with the digest of its content."""

    value: T
    result: bytes

    def __digest__(self) -> bytes:
        return self.result

    def __near__(self) -> bytes:
        """Return by what it is known without being held (near.py)."""
        return self.result


SAMPLED: Final = 3
"""Members by which a long list is weighed."""


def known(value: T) -> Cell[T]:
    """Return a value as a cell of its own."""
    return Cell(value, digest(value))


class Cache:
    """Keeps cells up to a number of bytes; the least recently used goes first. Safe to use from several threads.

    What the check on its way has asked for stays, and there is room for as much as the last one needed: a part of half an
    hour is not made anew at every edit.
    """

    def __init__(self, limit_bytes: int = LIMIT_BYTES, at_hand: int = MOST) -> None:
        """Make an empty one; ``at_hand`` is of how many lately asked things the short way is remembered."""
        self.limit_bytes = limit_bytes
        self.bytes = 0
        self.hits: dict[str, int] = {}
        self.misses: dict[str, int] = {}
        self.seconds: dict[str, float] = {}
        self._kept: OrderedDict[bytes, tuple[Cell[Any], int, int]] = OrderedDict()
        self._check, self._needed, self._last_needed = 0, 0, 0
        self.beside: dict[Any, Any] = {}
        """What a check notes for the next one: shorter ways to the same cells, never part of an answer."""
        self._keys, self._again = Near(at_hand), Near(at_hand)
        self._lock = Lock()
        self._inner = local()

    def cell(
        self,
        method: str,
        number: int,
        function: Callable[..., T],
        *arguments: object,
        by_key: bool = False,
        weighs: int = 0,
    ) -> Cell[T]:
        """Return the cell of a pure function of its arguments; the engine is the method's first part.

        ``by_key``: count the result by the digest of what it was made from, where digesting it would cost more than it saves.
        ``weighs``: about how many bytes the result takes, where that is known beforehand.

        Arguments that are cells, or tuples of cells, are handed on as their values. What has no canonical bytes cannot be an argument.
        """
        engine = method.split("/", 1)[0]
        key = self.key_of(method, number, function, *arguments)
        found = self._found(key, engine)
        if found is not None:
            return cast(Cell[T], found)
        start, outer = perf_counter(), self._nested()
        self._inner.spent = 0.0
        value = function(*map(_bare, arguments))
        made = Cell(value, key) if by_key else known(value)
        took = perf_counter() - start
        own, self._inner.spent = took - self._nested(), outer + took
        self._keep(key, made, engine, own, weighs)
        return made

    def last(self, method: str, number: int, function: Callable[..., T], *arguments: object) -> Cell[T]:
        """Return a cell by its key as ``cell`` does, of which the last one alone is kept: for what is large, and quickly made from cells."""
        engine = method.split("/", 1)[0]
        key = self.key_of(method, number, function, *arguments)
        found: Cell[Any] | None = self.beside.get(function)
        if found is not None and found.result == key:
            return found
        self.beside[function] = found = None  # let go before the next one is made
        start = perf_counter()
        made = Cell(function(*map(_bare, arguments)), key)
        self.beside[function] = made
        self._count(engine, perf_counter() - start)
        return made

    def kept(self, method: str, key: bytes) -> Cell[Any] | None:
        """Return what is kept under a key, if it is."""
        return self._found(key, method.split("/", 1)[0])

    def give(self, method: str, key: bytes, value: T, seconds: float) -> Cell[T]:
        """Keep what was found elsewhere, in so many seconds, under the key that its arguments have; it counts by that key."""
        made = Cell(value, key)
        self._keep(key, made, method.split("/", 1)[0], seconds)
        return made

    def key_of(self, method: str, number: int, function: Callable[..., Any], *arguments: object) -> bytes:
        """Return the key under which a cell is kept."""
        held: list[Any] = []
        try:
            short = (method, number, function, *near(arguments, held))
        except ChangingError:
            return digest((method, number, function.__qualname__, arguments))
        key = self._keys.get(short)
        if key is None:
            key = digest((method, number, function.__qualname__, arguments))
            self._keys.put(short, key, held)
        return cast(bytes, key)

    def again(self, function: Callable[..., T], *arguments: object) -> T:
        """Return what a pure function returns, or returned when the very same arguments came last: for small things in between.

        Unlike a cell it is not kept by content, and is let go after a check that does not ask for it.
        """
        held: list[Any] = []
        try:
            short = (function, *near(arguments, held))
        except ChangingError:
            return function(*arguments)
        found = self._again.get(short)
        if found is None:
            found = (function(*arguments),)
            self._again.put(short, found, held)
        return cast(T, found[0])

    def turn(self) -> None:
        """Begin another check: what the last one did not ask for again has no short way any more."""
        self._keys.turn()
        self._again.turn()
        with self._lock:
            self._check, self._needed, self._last_needed = self._check + 1, 0, self._needed

    def _found(self, key: bytes, engine: str) -> Cell[Any] | None:
        with self._lock:
            found = self._kept.get(key)
            if found is None:
                return None
            cell, size, check = found
            if check != self._check:
                self._kept[key] = (cell, size, self._check)
                self._needed += size
            self._kept.move_to_end(key)
            self.hits[engine] = self.hits.get(engine, 0) + 1
            return cell

    def _nested(self) -> float:
        return float(getattr(self._inner, "spent", 0.0))

    def _keep(self, key: bytes, made: Cell[Any], engine: str, took: float, weighs: int = 0) -> None:
        self._count(engine, took)
        size = weighs or weight(made.value)
        with self._lock:
            if key in self._kept or size > self.limit_bytes:
                return
            self._kept[key] = (made, size, self._check)
            self.bytes += size
            self._needed += size
            room = max(self.limit_bytes, self._last_needed)
            while self.bytes > room:
                oldest = next(iter(self._kept))
                _, gone, check = self._kept[oldest]
                if check == self._check and self._check:
                    return
                del self._kept[oldest]
                self.bytes -= gone

    def _count(self, engine: str, took: float) -> None:
        with self._lock:
            self.misses[engine] = self.misses.get(engine, 0) + 1
            self.seconds[engine] = self.seconds.get(engine, 0.0) + took

    def __len__(self) -> int:
        return len(self._kept)


def _bare(argument: object) -> object:
    if isinstance(argument, Cell):
        return argument.value
    if isinstance(argument, tuple) and argument and isinstance(argument[0], Cell):
        return tuple(item.value for item in argument)
    return argument


def weight(value: object) -> int:
    """Return about how many bytes a result takes."""
    if isinstance(value, (str, bytes)):
        return len(value) + 56
    if value is None or isinstance(value, (float, int)):
        return 32
    if isinstance(value, np.ndarray):
        return int(value.nbytes) + 128
    if isinstance(value, Mapping):
        return 64 + sum(weight(name) + weight(item) for name, item in value.items())
    if isinstance(value, (tuple, list)) and len(value) > SAMPLED:
        step = len(value) // SAMPLED
        some = [weight(item) for item in value[: step * SAMPLED : step]]
        return 56 + sum(some) * len(value) // len(some)
    if isinstance(value, (tuple, list, set, frozenset)):
        return 56 + sum(weight(item) for item in value)
    if is_dataclass(value) and not isinstance(value, type):
        return 64 + sum([weight(getattr(value, name)) for name in _names(type(value))])
    return 32


@cache
def _names(kind: Any) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind))
