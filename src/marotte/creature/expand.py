"""The written tree -> plain blocks with origins: ``source`` handed down, ``like`` filled in, pairs made, short forms spelt out.

Every value in the result knows where it was written, so that the schema can put quantities in the ledger and name the place
of each fault. The written tree is never changed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Final, TypeAlias

from marotte.basis.faults import Fault, short
from marotte.creature.dress import dressed
from marotte.creature.kept import Kept
from marotte.creature.origin import Block, Row, merged, origin_of, own_copy
from marotte.creature.pairs import make_pairs
from marotte.creature.resolve import no_such, resolve_names
from marotte.creature.tree import Tree

PAIRED_SECTIONS: Final = ("functions", "mechs", "skins")
JOINED_KEYS: Final = ("moves", "means", "side")
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
    root = dressed(tree, faults, kept)
    _fill_servos(root, stock_servos, faults, kept)
    for section in PAIRED_SECTIONS:
        make_pairs(root, section, faults, kept)
    _spell_out_mechs(root, kept)
    resolve_names(root, faults, kept)
    _spell_out_masses(root, kept)
    return Expanded(root, faults)


def _fill_servos(root: Block, stock_servos: RawServos, faults: list[Fault], kept: Kept) -> None:
    section = root.get("servos")
    if section is not None and not isinstance(section, Block):
        return  # the schema says so
    servos = own_copy(section) if section is not None else Block(root.origin)
    likes = {name: block["like"] for name, block in servos.items() if isinstance(block, Block) and "like" in block}
    in_loops: set[str] = set()
    for name, like in likes.items():
        block, base = servos[name], stock_servos.get(str(like))
        if base is None:
            if name not in in_loops:
                faults.append(_unlike(name, likes, stock_servos, in_loops))
            base = next(iter(stock_servos.values()))  # nobody sees it: the file is refused, and for this alone
        servos[name] = kept.of(("like", name), (base, block), partial(merged, base, block))
    for wanted in _models(root, kept):
        if wanted not in servos and (base := stock_servos.get(wanted)) is not None:
            servos[str(wanted)] = base
    root["servos"] = servos


def _unlike(name: str, likes: Mapping[str, object], stock_servos: RawServos, in_loops: set[str]) -> Fault:
    """Return the fault of a class that is like none of the stock; those of a loop, which is told once, go into ``in_loops``."""
    fault = no_such(likes[name], "a servo class of the stock", stock_servos)
    chain = [name]
    while (after := str(likes.get(chain[-1], ""))) in likes and after not in chain:
        chain.append(after)
    if after == name:
        in_loops.update(chain)
        what = (
            f"{short(name)} is like itself"
            if len(chain) == 1
            else f"these are like one another: {' <- '.join((*chain, name))}"
        )
        return replace(fault, code="loop", what=what, try_="")
    if len(chain) > 1:
        what = f"{short(chain[1])} is a class of this file, and like takes one of the stock"
        return replace(fault, what=what, try_=after if after in stock_servos else "")
    return fault


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


def _spell_out_mechs(root: Block, kept: Kept) -> None:
    """Give each joined mech the form of the schema: ``moves``, ``means`` by input, ``side``, and the rest under ``mech``."""
    block = root.get("mechs")
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


def _spell_out_masses(root: Block, kept: Kept) -> None:
    """``hair: 70 g`` is ``hair: {mass: 70 g}``."""
    masses = root.get("masses")
    if not isinstance(masses, Block):
        return
    made = root["masses"] = own_copy(masses)
    for name, item in masses.items():
        if not isinstance(item, Block) or "value" in item:
            origin = origin_of(item) or masses.origin
            made[name] = kept.of(("mass", name), (item,), partial(Block, origin, {"mass": item}, {"mass": origin}))
