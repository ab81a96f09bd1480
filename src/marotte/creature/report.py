"""Faults about records that are made already: each finds its place in the file by the ref of what is wrong."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from marotte.basis.faults import Fault, nearest
from marotte.basis.given import Place, Ref
from marotte.creature.origin import Block, origin_of
from marotte.creature.schema.base import Record


class Report:
    """Collects faults about records, and finds the places of their refs."""

    def __init__(self, root: Block) -> None:
        self.faults: list[Fault] = []
        self._root = root

    @cached_property
    def _places(self) -> dict[Ref, Place]:
        """Only a file with a fault wants the places of everything."""
        places: dict[Ref, Place] = {}
        _put_places(self._root, places)
        return places

    def place(self, ref: Ref) -> Place | None:
        """Return the place of a ref, or of the nearest block above it."""
        while ref:
            if ref in self._places:
                return self._places[ref]
            ref = ref.rpartition("/")[0]
        return self._places.get("")

    def add(self, code: str, ref: Ref, what: str, *, allowed: str = "", try_: str = "", found: str = "") -> None:
        """Add a fault about what stands at a ref."""
        self.faults.append(
            Fault(code=code, what=what, place=self.place(ref), path=ref, found=found, allowed=allowed, try_=try_)
        )

    def known(self, record: Record, field: str, written: str | None, words: Iterable[str], what: str) -> None:
        """Add a fault where a written name is not one of some words."""
        options = sorted(words)
        if written is not None and written not in options:
            allowed = ", ".join(options) or "none is written"
            said = f"{written} is not {what}"
            self.add("no_such", record.ref(field), said, allowed=allowed, try_=nearest(written, options), found=written)


def _put_places(node: object, places: dict[Ref, Place]) -> None:
    origin = origin_of(node)
    if origin is not None:
        places.setdefault(origin.ref, origin.place)
    if isinstance(node, Block):
        for name, at in node.keys_at.items():  # a word or number at itself, a block or list at its key
            value = node.get(name)
            inside = None if isinstance(value, (dict, list)) else origin_of(value)
            places.setdefault(at.ref, inside.place if inside and inside.ref == at.ref else at.place)
    if isinstance(node, (dict, list)):
        for item in node.values() if isinstance(node, dict) else node:
            _put_places(item, places)
