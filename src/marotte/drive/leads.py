"""The tree of the supply: leads from the battery down, what holds their voltage, what hangs at which."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from marotte.basis.contracts.common import Told
from marotte.creature.schema.means import Servo
from marotte.creature.schema.servos import ServoClass
from marotte.creature.schema.stock import BatteryKind
from marotte.creature.schema.supply import Mains, Supply
from marotte.drive.plan import LINEAR, PLAIN, SWITCHING
from marotte.drive.supply import lead_ohm, open_volts

BATTERY = "battery"
"""Name of the supply itself in the tree: the first lead of every creature."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadRow:
    """One lead of the tree."""

    name: str
    parent: int
    """Index of the lead that feeds it; -1 for the battery."""
    ohm: float
    source_v: float
    limit_a: float
    drop_v: float
    efficiency: float
    regulator: int


def leads_of(
    supply: Supply | None, servos: list[ServoClass], cells: Mapping[str, BatteryKind], told: list[Told]
) -> tuple[LeadRow, ...]:
    """Return the tree, parents first; leads that hang nowhere are left out and told."""
    plain = {"ohm": 0.0, "limit_a": np.inf, "drop_v": 0.0, "efficiency": 1.0, "regulator": PLAIN}
    if supply is None:
        volts = servos[0].points[0].at if servos else 6.0
        if servos:
            sentence = f"No supply is written; a stiff one of {volts:g} V is taken"
            told.append(Told(code="no_supply", sentence=sentence))
        return (LeadRow(name=BATTERY, parent=-1, source_v=volts, **plain),)  # type: ignore[arg-type]
    battery = supply.battery
    fixed = isinstance(battery, Mains)
    rows = [
        LeadRow(
            name=BATTERY, parent=-1, ohm=battery.resistance, source_v=open_volts(battery, cells),
            limit_a=battery.limit if isinstance(battery, Mains) else np.inf, drop_v=0.0, efficiency=1.0,
            regulator=LINEAR if fixed else PLAIN,
        )
    ]  # fmt: skip
    waiting = dict(supply.leads)
    while waiting:
        ready = [name for name, lead in waiting.items() if lead.fed_by in {row.name for row in rows}]
        if not ready:
            for name in waiting:
                sentence = f"The lead {name} is fed by nothing that reaches the {BATTERY}; it is left out"
                told.append(Told(code="unfed_lead", sentence=sentence))
            break
        for name in ready:
            lead = waiting.pop(name)
            regulator = lead.regulator
            extra = regulator.resistance if regulator is not None else 0.0
            rows.append(
                LeadRow(
                    name=name,
                    parent=next(i for i, row in enumerate(rows) if row.name == lead.fed_by),
                    ohm=lead_ohm(lead.awg, lead.length) + extra,
                    source_v=regulator.volts if regulator is not None else 0.0,
                    limit_a=regulator.limit if regulator is not None else np.inf,
                    drop_v=regulator.drop if regulator is not None else 0.0,
                    efficiency=regulator.efficiency if regulator is not None else 1.0,
                    regulator=PLAIN if regulator is None else SWITCHING if regulator.kind == "switching" else LINEAR,
                )
            )
    return tuple(rows)


def lead_of(name: str, means: Servo, leads: tuple[LeadRow, ...], told: list[Told]) -> int:
    """Return the lead that feeds a servo input; of one that names none where there are several, the battery, and that is told."""
    names = [row.name for row in leads]
    if means.lead is not None and means.lead in names:
        return names.index(means.lead)
    if len(names) == 2:
        return 1
    if len(names) > 2:
        sentence = f"{name} names no lead of the supply; it is taken to hang at the {BATTERY} itself"
        told.append(Told(code="unfed", sentence=sentence, ref=means.ref("lead")))
    return 0


def nominal_volts(leads: tuple[LeadRow, ...], index: int) -> float:
    """Return the voltage [V] at a lead with nothing drawn."""
    row = leads[index]
    if row.parent < 0:
        return row.source_v
    above = nominal_volts(leads, row.parent)
    return above if row.regulator == PLAIN else max(min(row.source_v, above - row.drop_v), 0.1)


def resting_volts(leads: tuple[LeadRow, ...], index: int) -> float:
    """Return the voltage [V] at a lead with nothing drawn, as long as its regulator has enough above it."""
    row = leads[index]
    return row.source_v if row.parent < 0 or row.regulator != PLAIN else resting_volts(leads, row.parent)
