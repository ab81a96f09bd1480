"""Wires and packs: the closed forms of the supply."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

import numpy as np

from marotte.creature.schema.stock import BatteryKind
from marotte.creature.schema.supply import Cells, Mains

COPPER_OHM_MM2_PER_M: Final = 1.0 / 58.0
"""Resistivity of annealed copper at 20 C (100 % IACS, IEC 60028)."""
COPPER_PER_K: Final = 0.00393
"""Rise of its resistance per kelvin from 20 C (IEC 60028, from memory)."""


def wire_diameter_mm(awg: int) -> float:
    """Return the diameter [mm] of a solid wire by its gauge (ASTM B258)."""
    return float(0.127 * 92.0 ** ((36 - awg) / 39.0))


def wire_area_mm2(awg: int) -> float:
    """Return the copper area [mm2] by gauge."""
    return math.pi / 4.0 * wire_diameter_mm(awg) ** 2


def wire_ohm_per_m(awg: int) -> float:
    """Return the resistance [ohm/m] of one conductor at 20 C."""
    return COPPER_OHM_MM2_PER_M / wire_area_mm2(awg)


def lead_ohm(awg: int, length_m: float) -> float:
    """Return the resistance [ohm] of a pair of wires, there and back, of a one-way length [m]."""
    return 2.0 * length_m * wire_ohm_per_m(awg)


def open_volts(battery: Cells | Mains, cells: Mapping[str, BatteryKind]) -> float:
    """Return the voltage [V] of a pack at rest, half used, or of a fixed supply; ``cells`` are the stock's."""
    return battery.volts if isinstance(battery, Mains) else battery.cells * cells[battery.kind].nominal


def spent_volts(cell: BatteryKind, used: float) -> float:
    """Return the voltage [V] of one cell at rest by the share of its capacity that is used: straight between full, half and empty.

    Real cells fall off late and steeply, so that a straight line from half to empty lies under them: the careful side.
    """
    return float(np.interp(used, (0.0, 0.5, 1.0), (cell.full, cell.nominal, cell.empty)))


def spent_ohm(ohm: float, used: float) -> float:
    """Return the inner resistance [ohm] of a pack by the share that is used: as written to the half, half as much again when empty.

    From memory; it depends on cell, age and cold more than on this.
    """
    return ohm * (1.0 + max(used - 0.5, 0.0))
