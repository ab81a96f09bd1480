"""The written tree -> blocks, rows and scalars that know where they were written; ``source`` is handed down."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from marotte.basis.faults import Fault, nearest, short
from marotte.basis.given import SOURCES, Place, Source
from marotte.creature.kept import Kept, nodes
from marotte.creature.origin import Block, Origin, Row, scalar
from marotte.creature.tree import Tree, join_pointer

KEPT_DEEP: Final = 2
"""Blocks that are kept stand at most so deep: sections, and their entries."""


def dressed(tree: Tree, faults: list[Fault], kept: Kept) -> Block:
    """Return a tree's blocks; where the text of one is untouched, it is the same object as before. Faults are added."""
    root: Block = _Dresser(tree.name, faults, kept).dress(tree.data, (), Place(file=tree.name, line=1, column=1), None)
    return root


class _Dresser:
    """Turns nodes of the YAML library into blocks, rows and scalars with origins."""

    def __init__(self, file: str, faults: list[Fault], kept: Kept) -> None:
        self.file, self.faults, self.kept = file, faults, kept

    def dress(self, node: Any, path: tuple[str | int, ...], place: Place, source: Source | None) -> Any:
        origin = Origin(ref=join_pointer(*path), place=place, source=source)
        if isinstance(node, dict):
            return self._block(node, path, origin)
        if isinstance(node, list):
            items = []
            for index, item in enumerate(node):
                items.append(self.dress(item, (*path, index), self._place(node, "item", index, place), source))
            return Row(origin, items)
        return scalar(node, origin)

    def _place(self, node: Any, what: str, at: str | int, otherwise: Place) -> Place:
        """Return the place of a key, value or item; what an edit put in has none yet and takes its block's."""
        try:
            line, column = getattr(node.lc, what)(at)
        except (AttributeError, KeyError, TypeError, IndexError):
            return otherwise
        return Place(file=self.file, line=line + 1, column=column + 1)

    def _block(self, node: Any, path: tuple[str | int, ...], origin: Origin) -> Block:
        source = self._source(node, path, origin.source)
        origin = replace(origin, source=source)
        block = Block(origin)
        quantity = "value" in node
        for key in node:
            name = str(key)
            if not quantity and (name in ("source", "notes") or name.startswith("x_")):
                continue
            if quantity and name == "source" and node[key] not in SOURCES:
                continue  # told already
            at = self._place(node, "key", key, origin.place)
            block.keys_at[name] = Origin(ref=join_pointer(*path, name), place=at, source=source)
            place = self._place(node, "value", key, at)
            if len(path) < KEPT_DEEP and isinstance(node[key], dict):
                block[name] = self._kept(node[key], (*path, name), place, source)
            else:
                block[name] = self.dress(node[key], (*path, name), place, source)
        return block

    def _kept(self, node: Any, path: tuple[str | int, ...], place: Place, source: Source | None) -> Any:
        """Return a block as it was dressed before, where its nodes and the source that holds for them are the same."""
        key = ("dressed", path, place, source)
        return self.kept.of(key, nodes(node), lambda: self.dress(node, path, place, source))

    def _source(self, node: Any, path: tuple[str | int, ...], inherited: Source | None) -> Source | None:
        written = node.get("source")
        if written is None or not path:
            return inherited
        if written in SOURCES:
            return written  # type: ignore[no-any-return]
        place = self._place(node, "value", "source", Place(file=self.file, line=1, column=1))
        self.faults.append(
            Fault(
                code="choice", what=f"{short(written)} is not a source", place=place,
                path=join_pointer(*path, "source"), allowed=", ".join(SOURCES), try_=nearest(str(written), SOURCES),
            )
        )  # fmt: skip
        return inherited
