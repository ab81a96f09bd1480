"""Lost motion where it shows: the chain from gears to bearing."""

from __future__ import annotations

import numpy as np
import pytest

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Slop
from marotte.creature.schema.functions import FunctionLoad, Shell
from marotte.creature.schema.mechs import Cable, FourBar
from marotte.creature.shelf import shelf
from marotte.mech.slop import slop
from tests.mech.rigs import DEG, LID, eye, function, sound

STOCK = shelf("2026-1")
MINI = STOCK.servos["mini"]


def lid(arm_deg, **more):
    own = function(
        "lid_upper", 0.0, 62 * DEG, load=FunctionLoad(mass=0.006, shell=Shell(inner=0.0205, thickness=0.0012))
    )
    record = FourBar(**LID, arm_at_neutral=arm_deg * DEG, **more)
    found = slop("out0", own, record, sound(record, own), (MINI,))
    assert isinstance(found, Slop)
    return found


def test_reclocking_a_lid_halves_what_its_ball_joints_lose():
    bench, anew = lid(90), lid(59)
    of = {part.name: part for part in bench.parts}
    # by hand: 0.2 mm over 10 mm at the sine of 25.6 deg, at the shell's outer 21.7 mm
    assert of["ball joints"].new_m * 1e3 == pytest.approx(0.2 / (10 * np.sin(25.64 * DEG)) * 21.7, abs=0.01)
    assert bench.at == pytest.approx(62 * DEG, abs=1e-3)
    assert {part.name: part for part in anew.parts}["ball joints"].new_m < 0.55 * of["ball joints"].new_m
    assert anew.new_m < bench.new_m


def test_the_whole_is_the_sum_of_its_parts_and_worn_is_more():
    found = lid(70)
    assert [part.name for part in found.parts] == ["gears", "spline", "ball joints", "bracket", "bearing"]
    assert found.new_m == pytest.approx(sum(part.new_m for part in found.parts))
    assert found.worn_m > found.new_m
    assert found.arm_m == pytest.approx(0.0217)


def test_gear_play_comes_through_the_ratio():
    found = lid(59)
    gears = found.parts[0]
    assert 0.9 * MINI.play < gears.new_m / 0.0217 < 1.1 * MINI.play


def test_what_turns_without_a_telling_point_has_no_millimetres():
    own, record = function("lid_upper", 0.0, 62 * DEG), FourBar(**LID, arm_at_neutral=70 * DEG)
    found = slop("out0", own, record, sound(record, own), (MINI,))
    assert isinstance(found, Unknown)
    assert "where its movement is seen" in found.why


def test_a_cable_loses_its_clearance_at_the_place_that_shows():
    own = function("lip_corner", -0.005, 0.009)
    record = Cable(pulls="both_ways", horn=0.010, core=0.001, bore=0.0016, bends=(150 * DEG,), length=0.24)
    found = slop("out0", own, record, sound(record, own, stock=STOCK), (MINI,))
    assert isinstance(found, Slop)
    assert {part.name: part.new_m for part in found.parts}["wire"] == pytest.approx(0.6e-3 * 150 * DEG)


def test_an_eye_loses_by_both_its_servos():
    found = eye()
    own = function("eye_turn", -28 * DEG, 28 * DEG, tells_at={"arm": 0.020})
    lost = slop("out0", own, FourBar(**LID, arm_at_neutral=1.0), found, (MINI, MINI))
    assert isinstance(lost, Slop)
    mid = found.grid[0].size // 2
    two = np.abs(found.rate[0, :, mid, mid]).sum() * MINI.play * 0.020
    assert lost.parts[0].new_m >= 0.95 * two
