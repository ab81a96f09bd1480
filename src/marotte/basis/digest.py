"""Canonical bytes and hashes of frozen things: equal content has equal digests, in every process.

Cells (verdict/cells.py) use these as keys, so a digest must never depend on the order of edits, on object identity or on
the hash seed. Objects may name their own content with ``__digest__``; results that are expensive to hash keep theirs.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from hashlib import blake2b
from typing import Protocol, runtime_checkable

import numpy as np


@runtime_checkable
class Digested(Protocol):
    """Something that knows its own digest."""

    def __digest__(self) -> bytes: ...


def digest(thing: object) -> bytes:
    """Return the 16-byte blake2b of a value made of plain values, arrays, mappings, dataclasses and Digested things."""
    if isinstance(thing, Digested):
        return thing.__digest__()
    out = blake2b(digest_size=16)
    for piece in _pieces(thing):
        out.update(piece)
    return out.digest()


def key(*things: object) -> str:
    """Return a digest of several things as 32 hexadecimal letters."""
    return digest(tuple(things)).hex()


def _pieces(thing: object) -> list[bytes]:
    if thing is None:
        return [b"n"]
    if isinstance(thing, Digested):
        return [b"d", thing.__digest__()]
    if isinstance(thing, (bool, np.bool_)):
        return [b"b1" if thing else b"b0"]
    if isinstance(thing, (int, np.integer)):
        text = str(int(thing)).encode()
        return [b"i", len(text).to_bytes(4, "little"), text]
    if isinstance(thing, (float, np.floating)):
        return [b"f", struct.pack("<d", float(thing) + 0.0)]  # -0.0 and 0.0 are the same number to a maker
    if isinstance(thing, str):
        text = thing.encode()
        return [b"s", len(text).to_bytes(8, "little"), text]
    if isinstance(thing, bytes):
        return [b"y", len(thing).to_bytes(8, "little"), thing]
    if isinstance(thing, np.ndarray):
        array = np.ascontiguousarray(thing)
        return [b"a", str(array.dtype.str).encode(), str(array.shape).encode(), array.tobytes()]
    if isinstance(thing, Mapping):
        items = sorted(((digest(name), digest(value)) for name, value in thing.items()))
        return [b"m", len(items).to_bytes(8, "little"), *(piece for pair in items for piece in pair)]
    if isinstance(thing, (frozenset, set)):
        return [b"S", len(thing).to_bytes(8, "little"), *sorted(digest(item) for item in thing)]
    if isinstance(thing, (tuple, list)):
        out = [b"t", len(thing).to_bytes(8, "little")]
        for item in thing:
            out.extend(_pieces(item))
        return out
    if is_dataclass(thing) and not isinstance(thing, type):
        out = [b"c", type(thing).__name__.encode()]
        for field in fields(thing):
            out.extend((b"k", field.name.encode()))
            out.extend(_pieces(getattr(thing, field.name)))
        return out
    raise TypeError(f"{type(thing).__name__} has no canonical bytes; give it a __digest__")
