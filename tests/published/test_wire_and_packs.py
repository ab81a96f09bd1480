"""Wire gauge (ASTM B258), copper (IEC 60028), packs and their drops: table values and closed forms.

The gauge rows were worked out from the standard's formula and agree with the printed table to four digits as remembered;
so the table itself is from memory.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from marotte.basis.contracts.script import Window
from marotte.creature.schema.servos import ServoPoint
from marotte.creature.schema.supply import Cells, Lead, Mains, Regulator, Supply
from marotte.creature.shelf import LATEST, shelf
from marotte.drive.respond import trace
from marotte.drive.supplied import _worst_rms
from marotte.drive.supply import COPPER_PER_K, lead_ohm, open_volts, wire_area_mm2, wire_diameter_mm, wire_ohm_per_m
from marotte.drive.windows import Trace
from tests.drive.rigs import creature, load, motion, servo, straight

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


def drawing(amps: float, supply: Supply, volts: float) -> Trace:
    """A servo whose load is too heavy, at full drive on its stop, with gears that lose nothing and so much stall current."""
    row = ServoPoint(at=volts, stall=volts / 100.0 * amps, free=100.0, stall_current=amps, free_current=0.0)
    heavy = {"jaw": load("jaw", mass=5.0, arm=0.1)}
    leads = {"jaw": list(supply.leads)[-1]} if supply.leads else None
    weak = servo(points=(row,), derate=1.0)
    model = creature({"jaw": straight("jaw")}, heavy, supply, servos={"mini": weak}, leads=leads)
    asked = motion({"jaw": np.full(480, -1.0)})
    return trace(model, asked, Window(id="w", start=0, stop=2400, line=1), whole=True)[0]


def test_two_cells_sag_under_ten_amperes() -> None:
    """7.4 V behind two cells of 40 mohm: 6.60 V at 10 A."""
    pack = Cells(kind="lithium_polymer", cells=2, capacity=7200.0, resistance=0.08)
    assert open_volts(pack, shelf(LATEST).batteries) == pytest.approx(7.4)
    found = drawing(7.4 / 0.66, Supply(battery=pack), 7.4)
    assert found.leads[1, 0, -1] == pytest.approx(10.0, rel=1e-6)
    assert found.leads[0, 0, -1] == pytest.approx(6.60, rel=1e-6)


def test_a_linear_regulator_burns_the_difference() -> None:
    """(8.4 - 6.0) V at 4 A are 9.6 W."""
    regulator = Regulator(kind="linear", volts=6.0, limit=50.0, drop=0.5, efficiency=1.0)
    supply = Supply(
        battery=Mains(kind="bench", volts=8.4, limit=100.0),
        leads={"face": Lead(fed_by="battery", awg=0, length=1e-6, regulator=regulator)},
    )
    found = drawing(4.0, supply, 6.0)
    volts, amps = found.leads[:, :, -1]
    assert amps == pytest.approx([4.0, 4.0], rel=1e-4)
    assert volts[0] * amps[0] - volts[1] * amps[1] == pytest.approx(9.6, rel=1e-3)


def test_root_mean_square_of_a_duty() -> None:
    """Closed form: 3 A for a second and 1 A for three are sqrt(3) A; the worst minute of a longer part is found."""
    assert _worst_rms(np.array([[9.0, 1.0, 1.0, 1.0]]))[0] == pytest.approx(math.sqrt(3.0))
    long = np.ones((1, 300))
    long[0, 120:180] = 4.0
    assert _worst_rms(long)[0] == pytest.approx(2.0)


def test_copper_at_sixty_degrees() -> None:
    """IEC 60028 (from memory): 1 + 0.00393 x 40 = 1.1572."""
    assert pytest.approx(1.1572) == 1.0 + COPPER_PER_K * 40.0
