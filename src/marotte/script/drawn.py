"""Draws of a named stream, kept: an edit of one line asks for the same draws of all the others again."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from marotte.basis.contracts.common import F64
from marotte.basis.draws import stream

_BLOCK: Final = 32


def uniform(seed: int, purpose: str, line: int, k: int = 0) -> float:
    """Return the k-th number (from 0) of a stream, even over [0, 1): that of ``stream(seed, purpose, line)``."""
    return _block(seed, purpose, line, k // _BLOCK)[k % _BLOCK]


@lru_cache(maxsize=8192)
def _block(seed: int, purpose: str, line: int, block: int) -> list[float]:
    numbers: list[float] = stream(seed, purpose, line).random((block + 1) * _BLOCK)[block * _BLOCK :].tolist()
    return numbers


@lru_cache(maxsize=1024)
def places(seed: int, line: int, count: int, size: int) -> F64:
    """Return (size, 2) draws of one idle shift."""
    made = stream(seed, "idle", line, count).random((size, 2))
    made.flags.writeable = False
    return made
