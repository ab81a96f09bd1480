"""Canonical bytes and hashes of frozen things: equal content has equal digests, in every process.

Cells (verdict/cells.py) use these as keys, so a digest must never depend on the order of edits, on object identity or on
the hash seed. Objects may name their own content with ``__digest__``; results that are expensive to hash keep theirs.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from hashlib import blake2b
from types import NoneType
from typing import Any, Final, Protocol, cast, runtime_checkable

import numpy as np

LARGE: Final = 1 << 20
"""Bytes of an array from which it is read where it lies, not copied."""
_FLOAT: Final = struct.Struct("<d").pack


@runtime_checkable
class Digested(Protocol):
    """Something that knows its own digest."""

    def __digest__(self) -> bytes: ...


def digest(thing: object) -> bytes:
    """Return the 16-byte blake2b of a value made of plain values, arrays, mappings, dataclasses and Digested things."""
    kind: Any = type(thing)
    own = _own(kind)  # an isinstance against the protocol costs thirty times as much
    if own is not None:
        return own(thing)
    out: list[bytes] = []
    _add(thing, out)
    if memoryview not in map(type, out):
        return blake2b(b"".join(out), digest_size=16).digest()
    mixed = blake2b(digest_size=16)
    for piece in out:
        mixed.update(piece)
    return mixed.digest()


def kept_digest(thing: object, kept: list[bytes]) -> bytes:
    """Return the digest of a frozen dataclass by its public fields, computed once and kept in a list of its own."""
    if not kept:
        kind: Any = type(thing)
        names = (name for name in _field_names(kind) if name[0] != "_")
        kept.append(digest((kind.__name__, *(getattr(thing, name) for name in names))))
    return kept[0]


def key(*things: object) -> str:
    """Return a digest of several things as 32 hexadecimal letters."""
    return digest(tuple(things)).hex()


def _add(thing: object, out: list[bytes]) -> None:
    """Put the canonical bytes of a value onto a list."""
    kind: Any = type(thing)
    if kind is str:  # the usual kinds first: an edit puts some thousand values here
        text = cast(str, thing).encode()
        out += (b"s", len(text).to_bytes(8, "little"), text)
        return
    if kind is float:
        out += (b"f", _FLOAT(cast(float, thing) + 0.0))  # -0.0 and 0.0 are the same number to a maker
        return
    if kind is tuple or kind is list:
        items = cast(tuple[object, ...], thing)
        out += (b"t", len(items).to_bytes(8, "little"))
        for item in items:
            _add(item, out)
        return
    _way(kind)(thing, out)


@cache
def _way(kind: Any) -> Callable[[Any, list[bytes]], None]:
    """Return how values of a kind are put down; asked once for each kind.

    Raises:
        TypeError: the kind has no canonical bytes.
    """
    if _own(kind) is not None:
        return _digested
    ways: tuple[tuple[Any, Callable[[Any, list[bytes]], None]], ...] = (
        (str, _text), ((bool, np.bool_), _flag), ((float, np.floating), _real), ((int, np.integer), _whole),
        (NoneType, _nothing), ((tuple, list), _row), (bytes, _bytes), (np.ndarray, _array), (Mapping, _table),
        ((frozenset, set), _set),
    )  # fmt: skip
    for kinds, way in ways:
        if issubclass(kind, kinds):
            return way
    if is_dataclass(kind):
        return _record
    raise TypeError(f"{kind.__name__} has no canonical bytes; give it a __digest__")


def _digested(thing: Any, out: list[bytes]) -> None:
    out += (b"d", thing.__digest__())


def _text(thing: str, out: list[bytes]) -> None:
    text = thing.encode()
    out += (b"s", len(text).to_bytes(8, "little"), text)


def _flag(thing: object, out: list[bytes]) -> None:
    out.append(b"b1" if thing else b"b0")


def _real(thing: Any, out: list[bytes]) -> None:
    out += (b"f", _FLOAT(float(thing) + 0.0))


def _whole(thing: Any, out: list[bytes]) -> None:
    text = str(int(thing)).encode()
    out += (b"i", len(text).to_bytes(4, "little"), text)


def _nothing(thing: None, out: list[bytes]) -> None:
    out.append(b"n")


def _row(thing: Any, out: list[bytes]) -> None:
    out += (b"t", len(thing).to_bytes(8, "little"))
    for item in thing:
        _add(item, out)


def _bytes(thing: bytes, out: list[bytes]) -> None:
    out += (b"y", len(thing).to_bytes(8, "little"), thing)


def _array(thing: Any, out: list[bytes]) -> None:
    array = np.ascontiguousarray(thing)
    bytes_ = array.tobytes() if array.nbytes < LARGE else cast(bytes, array.data.cast("B"))
    out += (b"a", str(array.dtype.str).encode(), str(array.shape).encode(), bytes_)


def _table(thing: Mapping[Any, Any], out: list[bytes]) -> None:
    if all(type(name) is str for name in thing):  # nearly always: no digest of its own for each name and value
        out += (b"M", len(thing).to_bytes(8, "little"))
        for name in sorted(thing):
            _add(name, out)
            _add(thing[name], out)
    else:
        pairs = sorted((digest(name), digest(value)) for name, value in thing.items())
        out += (b"m", len(pairs).to_bytes(8, "little"), *(piece for pair in pairs for piece in pair))


def _set(thing: Any, out: list[bytes]) -> None:
    out += (b"S", len(thing).to_bytes(8, "little"), *sorted(digest(item) for item in thing))


def _record(thing: Any, out: list[bytes]) -> None:
    kind: Any = type(thing)
    out += (b"c", kind.__name__.encode())
    for name in _field_names(kind):
        out += (b"k", name.encode())
        _add(getattr(thing, name), out)


@cache
def _own(kind: Any) -> Callable[[object], bytes] | None:
    return cast("Callable[[object], bytes] | None", getattr(kind, "__digest__", None))


@cache
def _field_names(kind: type) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind))
