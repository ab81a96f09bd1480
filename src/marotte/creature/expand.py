"""The written tree -> plain blocks with origins: ``source`` handed down, ``like`` filled in, pairs made, short forms spelt out.

Every value in the result knows where it was written, so that the schema can put quantities in the ledger and name the place
of each fault. The written tree is never changed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any, Final, TypeAlias

from marotte.basis.faults import Fault, nearest, short
from marotte.basis.given import SOURCES, Place, Source
from marotte.creature.kept import Kept, nodes
from marotte.creature.origin import Block, Origin, Row, Text, origin_of, scalar
from marotte.creature.tree import Tree, join_pointer

SIDES: Final = ("left", "right")
PAIRED_SECTIONS: Final = ("functions", "mechs", "skins")
JOINED_KEYS: Final = ("moves", "means", "side")
KEPT_DEEP: Final = 2
"""Blocks that are kept stand at most so deep: sections, and their entries."""
RawServos: TypeAlias = Mapping[str, Block]
"""Name of a stock class -> its written values dressed with stock refs; shared, never changed."""


@dataclass(slots=True)
class Expanded:
    """The blocks, and what was wrong on the way."""

    root: Block
    faults: list[Fault] = field(default_factory=list)


def expand(tree: Tree, stock_servos: RawServos, kept: Kept | None = None) -> Expanded:
    """Return the expanded form of a tree; with ``kept``, blocks whose text is untouched are the same objects as before."""
    faults: list[Fault] = []
    kept = kept if kept is not None else Kept()
    root = _Dresser(tree.name, faults, kept).dress(tree.data, (), Place(file=tree.name, line=1, column=1), None)
    out = Expanded(root, faults)
    _fill_servos(out, stock_servos, kept)
    for section in PAIRED_SECTIONS:
        _make_pairs(out, section, kept)
    _spell_out_mechs(out, kept)
    _resolve(out, _names(root.get("functions")), kept)
    _spell_out_masses(out, kept)
    return out


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


def merged(base: Block, over: Block) -> Block:
    """Return a block with another laid over it; blocks inside are merged, unless their kinds differ."""
    out = Block(base.origin, dict(base), dict(base.keys_at))
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


def _names(section: object) -> tuple[str, ...]:
    return tuple(section) if isinstance(section, Block) else ()


def _fill_servos(out: Expanded, stock_servos: RawServos, kept: Kept) -> None:
    section = out.root.get("servos")
    if section is not None and not isinstance(section, Block):
        return  # the schema says so
    servos = _copy(section) if section is not None else Block(out.root.origin)
    for name, block in list(servos.items()):
        if not isinstance(block, Block) or "like" not in block:
            continue
        base = stock_servos.get(str(block["like"]))
        if base is None:
            out.faults.append(_no_such(block["like"], "a servo class of the stock", stock_servos))
            base = Block(block.origin)
        servos[name] = kept.of(("like", name), (base, block), partial(merged, base, block))
    for wanted in _models(out.root, kept):
        if wanted not in servos and (base := stock_servos.get(wanted)) is not None:
            servos[str(wanted)] = base
    out.root["servos"] = servos


def _models(root: Block, kept: Kept) -> list[str]:
    """Return every servo model that some means names, in the order of the file, once."""
    found: dict[str, None] = {}
    for section in ("functions", "mechs"):
        items = root.get(section)
        for name, item in items.items() if isinstance(items, Block) else ():
            found.update(dict.fromkeys(kept.of(("models", section, name), (item,), partial(_models_in, item))))
    return list(found)


def _models_in(item: object) -> list[str]:
    if isinstance(item, Block):
        own = [str(item["model"])] if item.get("kind") == "servo" and isinstance(item.get("model"), str) else []
        return own + [model for value in item.values() for model in _models_in(value)]
    return [model for value in item for model in _models_in(value)] if isinstance(item, Row) else []


def _no_such(written: object, what: str, words: Iterable[str]) -> Fault:
    origin = origin_of(written)
    options = sorted(words)
    return Fault(
        code="no_such", what=f"{short(written)} is not {what}", place=origin.place if origin else None,
        path=origin.ref if origin else "", allowed=", ".join(options[:12]) + (", ..." if len(options) > 12 else ""),
        try_=nearest(str(written), options),
    )  # fmt: skip


def _make_pairs(out: Expanded, section: str, kept: Kept) -> None:
    block = out.root.get(section)
    if not isinstance(block, Block):
        return
    made = Block(block.origin, keys_at={})
    for name, item in block.items():
        at = block.keys_at.get(name)
        for new_name, new_item in kept.of(("sided", section, name), (item,), partial(_sided, name, item, out.faults)):
            if new_name in made:
                out.faults.append(
                    Fault(
                        code="twice", what=f"{new_name} is made twice: by itself and by sides: both of its plain name",
                        place=at.place if at else None, path=at.ref if at else "",
                    )
                )  # fmt: skip
                continue
            made[new_name] = new_item
            if at is not None:
                made.keys_at[new_name] = at
    out.root[section] = made


def _sided(name: str, item: Any, faults: list[Fault]) -> list[tuple[str, Any]]:
    if not isinstance(item, Block) or "sides" not in item:
        return [(name, item)]
    written = item["sides"]
    if written not in ("both", *SIDES):
        origin = origin_of(written) or item.origin
        faults.append(
            Fault(
                code="choice",
                what=f"sides: {short(written)}",
                place=origin.place,
                path=origin.ref,
                allowed="both, left, right",
            )
        )
        written = "both"  # so that what names the pair elsewhere is not told as well
    plain = Block(item.origin, dict(item), dict(item.keys_at))
    differences = {side: plain.pop(side, None) for side in SIDES}
    del plain["sides"]
    pairs: list[tuple[str, Any]] = []
    for side in SIDES if written == "both" else (str(written),):
        own = differences[side]
        one = merged(plain, own) if isinstance(own, Block) else Block(plain.origin, dict(plain), dict(plain.keys_at))
        if own is not None and not isinstance(own, Block):
            origin = origin_of(own) or item.keys_at[side]
            faults.append(
                Fault(
                    code="wrong_kind", what=f"{side} holds a block of differences", place=origin.place, path=origin.ref
                )
            )
        one["side"] = Text(side, origin_of(written) or item.origin)
        pairs.append((f"{name}_{side}", one))
    return pairs


def _spell_out_mechs(out: Expanded, kept: Kept) -> None:
    """Give each joined mech the form of the schema: ``moves``, ``means`` by input, ``side``, and the rest under ``mech``."""
    block = out.root.get("mechs")
    if not isinstance(block, Block):
        return
    for name, item in block.items():
        if isinstance(item, Block):
            block[name] = kept.of(("spelled", name), (item,), partial(_spelled, item))


def _spelled(item: Block) -> Block:
    inner = Block(item.origin, {k: v for k, v in item.items() if k not in JOINED_KEYS}, dict(item.keys_at))
    outer = Block(item.origin, {k: v for k, v in item.items() if k in JOINED_KEYS}, dict(item.keys_at))
    means = outer.get("means")
    if isinstance(means, Block) and "kind" in means:
        outer["means"] = Block(means.origin, {"a": means})
    outer["mech"] = inner
    return outer


def _copy(block: Block) -> Block:
    """Return a block of its own with the same members: what is kept is never changed."""
    return Block(block.origin, dict(block), dict(block.keys_at))


class _Names:
    """Resolves a written function name: itself, its own side's, or both of a pair."""

    def __init__(self, functions: tuple[str, ...], faults: list[Fault]) -> None:
        self.functions, self.faults = functions, faults
        self.known = frozenset(functions)

    def plain(self) -> list[str]:
        pairs = [n[:-5] for n in self.functions if n.endswith("_left") and f"{n[:-5]}_right" in self.known]
        return sorted({*self.functions, *pairs})

    def find(self, name: str, side: str | None, origin: Origin | None) -> tuple[str, ...]:
        if name in self.known:
            return (name,)
        if side and f"{name}_{side}" in self.known:
            return (f"{name}_{side}",)
        both = tuple(f"{name}_{s}" for s in SIDES if f"{name}_{s}" in self.known)
        if both:
            return both
        self.faults.append(
            _no_such(Text(name, origin) if origin else name, "a function of this creature", self.plain())
        )
        return ()

    def table(self, block: Block, side: str | None) -> Block:
        """Return a block keyed by functions with plain pair names spelt out; a narrower name wins."""
        made = Block(block.origin, keys_at={})
        for narrow in (False, True):
            for name, value in block.items():
                if (name in self.known) is not narrow:
                    continue
                at = block.keys_at.get(name)
                for found in self.find(name, side, at) or (
                    name,
                ):  # what nobody has is told, and not as an empty table too
                    made[found] = value
                    if at is not None:
                        made.keys_at[found] = at
        return made

    def mech(self, item: Block) -> Block:
        """Return a mech with the functions that it moves spelt out, each on its own side."""
        out, side, moves = _copy(item), item.get("side"), item.get("moves")
        if isinstance(moves, Row):
            resolved = [
                Text(found, origin_of(name) or moves.origin)
                for name in moves
                for found in self.find(str(name), str(side) if side else None, origin_of(name))
            ]
            out["moves"] = Row(moves.origin, resolved)
        return out

    def skin(self, item: Block) -> Block:
        """Return a skin with what holds it spelt out."""
        out, side = _copy(item), str(item["side"]) if item.get("side") else None
        for key in ("holds", "sculpted_at"):
            if isinstance(item.get(key), Block):
                out[key] = self.table(item[key], side)
        return out

    def poses(self, item: Block) -> Block:
        """Return the tables of poses with every pose spelt out."""
        out = _copy(item)
        for group, table in item.items():
            if isinstance(table, Block):
                spelt = _copy(table)
                out[group] = spelt
                for name, pose in table.items():
                    if isinstance(pose, Block):
                        spelt[name] = self.table(pose, None)
        return out

    def mix(self, item: Block) -> Block:
        """Return what a control mixes, spelt out."""
        out = _copy(item)
        if isinstance(item.get("mix"), Block):
            out["mix"] = self.table(item["mix"], None)
        return out


