"""A creature's Mechs: every transmission, load and skin."""

from __future__ import annotations

from marotte.basis.contracts.mech import Mechs
from marotte.creature.anatomy import EYE_SPACING, PARTS
from marotte.creature.creature import Creature
from marotte.mech.loads import load
from marotte.mech.skin import skin
from marotte.mech.solve import transmission


def eye_spacing(creature: Creature) -> float:
    """Return the distance of the eye centres [m], of the build or else of the anatomy."""
    return creature.build.eye.spacing if creature.build.eye is not None else EYE_SPACING


def mechs(creature: Creature) -> Mechs:
    """Return all mechanisms of a creature. One that cannot be computed stands as Unknown, one that jams as Jammed.

    The order of names is the file's. A caller that keeps results should call ``transmission``, ``load`` and ``skin`` by
    themselves, each with what it reads alone.
    """
    return Mechs(
        transmissions={
            name: transmission(
                mechanism,
                creature.functions,
                creature.points,
                PARTS,
                None,
                creature.stock_tables,
                eye_spacing(creature),
                tuple(creature.means[name].kind for name in mechanism.inputs),
            )
            for name, mechanism in creature.mechs.items()
        },
        loads={name: load(name, function, PARTS[function.part]) for name, function in creature.functions.items()},
        skins=tuple(
            skin(name, card, creature.functions, creature.stock_tables, creature.tables)
            for name, card in creature.skins.items()
        ),
    )
