"""The cells of fit: the mass sheet."""

from __future__ import annotations

from marotte.basis.contracts.fit import MassSheet
from marotte.creature.creature import Creature
from marotte.mech import METHODS
from marotte.mech.masses import MassParts, mass_sheet
from marotte.verdict.cells import Cache


def masses(creature: Creature, cache: Cache) -> MassSheet:
    """Return the mass sheet of a creature."""
    return cache.cell("mech/masses", METHODS["mech/masses"], mass_sheet, MassParts.of(creature)).value
