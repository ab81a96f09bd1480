"""Wire gauge (ASTM B258), copper (IEC 60028), packs and their drops: table values and closed forms.

The gauge rows were worked out from the standard's formula and agree with the printed table to four digits as remembered;
so the table itself is from memory.
"""

from __future__ import annotations

import math

import pytest

from marotte.creature.schema.supply import Cells
from marotte.drive.supply import (
    copper_factor,
    lead_ohm,
    linear_loss_w,
    minutes,
    open_volts,
    peukert_hours,
    rms,
    sagged_volts,
    wire_area_mm2,
    wire_diameter_mm,
    wire_ohm_per_m,
)

GAUGE = [
    (10, 2.5882, 5.2612, 3.277), (12, 2.0525, 3.3088, 5.211), (14, 1.6277, 2.0809, 8.286), (16, 1.2908, 1.3087, 13.174),
    (18, 1.0237, 0.8230, 20.948), (20, 0.8118, 0.5176, 33.309), (22, 0.6438, 0.3255, 52.963), (24, 0.5106, 0.2047, 84.215),
    (26, 0.4049, 0.1288, 133.907), (28, 0.3211, 0.0810, 212.921),
]  # fmt: skip
"""AWG, diameter mm, area mm2, ohm per km."""


@pytest.mark.parametrize(("awg", "diameter", "area", "ohm_km"), GAUGE)
def test_wire_by_gauge_is_that_of_the_table(awg: int, diameter: float, area: float, ohm_km: float) -> None:
    assert wire_diameter_mm(awg) == pytest.approx(diameter, abs=6e-5)
    assert wire_area_mm2(awg) == pytest.approx(area, abs=6e-5)
    assert wire_ohm_per_m(awg) * 1000 == pytest.approx(ohm_km, rel=2e-4)


def test_the_gauge_meets_its_two_anchors() -> None:
    """ASTM B258 is defined by two sizes: 36 is 0.005 inch, 0000 (that is -3) is 0.46 inch."""
    assert wire_diameter_mm(36) == pytest.approx(0.127, abs=1e-12)
    assert wire_diameter_mm(-3) == pytest.approx(11.684, abs=1e-3)


@pytest.mark.parametrize(("awg", "run_m", "amps", "drop_v"), [(22, 3.0, 5.0, 1.5889), (18, 2.0, 8.0, 0.67034)])
def test_drop_along_a_pair_of_wires(awg: int, run_m: float, amps: float, drop_v: float) -> None:
    assert lead_ohm(awg, run_m) * amps == pytest.approx(drop_v, rel=1e-4)


def test_two_cells_sag_under_ten_amperes() -> None:
    pack = Cells(kind="lithium_polymer", cells=2, capacity=7200.0, resistance=0.08)
    assert open_volts(pack) == pytest.approx(7.4)
    assert sagged_volts(pack, 10.0) == pytest.approx(6.60)


def test_peukert_gives_the_textbook_hours() -> None:
    """A common textbook example (from memory): 100 Ah at 20 h, exponent 1.2, 10 A."""
    hours = peukert_hours(100.0, 20.0, 1.2, 10.0)
    assert hours == pytest.approx(8.7055, abs=5e-5)
    assert 10.0 * hours == pytest.approx(87.055, abs=5e-4)


def test_minutes_are_usable_charge_over_mean_current() -> None:
    pack = Cells(kind="lithium_polymer", cells=2, capacity=2.2 * 3600, resistance=0.04, usable=0.8)
    assert minutes(pack, 2.2) == pytest.approx(48.0)
    assert math.isinf(minutes(pack, 0.0))


def test_root_mean_square_of_a_duty() -> None:
    """Closed forms: current 3 A for 1 s and 1 A for 3 s; torque 0.6, 0.1, -0.5 N*m and a rest of a second."""
    assert rms([3.0, 1.0], [1.0, 3.0]) == pytest.approx(math.sqrt(3.0))
    assert rms([0.6, 0.1, -0.5, 0.0], [0.2, 0.6, 0.2, 1.0]) == pytest.approx(0.252982, abs=5e-7)


def test_copper_at_sixty_degrees() -> None:
    assert copper_factor(40.0) == pytest.approx(1.1572)


def test_a_linear_regulator_burns_the_difference() -> None:
    assert linear_loss_w(8.4, 6.0, 4.0) == pytest.approx(9.6)
