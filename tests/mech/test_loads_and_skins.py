"""Loads against plain rotation, and the laws that skins must keep."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.frames import rotation
from marotte.creature.anatomy import PARTS
from marotte.creature.schema.functions import FunctionLoad, Spring
from marotte.creature.schema.skins import SkinCard, Strip
from marotte.creature.shelf import shelf
from marotte.mech.loads import gravity_force, load
from marotte.mech.skin import energy_at, force_at, force_on, skin, stretch_at
from tests.mech.rigs import DEG, function

calm = settings(deadline=None, max_examples=60)
small = st.floats(-0.1, 0.1)
STOCK = shelf("2026-1")


@calm
@given(
    st.tuples(small, small, small),
    st.tuples(*[st.floats(-10, 10)] * 3),
    st.sampled_from(["jaw", "ear_swivel", "eye_lift"]),
)
def test_gravity_is_the_power_of_the_weight(centre, g, part):
    record = function(part, -0.4, 0.6, load=FunctionLoad(mass=0.2, centre=centre))
    found = load("f", record, PARTS[part])
    axis = PARTS[part].axis
    assert axis is not None
    for i in (0, 77, 180):
        q, h = float(found.grid[i]), 1e-5
        rise = (rotation(axis, q + h) - rotation(axis, q - h)) @ np.array(centre) / (2 * h)
        assert gravity_force(found, g)[i] == pytest.approx(0.2 * float(rise @ np.array(g)), abs=1e-7)


@calm
@given(
    st.tuples(small, small, small),
    st.tuples(*[st.floats(-10, 10)] * 3),
    st.sampled_from(["lid_upper", "ear_swivel", "brow"]),
)
def test_the_right_ones_load_is_the_left_ones_mirror(centre, g, part):
    sides = [
        load("f", function(part, -0.4, 0.6, side=side, load=FunctionLoad(mass=0.2, centre=centre)), PARTS[part])
        for side in ("left", "right")
    ]
    assert gravity_force(sides[0], g) == pytest.approx(gravity_force(sides[1], (-g[0], g[1], g[2])), abs=1e-12)


def test_a_spring_pulls_towards_where_it_is_slack():
    spring = Spring(rate=0.3, slack_at=0.1)
    found = load("jaw", function("jaw", 0.0, 0.4, load=FunctionLoad(spring=spring)), PARTS["jaw"])
    assert found.spring == pytest.approx(0.3 * (0.1 - found.grid))


def cheek(pushes=False, backing="none", **more):
    functions = {
        "jaw": function("jaw", 0.0, 22 * DEG, 3 * DEG),
        "corner": function("lip_corner", -0.005, 0.009),
    }
    strip = Strip(material="silicone_00_30", thickness=0.004, width=0.04, length=0.045, backing=backing)
    card = SkinCard(
        strip=strip, sculpted_at={"jaw": 4 * DEG}, pushes=pushes, holds={"jaw": 0.07, "corner": -0.8}, **more
    )
    return skin("cheek", card, functions, STOCK)


where = st.tuples(st.floats(0.0, 22 * DEG), st.floats(-0.005, 0.009))


@calm
@given(where, where, where, st.booleans())
def test_a_skin_gives_back_on_a_closed_path_what_it_took(a, b, c, pushes):
    found = cheek(pushes)
    work = 0.0
    for start, end in ((a, b), (b, c), (c, a)):
        way = np.linspace(0.0, 1.0, 2001)
        places = [
            {"jaw": start[0] + w * (end[0] - start[0]), "corner": start[1] + w * (end[1] - start[1])} for w in way
        ]
        for name, i in (("jaw", 0), ("corner", 1)):
            pull = np.array([force_on(found, name, place) for place in places])
            work += float(np.sum(0.5 * (pull[1:] + pull[:-1]))) * (end[i] - start[i]) / 2000
    assert abs(work) < 2e-6


@calm
@given(where)
def test_the_pull_on_each_function_is_the_slope_of_the_energy_and_so_symmetric(place):
    found, h = cheek(), 1e-6
    here = {"jaw": place[0], "corner": place[1]}
    for name in ("jaw", "corner"):
        up, down = ({**here, name: here[name] + s * h} for s in (1, -1))
        slope = (energy_at(found, stretch_at(found, up)) - energy_at(found, stretch_at(found, down))) / (2 * h)
        assert -force_on(found, name, here) == pytest.approx(slope, abs=1e-4)
    # Maxwell: d F_jaw / d corner = d F_corner / d jaw
    h = 1e-4
    cross = [
        force_on(found, a, {**here, b: here[b] + h}) - force_on(found, a, {**here, b: here[b] - h})
        for a, b in (("jaw", "corner"), ("corner", "jaw"))
    ]
    assert cross[0] == pytest.approx(cross[1], abs=2e-3)


def test_there_is_no_force_in_the_sculpted_pose():
    found = cheek()
    assert stretch_at(found, {"jaw": 4 * DEG}) == 0.0
    assert force_at(found, 0.0) == pytest.approx(0.0, abs=1e-12)


def test_a_skin_that_does_not_push_buckles_and_one_that_does_pushes_as_rubber():
    limp, stiff = cheek(), cheek(pushes=True)
    shut = -0.008
    assert -0.2 < force_at(limp, shut) < 0.0
    assert force_at(stiff, shut) < 10 * force_at(limp, shut)


def test_a_woven_back_stops_the_stretch_and_a_knit_one_stiffens_it():
    plain, knit, woven = (force_at(cheek(backing=b), 0.010) for b in ("none", "knit", "woven"))
    assert plain < knit < 0.3 * woven


def test_relief_takes_its_share_of_the_width():
    functions = {"jaw": function("jaw", 0.0, 0.4)}
    whole, slit = (
        skin(
            "s",
            SkinCard(
                strip=Strip(material="latex", thickness=0.002, width=0.04, length=0.045, relief=r), holds={"jaw": 0.05}
            ),
            functions,
            STOCK,
        )
        for r in (0.0, 0.4)
    )
    assert force_at(slit, 0.01) == pytest.approx(0.6 * force_at(whole, 0.01))


def test_a_measured_table_is_followed_and_what_lies_past_it_is_told():
    functions = {"jaw": function("jaw", 0.0, 0.4)}
    table = np.array([[0.0, 0.005, 0.010], [0.0, 2.0, 5.0]])
    found = skin("s", SkinCard(curve="m.csv", holds={"jaw": 0.05}), functions, STOCK, {"m.csv": table})
    assert force_at(found, 0.005) == pytest.approx(2.0, abs=0.01)
    assert force_at(found, 0.020) == pytest.approx(11.0, abs=0.01)
    assert force_at(found, -0.0001) == 0.0
    assert [told.code for told in found.told] == ["past_table"]


def test_cold_is_stiffer_and_a_worn_in_warm_skin_softer():
    low, high = cheek().band
    assert low < 1.0 < high
