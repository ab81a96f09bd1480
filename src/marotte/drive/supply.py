"""Wires and packs: the closed forms of the supply."""

from __future__ import annotations

import math
from typing import Final

from marotte.creature.schema.supply import Cells, Mains

COPPER_OHM_MM2_PER_M: Final = 1.0 / 58.0
"""Resistivity of annealed copper at 20 C (100 % IACS, IEC 60028)."""
COPPER_PER_K: Final = 0.00393
"""Rise of its resistance per kelvin from 20 C (IEC 60028, from memory)."""
CELL_VOLTS: Final[dict[str, float]] = {"lithium_polymer": 3.7, "lithium_iron": 3.2, "nickel_metal": 1.2}
"""Nominal voltage of a cell (common practice)."""


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


def open_volts(battery: Cells | Mains) -> float:
    """Return the voltage [V] of a pack at rest, or of a fixed supply."""
    return battery.volts if isinstance(battery, Mains) else battery.cells * CELL_VOLTS[battery.kind]
