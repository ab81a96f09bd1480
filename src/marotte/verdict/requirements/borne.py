"""What one input of a mechanism bears at one instant, gathered with every record that it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.contracts.mech import Transmission
from marotte.basis.frames import Vec, mirrored, unit
from marotte.creature.anatomy import PARTS
from marotte.creature.schema.functions import Function
from marotte.creature.schema.mechs import Cable, Linkage, PullPull
from marotte.creature.schema.skins import SkinCard
from marotte.creature.schema.stock import Backing, Liner, SkinStuff
from marotte.verdict.points import Point

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results


@dataclass(frozen=True, slots=True)
class Moved:
    """One output with what the working needs of it."""

    name: str
    function: Function
    axis: Vec | None
    centre: Vec
    unit: str


@dataclass(frozen=True, slots=True)
class Held:
    """One skin with what it is made of."""

    name: str
    card: SkinCard
    stuff: SkinStuff | None
    backing: Backing | None
    curve: F64
    band: tuple[float, float]
    """Factors on the pull: warm and crept, cold."""
    measured_to: float | None
    """Of a measured one: the stretch [m] at which its table ends."""

    def pull_at(self, length: float) -> float:
        """Return the pull [N] at a stretch [m] by the engine's own curve."""
        return float(np.interp(length, self.curve[0], self.curve[1]))


@dataclass(frozen=True, slots=True)
class Borne:
    """What one input of a mechanism bears at one instant, with every record that it comes from."""

    name: str
    """Of the mechanism."""
    mech: Linkage
    liner: Liner | None
    """Of a wire."""
    point: Point
    outputs: tuple[Moved, ...]
    skins: tuple[Held, ...]
    where: str
    """When it is: ``0:41.3`` or the name of a pose."""
    input_unit: str
    """"rad" or "m"."""


def borne(creature: Creature, results: Results, mech: str, point: Point, where: str) -> Borne:
    """Return what one input of a mechanism bears."""
    mechanism = creature.mechs[mech]
    transmission = results.mechs.transmissions[mech]
    names = {name for term in point.terms for name, _, _ in term.skins}
    units = transmission.input_units if isinstance(transmission, Transmission) else ()
    return Borne(
        name=mech,
        mech=mechanism.record,
        liner=_liner(creature, mechanism.record),
        point=point,
        outputs=tuple(
            _moved(creature, results, term.function, creature.functions[term.function].side) for term in point.terms
        ),
        skins=tuple(_held(creature, results, name) for name in sorted(names)),
        where=where,
        input_unit=units[0] if units else "rad",
    )


def _liner(creature: Creature, record: Linkage) -> Liner | None:
    return creature.stock_tables.liners.get(record.liner) if isinstance(record, (Cable, PullPull)) else None


def _moved(creature: Creature, results: Results, name: str, side: str | None) -> Moved:
    function = creature.functions[name]
    part = PARTS[function.part]
    axis = unit(function.axis) if function.axis is not None else part.axis_for(side)  # type: ignore[arg-type]
    centre = mirrored(function.load.centre) if side == "right" else function.load.centre
    return Moved(name, function, axis, centre, results.unit_of(name))


def _held(creature: Creature, results: Results, name: str) -> Held:
    card = creature.skins[name]
    stock = creature.stock_tables
    stuff = stock.skins.get(card.strip.material) if card.strip is not None else None
    backing = stock.backings.get(card.strip.backing) if card.strip is not None else None
    skin = next(skin for skin in results.mechs.skins if skin.name == name)
    table = creature.tables.get(card.curve) if card.curve is not None else None
    return Held(name, card, stuff, backing, skin.curve, skin.band, None if table is None else float(table[0, -1]))
