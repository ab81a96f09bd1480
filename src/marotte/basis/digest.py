"""Canonical bytes and hashes of frozen things: equal content has equal digests, in every process.

Cells (verdict/cells.py) use these as keys, so a digest must never depend on the order of edits, on object identity or on
the hash seed. Objects may name their own content with ``__digest__``; results that are expensive to hash keep theirs.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from hashlib import blake2b
from typing import Protocol, cast, runtime_checkable

import numpy as np


@runtime_checkable
class Digested(Protocol):
    """Something that knows its own digest."""

    def __digest__(self) -> bytes: ...


def digest(thing: object) -> bytes:
    """Return the 16-byte blake2b of a value made of plain values, arrays, mappings, dataclasses and Digested things."""
    own = getattr(type(thing), "__digest__", None)  # an isinstance against the protocol costs thirty times as much
    if own is not None:
        return cast(bytes, own(thing))
    out: list[bytes] = []
    _add(thing, out)
    return blake2b(b"".join(out), digest_size=16).digest()


def key(*things: object) -> str:
    """Return a digest of several things as 32 hexadecimal letters."""
    return digest(tuple(things)).hex()


def _add(thing: object, out: list[bytes]) -> None:
    """Put the canonical bytes of a value onto a list."""
    own = getattr(type(thing), "__digest__", None)
    if own is not None:
        out += (b"d", own(thing))
    elif isinstance(thing, str):
        text = thing.encode()
        out += (b"s", len(text).to_bytes(8, "little"), text)
    elif isinstance(thing, (bool, np.bool_)):
        out.append(b"b1" if thing else b"b0")
    elif isinstance(thing, (float, np.floating)):
        out += (b"f", struct.pack("<d", float(thing) + 0.0))  # -0.0 and 0.0 are the same number to a maker
    elif isinstance(thing, (int, np.integer)):
        text = str(int(thing)).encode()
        out += (b"i", len(text).to_bytes(4, "little"), text)
    elif thing is None:
        out.append(b"n")
    elif isinstance(thing, (tuple, list)):
        out += (b"t", len(thing).to_bytes(8, "little"))
        for item in thing:
            _add(item, out)
    elif isinstance(thing, bytes):
        out += (b"y", len(thing).to_bytes(8, "little"), thing)
    elif isinstance(thing, np.ndarray):
        array = np.ascontiguousarray(thing)
        out += (b"a", str(array.dtype.str).encode(), str(array.shape).encode(), array.tobytes())
    elif isinstance(thing, Mapping):
        items = sorted((digest(name), digest(value)) for name, value in thing.items())
        out += (b"m", len(items).to_bytes(8, "little"), *(piece for pair in items for piece in pair))
    elif isinstance(thing, (frozenset, set)):
        out += (b"S", len(thing).to_bytes(8, "little"), *sorted(digest(item) for item in thing))
    elif is_dataclass(thing) and not isinstance(thing, type):
        out += (b"c", type(thing).__name__.encode())
        for name in _field_names(type(thing)):
            out += (b"k", name.encode())
            _add(getattr(thing, name), out)
    else:
        raise TypeError(f"{type(thing).__name__} has no canonical bytes; give it a __digest__")


@cache
def _field_names(kind: type) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind))
