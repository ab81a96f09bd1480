"""Heads of fit.wearer against the public table of ANSUR II, US Army 2012 (Gordon et al. 2014, NATICK/TR-15/007)."""

from __future__ import annotations

import csv

import numpy as np
import pytest

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.fit import WearerFit
from marotte.creature.schema.build import Skull
from marotte.creature.schema.people import Performer
from marotte.mech.fit.skull import shell_of
from marotte.mech.fit.wearer import HEADS, PAD, wearer_fit
from tests.shared_data import shared_data

FILES = {"man": ("body/ANSUR_II_MALE_Public.csv", 4082), "woman": ("body/ANSUR_II_FEMALE_Public.csv", 1986)}


def fitted(person: Performer) -> WearerFit:
    """How a wearer's head goes into a skull of 280 x 340 x 360 mm, in its middle."""
    shell = shell_of(Skull(shape=(0.28, 0.34, 0.36)), None)
    assert not isinstance(shell, Unknown)
    return wearer_fit("x", person, (0.0, 0.0, 0.0), shell)


@pytest.mark.parametrize("sex", FILES)
def test_lines_are_the_least_squares_of_the_table(sex: str) -> None:
    """Tolerance: the digits printed, over the 0.5 m between the shortest and the tallest."""
    name, people = FILES[sex]
    with shared_data(name).open(encoding="latin-1", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == people
    table = HEADS[sex]
    assert str(people) in table.people
    stature = np.array([float(row["stature"]) for row in rows]) * 1e-3
    for column, (slope, start), scatter in (
        ("headbreadth", table.breadth, table.breadth_scatter),
        ("headlength", table.length, table.length_scatter),
        ("mentonsellionlength", table.face, None),
        ("tragiontopofhead", table.crown, None),
    ):
        values = np.array([float(row[column]) for row in rows]) * 1e-3
        wanted = np.polyval(np.polyfit(stature, values, 1), [1.5, 1.75, 2.0])
        np.testing.assert_allclose(slope * np.array([1.5, 1.75, 2.0]) + start, wanted, atol=2e-5)
        if scatter is not None:
            assert (values - (slope * stature + start)).std(ddof=2) == pytest.approx(scatter, rel=1e-3)


@pytest.mark.parametrize("sex", FILES)
def test_nineteen_of_twenty_heads_of_the_table_lie_within_the_spread_that_is_said(sex: str) -> None:
    """Counted over everyone in the table; 95 % by a normal scatter, within a percent."""
    with shared_data(FILES[sex][0]).open(encoding="latin-1", newline="") as file:
        rows = list(csv.DictReader(file))
    within = 0
    for row in rows:
        found = fitted(Performer(stature=float(row["stature"]) * 1e-3, mass=70.0, sex=sex))  # type: ignore[arg-type]
        within += abs(float(row["headbreadth"]) * 1e-3 - found.breadth) <= found.breadth_spread
    assert within / len(rows) == pytest.approx(0.95, abs=0.01)


@pytest.mark.parametrize(
    "sex, stature, breadth, length", [("man", 1.7562, 154.3, 199.5), ("woman", 1.6285, 147.8, 189.8)]
)
def test_people_of_mean_stature_have_the_mean_head(sex: str, stature: float, breadth: float, length: float) -> None:
    """Means of the public table [mm]."""
    found = fitted(Performer(stature=stature, mass=70.0, sex=sex))  # type: ignore[arg-type]
    assert found.breadth * 1e3 == pytest.approx(breadth, abs=0.1)
    assert found.length * 1e3 == pytest.approx(length, abs=0.1)
    assert found.pad == PAD


def test_a_written_head_is_taken_as_it_is_and_an_unsaid_sex_takes_the_larger() -> None:
    own = fitted(Performer(stature=1.7, mass=70.0, sex="woman", head_breadth=0.16))
    assert (own.breadth, own.breadth_from, own.breadth_spread) == (0.16, "written", 0.0)
    unsaid = fitted(Performer(stature=1.7, mass=70.0))
    assert unsaid.breadth == fitted(Performer(stature=1.7, mass=70.0, sex="man")).breadth
    assert "larger head" in unsaid.breadth_from
    assert "military" in unsaid.length_from
