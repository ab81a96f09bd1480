"""A pair's plain name -> the functions that it means, wherever functions are named."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from marotte.basis.faults import Fault, nearest, short
from marotte.creature.kept import Kept
from marotte.creature.origin import Block, Origin, Row, Text, origin_of, own_copy
from marotte.creature.pairs import SIDES


def resolve_names(root: Block, faults: list[Fault], kept: Kept) -> None:
    """Spell out plain pair names wherever functions are named; what names of functions there are is part of what is kept."""
    functions = root.get("functions")
    names = _Names(kept.same(tuple(functions) if isinstance(functions, Block) else ()), faults)
    for section, resolve in (("mechs", names.mech), ("skins", names.skin), ("hand_plan", names.mix)):
        block = root.get(section)
        if isinstance(block, Block):
            made = own_copy(block)
            root[section] = made
            for name, item in block.items():
                if isinstance(item, Block):
                    made[name] = kept.of(("named", section, name), (item, names.functions), partial(resolve, item))
    poses = root.get("poses")
    if isinstance(poses, Block):
        root["poses"] = kept.of(("named", "poses"), (poses, names.functions), partial(names.poses, poses))


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
        self.faults.append(no_such(Text(name, origin) if origin else name, "a function of this creature", self.plain()))
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
        out, side, moves = own_copy(item), item.get("side"), item.get("moves")
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
        out, side = own_copy(item), str(item["side"]) if item.get("side") else None
        for key in ("holds", "sculpted_at"):
            if isinstance(item.get(key), Block):
                out[key] = self.table(item[key], side)
        return out

    def poses(self, item: Block) -> Block:
        """Return the tables of poses with every pose spelt out."""
        out = own_copy(item)
        for group, table in item.items():
            if isinstance(table, Block):
                spelt = own_copy(table)
                out[group] = spelt
                for name, pose in table.items():
                    if isinstance(pose, Block):
                        spelt[name] = self.table(pose, None)
        return out

    def mix(self, item: Block) -> Block:
        """Return what a control mixes, spelt out."""
        out = own_copy(item)
        if isinstance(item.get("mix"), Block):
            out["mix"] = self.table(item["mix"], None)
        return out


def no_such(written: object, what: str, words: Iterable[str]) -> Fault:
    """Return the fault of a written name that is not one of some words."""
    origin = origin_of(written)
    options = sorted(words)
    return Fault(
        code="no_such", what=f"{short(written)} is not {what}", place=origin.place if origin else None,
        path=origin.ref if origin else "", allowed=", ".join(options[:12]) + (", ..." if len(options) > 12 else ""),
        try_=nearest(str(written), options),
    )  # fmt: skip
