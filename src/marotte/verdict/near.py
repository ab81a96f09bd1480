"""Whether things are the very same as before, without digesting them: the short way to what is kept by digests.

A key made of identities says only that nothing changed, never that something did: where it is not found, digests decide.
What stands in such a key is held by its owner for as long as the key is, so that an identity is never another thing's.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any, Final, TypeVar, cast

import numpy as np

from marotte.creature.schema.base import Record

T = TypeVar("T")
WORDS: Final = frozenset((str, bytes, frozenset))
NUMBERS: Final = frozenset((float, int, bool, type(None)))
MOST: Final = 1024
"""Keys of one generation; a check of a large head asks for some four hundred."""


class ChangingError(Exception):
    """An argument that could change in place: it has no key of this kind."""


def near(arguments: tuple[Any, ...], held: list[Any]) -> tuple[Any, ...]:
    """Return a key of some arguments by identity; what it stands on is put into ``held``.

    Raises:
        ChangingError: one of them is not frozen.
    """
    return tuple([_near(argument, held) for argument in arguments])


def _near(argument: Any, held: list[Any]) -> Any:
    kind: Any = type(argument)
    if kind in WORDS:
        return argument
    if kind in NUMBERS:
        return kind, argument  # 1, 1.0 and True are equal, and not the same
    if kind is tuple:
        return tuple([_near(item, held) for item in argument])
    if kind is dict:
        return (dict, *argument, *[_near(item, held) for item in argument.values()])
    if kind is np.ndarray:
        if argument.flags.writeable:
            raise ChangingError
    else:
        names = _parts(kind)
        if names is None:
            raise ChangingError
        if names:
            return (kind, *[_near(getattr(argument, name), held) for name in names])
        mark = argument.__near__() if hasattr(kind, "__near__") else b""
        if mark:
            return kind, mark
    held.append(argument)
    return ~id(argument)


@cache
def _parts(kind: Any) -> tuple[str, ...] | None:
    """Return the fields by which a frozen dataclass is known; none where it goes by its identity; None where it may change."""
    if not is_dataclass(kind):
        return () if issubclass(kind, Record) else None
    if not vars(kind)["__dataclass_params__"].frozen:
        return None
    return () if hasattr(kind, "__digest__") else _names(cast(Any, kind))


class Near:
    """Keeps what was asked for lately, two generations of it. Safe to use from several threads."""

    def __init__(self, most: int = MOST) -> None:
        self.most = most
        self._new: dict[Any, tuple[Any, list[Any]]] = {}
        self._old: dict[Any, tuple[Any, list[Any]]] = {}

    def get(self, key: Any) -> Any:
        """Return what is kept under a key, or None."""
        found = self._new.get(key)
        if found is None:
            found = self._old.get(key)
            if found is None:
                return None
            self._new[key] = found
        return found[0]

    def put(self, key: Any, value: Any, held: list[Any]) -> None:
        """Keep a value, with what its key stands on."""
        if len(self._new) >= self.most:
            self.turn()
        self._new[key] = (value, held)

    def turn(self) -> None:
        """Begin another generation: what was not asked for in the last one is let go."""
        self._old, self._new = self._new, {}


def alike(a: Any, b: Any) -> bool:
    """Whether two things are surely alike: the same objects, or plain values, tuples, tables and dataclasses of such.

    Arrays and records count as alike only where they are the same object: then no digest need be made.
    """
    if a is b:
        return True
    kind: Any = type(a)
    if kind is not type(b):
        return False
    if kind in NUMBERS or kind in WORDS:
        return bool(a == b)
    if kind is tuple or kind is list:
        return len(a) == len(b) and all(map(alike, a, b))
    if kind is dict:
        return list(a) == list(b) and all(map(alike, a.values(), b.values()))
    names = _names(cast(Any, kind))
    return bool(names) and all(alike(getattr(a, name), getattr(b, name)) for name in names)


@cache
def _names(kind: Any) -> tuple[str, ...]:
    """Return the public fields of a dataclass; nothing of other kinds."""
    return tuple(item.name for item in fields(kind) if item.name[0] != "_") if is_dataclass(kind) else ()
