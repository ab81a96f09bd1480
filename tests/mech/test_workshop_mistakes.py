"""Three mistakes of the bench, in numbers: the engine must see them. Lengths are of this project's own examples.

The figures beside them were worked out by hand from plane trigonometry and the neo-Hookean law, before the engine was.
"""

from __future__ import annotations

import numpy as np
import pytest

from marotte.basis.frames import G0
from marotte.creature.anatomy import PARTS
from marotte.creature.schema.functions import FunctionLoad
from marotte.creature.schema.mechs import FourBar
from marotte.creature.schema.skins import SkinCard, Strip
from marotte.creature.shelf import shelf
from marotte.mech.loads import load
from marotte.mech.skin import force_at, force_on, skin, stretch_at
from tests.mech.rigs import DEG, LID, function, jaw, sound


def test_a_jaw_clocked_at_70_has_a_ratio_from_037_to_062_and_30_deg_at_the_horn_when_shut():
    found = jaw(70.0)
    assert found.rate[0, 0, 0] == pytest.approx(0.37, abs=0.005)
    assert found.rate[0, 0, -1] == pytest.approx(0.62, abs=0.005)
    assert np.degrees(found.joints["horn"][0]) == pytest.approx(30.0, abs=0.5)


def test_clocked_at_90_it_stays_between_061_and_064_at_72_deg():
    found = jaw(90.0, high_deg=24.0)
    assert found.rate.min() == pytest.approx(0.61, abs=0.005)
    assert found.rate.max() == pytest.approx(0.64, abs=0.005)
    assert np.degrees(found.joints["horn"][0]) == pytest.approx(72.0, abs=0.5)


def test_a_lid_clocked_square_when_open_shuts_at_26_deg_and_reclocked_at_58():
    bench = sound(FourBar(**LID, arm_at_neutral=90 * DEG), function("lid_upper", 0.0, 62 * DEG))
    anew = sound(FourBar(**LID, arm_at_neutral=59 * DEG), function("lid_upper", 0.0, 62 * DEG))
    assert np.degrees(bench.joints["arm"][-1]) == pytest.approx(26.0, abs=0.5)
    assert np.degrees(anew.joints["arm"][-1]) == pytest.approx(58.0, abs=0.5)
    edge = 21.7  # outer radius of the shell [mm]
    assert bench.play[0] * edge == pytest.approx(1.0, abs=0.05)
    assert anew.play[0] * edge == pytest.approx(0.5, abs=0.05)


def _jaw_and_skin(sculpted_deg, thickness):
    record = function("jaw", 0.0, 22 * DEG, load=FunctionLoad(mass=0.16, centre=(0.0, -0.018, 0.058)))
    strip = Strip(material="silicone_00_50", thickness=thickness, width=0.080, length=0.045)
    card = SkinCard(strip=strip, sculpted_at={"jaw": sculpted_deg * DEG}, holds={"jaw": 0.070})
    return record, skin("cheek", card, {"jaw": record}, shelf("2026-1"))


def test_a_jaw_sized_with_its_skin_off_meets_17_newtons_with_it_on():
    record, shut = _jaw_and_skin(0.0, 0.004)
    stretch = stretch_at(shut, {"jaw": 22 * DEG})
    assert 1.0 + stretch / 0.045 == pytest.approx(1.59, abs=0.01)
    assert force_at(shut, stretch) == pytest.approx(17.5, abs=0.2)
    torque = -force_on(shut, "jaw", {"jaw": 22 * DEG})
    assert torque == pytest.approx(1.22, abs=0.02)
    bare = load("jaw", record, PARTS["jaw"])
    level = np.array([0.0, -G0, 0.0]) @ bare.gravity
    assert level[0] == pytest.approx(0.09, abs=0.002)  # it falls open: gravity helps it, the skin shuts it
    # even so, a servo of 1.1 N*m advertised, half of it real, does not get there
    assert (torque - level[-1]) * jaw(70.0).rate[0, 0, -1] > 0.55


def test_sculpted_8_deg_open_and_thinned_it_bears_6_newtons():
    _, ajar = _jaw_and_skin(8.0, 0.002)
    assert force_at(ajar, stretch_at(ajar, {"jaw": 22 * DEG})) == pytest.approx(6.2, abs=0.1)
    assert abs(force_at(ajar, stretch_at(ajar, {"jaw": 0.0}))) < 0.1  # shut, it folds: it hardly pushes


def test_an_ear_chosen_on_weight_needs_five_times_its_weight_to_flick():
    ear = function("ear_lift", -20 * DEG, 70 * DEG, load=FunctionLoad(mass=0.038, centre=(0.0, 0.105, 0.0)))
    found = load("ear_lift", ear, PARTS["ear_lift"])
    weight = np.abs(found.gravity * G0).max()
    assert weight == pytest.approx(0.04, abs=0.002)
    # minimum jerk, 60 deg in 0.15 s: 5.7735 D / T^2 (closed form), on a rod of 210 mm: m l^2 / 3
    flick = 5.7735 * 60 * DEG / 0.15**2 * 0.038 * 0.210**2 / 3
    own = found.inertia * 5.7735 * 60 * DEG / 0.15**2
    assert flick == pytest.approx(0.15, abs=0.01)
    assert own == pytest.approx(flick, rel=0.25)  # a point mass at the middle, with a tenth for its size
    assert own + weight > 4 * weight
