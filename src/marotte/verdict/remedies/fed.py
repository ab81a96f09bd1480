"""Which supply or regulator sets the voltage of a servo."""

from __future__ import annotations

from collections.abc import Mapping

from marotte.basis.given import Ref
from marotte.creature.creature import Creature
from marotte.creature.schema.means import Servo
from marotte.creature.schema.servos import ServoClass
from marotte.creature.schema.supply import Lead, Supply
from marotte.verdict.remedies.turn import Chain


def fed(creature: Creature, chain: Chain) -> list[ServoClass]:
    """Return the class of every servo whose voltage a supply or regulator sets: each has a sheet with a last row."""
    assert creature.supply is not None
    own = str(chain[2]) if chain[1] == "leads" else None  # a regulator's lead; None: the battery
    return [
        creature.servos[means.model]
        for means in creature.means.values()
        if isinstance(means, Servo) and _sets_volts(creature.supply, means) == own
    ]


def feeds(creature: Creature, means: Servo) -> frozenset[Ref]:
    """Return what sets the voltage of a servo: a regulator, or else the battery."""
    if creature.supply is None:
        return frozenset()
    lead = _sets_volts(creature.supply, means)
    regulator = creature.supply.leads[lead].regulator if lead is not None else None
    return (regulator or creature.supply.battery).refs()


def _sets_volts(supply: Supply, means: Servo) -> str | None:
    """Return the lead whose regulator sets the voltage of a servo; None where it is the battery's."""
    lead = means.lead if means.lead is not None else next(iter(supply.leads), None)
    return _regulated_by(supply.leads, lead)


def _regulated_by(leads: Mapping[str, Lead], lead: str | None) -> str | None:
    """Return the lead whose regulator sets the voltage of a lead; None where it is the battery's."""
    seen = 0
    while lead is not None and lead in leads and seen <= len(leads):
        if leads[lead].regulator is not None:
            return lead
        lead, seen = leads[lead].fed_by, seen + 1
    return None
