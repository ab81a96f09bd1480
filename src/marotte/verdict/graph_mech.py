"""The cells of the mech: a transmission, a load, a skin each from what it reads alone."""

from __future__ import annotations

from collections.abc import Collection

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Load, Mechs, Skin, Transmission
from marotte.basis.frames import Vec
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature, Mechanism
from marotte.mech import METHODS
from marotte.mech.loads import load
from marotte.mech.mechs import eye_spacing
from marotte.mech.skin import skin
from marotte.mech.solve import transmission
from marotte.verdict.cells import Cache, Cell, known


def mechanics(creature: Creature, cache: Cache, only: Collection[str] | None = None) -> Mechs:
    """Return all transmissions, loads and skins of a creature, from the cache where what they read is as it was.

    ``only`` limits them to some mechanisms, with what their outputs bear and hold.
    """
    points = cache.again(known, creature.points)
    moved = set(creature.functions) if only is None else {out for name in only for out in creature.mechs[name].outputs}
    return Mechs(
        transmissions={
            name: _transmission(creature, mech, points, cache)
            for name, mech in creature.mechs.items()
            if only is None or name in only
        },
        loads={name: _load(creature, name, cache) for name in creature.functions if name in moved},
        skins=tuple(_skin(creature, name, cache) for name, card in creature.skins.items() if moved & set(card.holds)),
    )


def _transmission(
    creature: Creature, mech: Mechanism, points: Cell[dict[str, Vec]], cache: Cache
) -> Transmission | Unknown:
    own = {name: creature.functions[name] for name in mech.outputs}
    parts = {function.part: PARTS[function.part] for function in own.values()}
    method = f"mech/{mech.record.kind}"
    pushed_by = tuple(creature.means[name].kind for name in mech.inputs)
    reads = (mech, own, points, parts, None, creature.stock_tables, eye_spacing(creature), pushed_by)
    return cache.cell(method, METHODS.get(method, 0), transmission, *reads).value


def _load(creature: Creature, name: str, cache: Cache) -> Load:
    function = creature.functions[name]
    return cache.cell("mech/loads", METHODS["mech/loads"], load, name, function, PARTS[function.part]).value


def _skin(creature: Creature, name: str, cache: Cache) -> Skin:
    card = creature.skins[name]
    held = {other: creature.functions[other] for other in card.holds}
    tables = {card.curve: creature.tables[card.curve]} if card.curve is not None else {}
    return cache.cell("mech/skin", METHODS["mech/skin"], skin, name, card, held, creature.stock_tables, tables).value
