"""Wires, packs and what they leave: the closed forms of the supply."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from marotte.creature.schema.supply import Cells, Mains

COPPER_OHM_MM2_PER_M: Final = 1.0 / 58.0
"""Resistivity of annealed copper at 20 C (100 % IACS, IEC 60028)."""
COPPER_PER_K: Final = 0.00393
"""Rise of its resistance per kelvin from 20 C (IEC 60028, from memory)."""
CELL_VOLTS: Final[dict[str, float]] = {"lithium_polymer": 3.7, "lithium_iron": 3.2, "nickel_metal": 1.2}
"""Nominal voltage of a cell (common practice)."""
EMPTY_VOLTS: Final[dict[str, float]] = {"lithium_polymer": 3.5, "lithium_iron": 3.0, "nickel_metal": 1.1}
"""At rest when the usable share is gone (common practice, no source)."""


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


def sagged_volts(battery: Cells | Mains, current_a: float) -> float:
    """Return the voltage [V] at the terminals while a current [A] flows."""
    return open_volts(battery) - battery.resistance * current_a


def minutes(battery: Cells, mean_a: float) -> float:
    """Return the minutes that one pack lasts at a mean current [A]; infinite where nothing is drawn."""
    return math.inf if mean_a <= 0 else battery.capacity * battery.usable / mean_a / 60.0


def peukert_hours(capacity_ah: float, hours: float, exponent: float, current_a: float) -> float:
    """Return the run time [h] of a lead-acid pack rated at ``hours``: t = H (C / (I H))^k (Peukert 1897)."""
    return float(hours * (capacity_ah / (current_a * hours)) ** exponent)


def rms(values: Sequence[float], times_s: Sequence[float]) -> float:
    """Return the root mean square of values held for times [s] each."""
    return math.sqrt(sum(v * v * t for v, t in zip(values, times_s, strict=True)) / sum(times_s))


def copper_factor(rise_k: float) -> float:
    """Return how many times its cold resistance a copper winding has at a rise [K] above 20 C."""
    return 1.0 + COPPER_PER_K * rise_k


def linear_loss_w(volts_in: float, volts_out: float, current_a: float) -> float:
    """Return the heat [W] of a linear regulator."""
    return (volts_in - volts_out) * current_a
