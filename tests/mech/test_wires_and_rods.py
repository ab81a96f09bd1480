"""Cables, pull-pull loops and rods in the hand."""

from __future__ import annotations

import numpy as np
import pytest

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Jammed, Transmission
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Mechanism
from marotte.creature.schema.mechs import Cable, HandRod, Linkage, PullPull
from marotte.creature.shelf import shelf
from marotte.mech.kinds.rod import first_bending_hz
from marotte.mech.loads import load
from marotte.mech.solve import transmission
from tests.mech.rigs import DEG, function


def pulled(record: Linkage, part: str = "tail", low: float = 0.0, high: float = 80 * DEG, **more):
    own = function(part, low, high, mech=None, **more)
    mechanism = Mechanism(name="mech", record=record, inputs=("in",), outputs=("out",))  # type: ignore[arg-type]
    return transmission(mechanism, {"out": own}, {}, PARTS, None, shelf("2026-1"))


@pytest.mark.parametrize(("bend_deg", "lost_mm"), [(90, 0.94), (270, 2.83), (360, 3.77)])
def test_lost_motion_is_clearance_times_bend(bend_deg, lost_mm):
    # 1.0 mm wire in a 1.6 mm liner, by hand: 0.6 mm times the bend in radians
    record = Cable(pulls="both_ways", core=0.001, bore=0.0016, bends=(bend_deg * DEG,), length=0.3)
    found = pulled(record, "lip_corner", -0.005, 0.009)
    assert isinstance(found, Transmission)
    assert found.facts["lost_motion_m"] * 1e3 == pytest.approx(lost_mm, abs=0.01)
    assert found.play[0] == pytest.approx(found.facts["lost_motion_m"])


def test_a_return_with_preload_keeps_the_wire_taut_and_nothing_is_lost():
    slack, taut = (
        pulled(Cable(arm=0.012, core=0.001, bore=0.0016, bends=(180 * DEG,), length=0.32, returns="spring", preload=p))
        for p in (0.0, 0.05)
    )
    assert isinstance(slack, Transmission) and isinstance(taut, Transmission)  # noqa: PT018
    assert slack.play[0] * 0.012 == pytest.approx(1.885e-3, abs=1e-5)
    assert taut.play[0] == 0.0


def test_the_bends_cost_the_same_both_ways_whatever_their_number():
    one, three = (
        pulled(Cable(arm=0.012, bends=bends, length=0.3, returns="skin")) for bends in ((2.4,), (0.8, 0.8, 0.8))
    )
    assert isinstance(one, Transmission) and isinstance(three, Transmission)  # noqa: PT018
    assert one.forward == pytest.approx(np.exp(-0.10 * 2.4))
    assert one.forward == pytest.approx(three.forward)
    assert one.back == one.forward


def test_a_cables_spring_pulls_its_function_back():
    record = Cable(arm=0.012, bends=(1.0,), length=0.3, returns="spring", spring=0.05, preload=0.02)
    own = function("tail", -10 * DEG, 80 * DEG, mech=record, means={"kind": "lever"})
    found = load("tail", own, PARTS["tail"])
    assert found.spring == pytest.approx(-0.02 - 0.05 * found.grid)


@pytest.mark.parametrize(
    ("record", "kind"),
    [
        (Cable(arm=0.012, length=0.3), "return"),
        (Cable(arm=0.012, length=0.3, pulls="both_ways", core="rope_0p8"), "buckling"),
        (Cable(arm=0.012, length=0.3, pulls="both_ways", bare=0.03), "buckling"),
        (Cable(arm=0.012, length=0.3, returns="skin", bends=(1.0,), bend_radius=0.02), "bend"),
        (Cable(arm=0.012, length=0.3, returns="skin", core=0.002), "bore"),
        (PullPull(horn=0.012, arm=0.012, length=0.3), "slack"),
        (PullPull(horn=0.012, arm=0.012, length=0.3, core="rope_0p8", preload=200.0), "overload"),
    ],
)
def test_what_a_wire_cannot_do_is_told(record, kind):
    found = pulled(record)
    assert isinstance(found, Transmission)
    assert kind in [fault.kind for fault in found.faults]


def test_a_loop_with_pretension_has_no_play_and_drags():
    found = pulled(PullPull(horn=0.012, arm=0.010, length=0.4, bends=(np.pi, np.pi), preload=10.0, core="rope_0p8"))
    assert isinstance(found, Transmission)
    assert found.rate[0, 0, 0] == pytest.approx(1.2)
    assert found.play[0] == 0.0
    assert found.dry == pytest.approx(2 * 10.0 * (1 - np.exp(-0.1 * 2 * np.pi)) * 0.012)


def test_a_wire_without_its_arm_on_what_turns_is_unknown():
    found = pulled(Cable(length=0.3, returns="spring"))
    assert isinstance(found, Unknown)
    assert not isinstance(found, Jammed)
    assert "arm" in found.why


def test_a_thicker_tube_is_lighter_on_its_feet_than_thin_steel():
    tube = pulled(HandRod(length=0.45, outer=0.005, inner=0.003, end_mass=0.030), "wing_reach", 0.0, 0.12)
    wire = pulled(HandRod(length=0.45, outer=0.003, material="steel", end_mass=0.030), "wing_reach", 0.0, 0.12)
    assert isinstance(tube, Transmission) and isinstance(wire, Transmission)  # noqa: PT018
    # worked out by hand for the two rods: 9 g and 9 Hz, 25 g and 4.4 Hz
    assert tube.facts["mass_kg"] == pytest.approx(0.009, abs=0.0005)
    assert tube.facts["first_bending_hz"] == pytest.approx(9.0, rel=0.05)
    assert wire.facts["mass_kg"] == pytest.approx(0.025, abs=0.0005)
    assert wire.facts["first_bending_hz"] == pytest.approx(4.4, rel=0.05)


def test_a_bare_rods_frequency_is_the_cantilevers():
    # exact clamped beam: omega = 1.8751^2 sqrt(E I / (m/L L^4)) (Blevins; the root is of 1 + cos x cosh x = 0)
    stiffness, length, mass = 2.0, 0.5, 0.02
    exact = 1.875104069**2 * np.sqrt(stiffness / (mass / length * length**4)) / (2 * np.pi)
    assert first_bending_hz(stiffness, length, mass, 0.0) == pytest.approx(exact, rel=0.015)


def test_a_rod_on_what_turns_takes_hold_at_its_telling_point():
    found = pulled(HandRod(length=0.45, outer=0.005), "wing_lift", 0.0, 80 * DEG, tells_at={"arm": 0.12})
    assert isinstance(found, Transmission)
    assert found.grid[0][-1] == pytest.approx(0.12 * 80 * DEG)
    assert isinstance(pulled(HandRod(length=0.45, outer=0.005), "wing_lift"), Unknown)
