"""What the mech finding says of gimbals, wires and rods, and what a wire does not bear."""

from __future__ import annotations

import math

import pytest
from tests.mech.rigs import DEG, function

from marotte.basis.contracts.mech import Transmission
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Mechanism
from marotte.creature.schema.mechs import Cable, HandRod, Linkage
from marotte.creature.shelf import shelf
from marotte.mech.solve import transmission
from marotte.verdict.check import Examined
from marotte.verdict.mech_words import of_its_kind, overloaded

STOCK = shelf("2026-1")


def made(record: Linkage, part: str, low: float, high: float) -> Transmission:
    mechanism = Mechanism(name="mech", record=record, inputs=("in",), outputs=("out",), side=None)
    found = transmission(mechanism, {"out": function(part, low, high)}, {}, PARTS, None, STOCK)
    assert isinstance(found, Transmission)
    return found


def test_the_cross_talk_of_an_eye_is_said(small: Examined) -> None:
    eye = next(item for item in small.verdict.findings if item.id == "eye_left.mech")
    facts = small.results.mechs.transmissions["eye_left"].facts
    assert "only turned it lifts by up to" in eye.sentence
    assert f"{math.degrees(facts['turning_lifts_rad']):.2g} deg" in eye.sentence


def test_what_a_wire_loses_round_its_bends_is_said() -> None:
    """Capstan, by hand: exp(-0.1 pi/2) = 85 % at mu 0.1; 0.4 mm of clearance over a quarter turn are 0.63 mm."""
    record = Cable(
        pulls="both_ways", horn=0.010, core="steel_0p8", bore=0.0012, liner="ptfe", bends=(90 * DEG,), length=0.2
    )
    found = made(record, "lip_corner", -0.005, 0.006)
    mu = -math.log(found.forward) / (math.pi / 2)
    assert mu == pytest.approx(STOCK.liners["ptfe"].friction, rel=0.01)
    said = of_its_kind(found)
    assert f"{100 * found.forward:.2g} % of the pull arrives round 90 deg" in said
    assert "0.63 mm of motion is lost" in said


def test_a_rod_says_from_when_it_whips() -> None:
    said = of_its_kind(
        made(HandRod(length=0.45, outer=0.003, material="steel", end_mass=0.030), "wing_reach", 0.0, 0.12)
    )
    assert (
        "bends first at 4.3 Hz, so moves quicker than 1.4 a second" in said
    )  # by hand 4.4 Hz: 25 g of steel, 30 g at its end


def test_a_wire_pulled_over_its_working_load_is_a_fault_and_one_under_it_is_not() -> None:
    record = Cable(
        horn=0.010, core="line_0p6", bore=0.0012, bends=(90 * DEG,), length=0.2, pulls="one_way", returns="spring"
    )
    found = made(record, "lip_corner", -0.005, 0.006)
    bears = found.facts["works_at_n"] * 0.010
    assert overloaded(record, found, 0.9 * bears) == ()
    (fault,) = overloaded(record, found, 1.1 * bears)
    assert fault.kind == "wire"
    assert fault.serious


def test_a_long_bare_end_buckles_under_a_push_that_its_wire_could_pull() -> None:
    record = Cable(
        horn=0.010, core="steel_0p8", bore=0.0012, bends=(90 * DEG,), length=0.2, pulls="both_ways", bare=0.060
    )
    found = made(record, "lip_corner", -0.005, 0.006)
    assert "buckles when pushed" in of_its_kind(found)  # no serious fault by itself
    limit = found.facts["push_limit_n"]
    assert limit < found.facts["works_at_n"]
    (fault,) = overloaded(record, found, 1.1 * limit * 0.010)
    assert fault.kind == "buckling"