def _resolve(out: Expanded, functions: tuple[str, ...], kept: Kept) -> None:
    """Spell out plain pair names wherever functions are named; what names of functions there are is part of what is kept."""
    names = _Names(kept.same(functions), out.faults)
    for section, resolve in (("mechs", names.mech), ("skins", names.skin), ("hand_plan", names.mix)):
        block = out.root.get(section)
        if isinstance(block, Block):
            made = _copy(block)
            out.root[section] = made
            for name, item in block.items():
                if isinstance(item, Block):
                    made[name] = kept.of(("named", section, name), (item, names.functions), partial(resolve, item))
    poses = out.root.get("poses")
    if isinstance(poses, Block):
        out.root["poses"] = kept.of(("named", "poses"), (poses, names.functions), partial(names.poses, poses))


def _spell_out_masses(out: Expanded, kept: Kept) -> None:
    """``hair: 70 g`` is ``hair: {mass: 70 g}``."""
    masses = out.root.get("masses")
    if not isinstance(masses, Block):
        return
    made = out.root["masses"] = _copy(masses)
    for name, item in masses.items():
        if not isinstance(item, Block) or "value" in item:
            origin = origin_of(item) or masses.origin
            made[name] = kept.of(("mass", name), (item,), partial(Block, origin, {"mass": item}, {"mass": origin}))
