"""Knobs in reach of a finding: the numbers and choices of the file that a remedy may turn, and a creature with one turned.

Knobs are declared in the schema beside each field (``knob=``); a few more that are choices, or stand in tables of names, are
listed in ``choices.py``. A finding's knobs are those whose ref it rests on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any, Final, Literal

from marotte.basis.given import Ref
from marotte.creature.creature import Creature
from marotte.creature.schema.base import Record
from marotte.verdict.remedies.choices import choice_of
from marotte.verdict.remedies.turn import Chain, Turn, Value

SECTIONS: Final = ("functions", "mechs", "means", "skins", "servos", "supply", "masses", "brief")
PAIRED: Final = ("functions", "mechs", "skins")
"""Sections whose entries may stand for both sides."""


def turns(
    creature: Creature, rests_on: frozenset[Ref], side: Literal["left", "right"] | None = None
) -> tuple[Turn, ...]:
    """Return the knobs that a finding rests on, cheapest first, then by ref.

    With a side, what is written once for both of a pair is turned on that side alone.
    """
    found: dict[Ref, Turn] = {}
    blocks = _blocks(rests_on)
    for chain, holder, field in _quantities(creature):
        ref = _ref(holder, field)
        if ref is None or not (
            ref in found or field == "sculpted_at" or _reached(ref, holder, field, rests_on, blocks)
        ):
            continue
        turn = choice_of(creature, chain, holder, field, ref)
        if turn is None:
            continue
        if turn.ref in found:
            known = found[turn.ref]
            found[turn.ref] = replace(
                known, chains=known.chains + tuple(c for c in turn.chains if c not in known.chains)
            )
        elif _reached(turn.ref, holder, field, rests_on, blocks):
            found[turn.ref] = turn
    knobs = [turn if side is None else _sided(turn, side) for turn in found.values()]
    return tuple(sorted(knobs, key=lambda turn: (turn.cost, turn.ref)))


def _sided(turn: Turn, side: Literal["left", "right"]) -> Turn:
    """Return a knob of a pair as one of one side; a knob of neither, or written for one side already, as it is."""
    own = tuple(chain for chain in turn.chains if str(chain[1]).endswith(f"_{side}"))
    _, section, name, *rest = turn.ref.split("/")
    if not own or own == turn.chains or section not in PAIRED or name.endswith(("_left", "_right")):
        return turn
    return replace(
        turn, ref="/".join(("", section, name, side, *rest)), chains=own, written=False, stands=turn.stands or turn.ref
    )


def _reached(ref: Ref, holder: Record, field: str, rests_on: frozenset[Ref], blocks: frozenset[Ref]) -> bool:
    """A field that is not written yet is reached where its block is."""
    return ref in rests_on or (holder.ref(field).startswith("default:") and holder.ref("") in blocks)


def _blocks(refs: frozenset[Ref]) -> frozenset[Ref]:
    """Return every block that some refs lie in."""
    found: set[Ref] = set()
    for ref in refs:
        block = ref.rpartition("/")[0]
        while block and block not in found:
            found.add(block)
            block = block.rpartition("/")[0]
    return frozenset(found)


def _ref(holder: Record, field: str) -> Ref | None:
    """Return where a field is written, or would be; None in a block that nobody wrote (stock, defaults)."""
    ref = holder.ref(field)
    if not ref.startswith("default:"):
        return None if ref.startswith("stock:") else ref
    block = holder.ref("")
    return f"{block}/{field}" if block.startswith("/") else None


def _quantities(creature: Creature) -> Iterator[tuple[Chain, Record, str]]:
    """Yield (chain, record, field) of every field that may carry a knob."""
    for section in SECTIONS:
        yield from _walk((section,), getattr(creature, section))


def _walk(chain: Chain, thing: Any) -> Iterator[tuple[Chain, Record, str]]:
    if isinstance(thing, Record):
        for field in type(thing).model_fields:
            value = getattr(thing, field)
            yield (*chain, field), thing, field
            yield from _walk((*chain, field), value)
    elif isinstance(thing, Mapping):
        for name, item in thing.items():
            yield from _walk((*chain, name), item)
    elif isinstance(thing, tuple):
        for k, item in enumerate(thing):
            yield from _walk((*chain, k), item)
    elif is_dataclass(thing) and not isinstance(thing, type):
        for part in fields(thing):
            yield from _walk((*chain, part.name), getattr(thing, part.name))


def turned(creature: Creature, changes: Mapping[Turn, Value]) -> Creature:
    """Return a creature with some knobs at other values; everything that is not touched is the same object."""
    out = creature
    for turn, value in changes.items():
        for chain in turn.chains:
            out = _set(out, chain, value)
        if turn.says == "servo" and isinstance(value, str) and value not in out.servos:
            out = replace(out, servos={**out.servos, value: out.stock_tables.servos[value]})
    return out


def _set(thing: Any, chain: Chain, value: Value) -> Any:
    head, rest = chain[0], chain[1:]
    if isinstance(thing, Record):
        inner = value if not rest else _set(getattr(thing, str(head)), rest, value)
        made = thing.model_copy(update={str(head): inner})
        made._digest = b""
        return made
    if isinstance(thing, Mapping):
        return {**thing, head: value if not rest else _set(thing[head], rest, value)}
    if isinstance(thing, tuple):
        k = int(head)
        return (*thing[:k], value if not rest else _set(thing[k], rest, value), *thing[k + 1 :])
    inner = value if not rest else _set(getattr(thing, str(head)), rest, value)
    return replace(thing, **{str(head): inner})
