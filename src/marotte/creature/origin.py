"""Scalars and blocks that know where they were written.

After ``expand`` the tree is plain Python (dict, list, str, int, float, bool) whose members also carry an Origin, so that the
validators of the schema can put each quantity into the ledger and name the place of each fault.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from marotte.basis.given import Place, Ref, Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Where a value was written, and the source that holds for it."""

    ref: Ref
    place: Place
    source: Source | None
    """None where the file says none: see ``Q`` in schema/quantities.py for what then holds."""


class Text(str):
    """A written text with its origin."""

    __slots__ = ("origin",)
    origin: Origin

    def __new__(cls, value: str, origin: Origin) -> Text:
        """Return the text with its origin."""
        self = super().__new__(cls, value)
        self.origin = origin
        return self


class Real(float):
    """A written decimal number with its origin."""

    __slots__ = ("origin",)
    origin: Origin

    def __new__(cls, value: float, origin: Origin) -> Real:
        """Return the number with its origin."""
        self = super().__new__(cls, value)
        self.origin = origin
        return self


class Whole(int):
    """A written whole number with its origin."""

    origin: Origin

    def __new__(cls, value: int, origin: Origin) -> Whole:
        """Return the number with its origin."""
        self = super().__new__(cls, value)
        self.origin = origin
        return self


class Block(dict[str, Any]):
    """A written mapping with its origin and the place of each key."""

    __slots__ = ("keys_at", "made", "origin")

    def __init__(
        self, origin: Origin, items: dict[str, Any] | None = None, keys_at: dict[str, Origin] | None = None
    ) -> None:
        super().__init__(items or {})
        self.origin = origin
        self.keys_at: dict[str, Origin] = keys_at or {}
        self.made: list[Any] = []
        """What it was validated into, and what that put into the ledger; empty before. Nobody changes a block after that."""


class Row(list[Any]):
    """A written list with its origin."""

    __slots__ = ("origin",)

    def __init__(self, origin: Origin, items: list[Any] | None = None) -> None:
        super().__init__(items or [])
        self.origin = origin


def origin_of(value: object) -> Origin | None:
    """Return the origin of a value, or None for one that was made in code."""
    return getattr(value, "origin", None)


def scalar(value: object, origin: Origin) -> Any:
    """Return a scalar dressed with its origin; yes, no and nothing stay as they are."""
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, int):
        return Whole(value, origin)
    if isinstance(value, float):
        return Real(value, origin)
    return Text(str(value), origin)


def own_copy(block: Block) -> Block:
    """Return a block of its own with the same members: what is kept is never changed."""
    return Block(block.origin, dict(block), dict(block.keys_at))


def merged(base: Block, over: Block) -> Block:
    """Return a block with another laid over it; blocks inside are merged, unless their kinds differ."""
    out = own_copy(base)
    for name, value in over.items():
        old = out.get(name)
        if isinstance(old, Block) and isinstance(value, Block) and _goes_on(old, value):
            out[name] = merged(old, value)
        else:
            out[name] = value
        if name in over.keys_at:
            out.keys_at[name] = over.keys_at[name]
    return out


def _goes_on(old: Block, new: Block) -> bool:
    """Return whether a block adds to another, instead of taking its place as a quantity or another kind does."""
    return "value" not in new and "value" not in old and ("kind" not in new or new["kind"] == old.get("kind"))
