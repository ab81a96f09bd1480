"""What was built of a tree before: an edit then builds again only the blocks that it touched, the rest are the same objects.

A block of the written tree counts as untouched when it is made of the very same nodes, keys and scalars in the same order:
scalars never change in place, so that needs no word from whoever edits. What was made of it (the expanded block, and the
record with its place in the ledger, which hang on the block) is then taken as it stands. Nothing is kept of a build that fails.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from operator import is_
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from marotte.creature.creature import Creature

T = TypeVar("T")


class Kept:
    """What one session has built of its tree."""

    def __init__(self) -> None:
        self._held: dict[Hashable, tuple[Sequence[object], Any]] = {}
        self._fresh: dict[Hashable, tuple[Sequence[object], Any]] = {}
        self.before: Creature | None = None
        """The last creature that was built without a fault."""

    def of(self, key: Hashable, made_of: Sequence[object], make: Callable[[], T]) -> T:
        """Return what ``make`` returns, or returned when the key was last made of the very same objects."""
        for kept in (self._held, self._fresh):
            found = kept.get(key)
            if found is not None and same_objects(found[0], made_of):
                return found[1]  # type: ignore[no-any-return]
        made = make()
        self._fresh[key] = (made_of, made)
        return made

    def same(self, thing: T) -> T:
        """Return an equal thing that was asked for in an earlier build, or this one: equal things become the same object."""
        found = self._held.get(("same", thing))
        return found[1] if found is not None else self.of(("same", thing), (), lambda: thing)

    def begin(self, edition: str) -> None:
        """Begin a build; on another edition of the stock nothing is kept."""
        self._fresh = {}
        if self.before is None or self.before.stock != edition:
            self._held, self.before = {}, None

    def done(self, creature: Creature) -> None:
        """End a build that found no fault."""
        self._held.update(self._fresh)
        self._fresh = {}
        self.before = creature


def same_objects(a: Sequence[object], b: Sequence[object]) -> bool:
    """Whether two rows hold the very same objects."""
    return len(a) == len(b) and all(map(is_, a, b))


def nodes(node: object) -> list[object]:
    """Return every node, key and scalar of a written block, in its order."""
    out: list[object] = []
    _walk(node, out)
    return out


def _walk(node: object, out: list[object]) -> None:
    out.append(node)
    if isinstance(node, OrderedDict):
        for name, value in OrderedDict.items(
            node
        ):  # the library's own view is ten times slower; merges are not part of a file
            out.append(name)
            _walk(value, out) if isinstance(value, (dict, list)) else out.append(value)
    elif isinstance(node, dict):
        for name, value in node.items():
            out.append(name)
            _walk(value, out)
    elif isinstance(node, list):
        for value in node:
            _walk(value, out)
