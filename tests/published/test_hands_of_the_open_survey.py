"""Hands of fit.hand against the public table of ANSUR II, US Army 2012 (Gordon et al. 2014, NATICK/TR-15/007)."""

from __future__ import annotations

import csv

import numpy as np
import pytest

from marotte.creature.schema.people import Performer
from marotte.mech.fit.hand import breadth_of, hands_of
from tests.shared_data import shared_data

FILES = {"man": ("body/ANSUR_II_MALE_Public.csv", 4082), "woman": ("body/ANSUR_II_FEMALE_Public.csv", 1986)}


@pytest.mark.parametrize("sex", FILES)
def test_lines_are_the_least_squares_of_the_table(sex: str) -> None:
    """Tolerance: the digits printed, over the 0.5 m between the shortest and the tallest."""
    name, people = FILES[sex]
    with shared_data(name).open(encoding="latin-1", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == people
    table = hands_of(sex)
    assert str(people) in table.people
    stature = np.array([float(row["stature"]) for row in rows]) * 1e-3
    for column, (slope, start) in (
        ("handbreadth", table.breadth),
        ("handlength", table.length),
        ("palmlength", table.palm),
    ):
        values = np.array([float(row[column]) for row in rows]) * 1e-3
        wanted = np.polyval(np.polyfit(stature, values, 1), [1.5, 1.75, 2.0])
        np.testing.assert_allclose(slope * np.array([1.5, 1.75, 2.0]) + start, wanted, atol=2e-5)
        if column == "handbreadth":
            rest = values - (slope * stature + start)
            assert rest.std(ddof=2) == pytest.approx(table.scatter, rel=1e-3)


@pytest.mark.parametrize("sex, stature, mean", [("man", 1.7562, 88.3), ("woman", 1.6285, 78.2)])
def test_people_of_mean_stature_have_the_mean_breadth_of_the_report(sex: str, stature: float, mean: float) -> None:
    """Means as the report prints them: men 88.3, women 78.2 mm."""
    who = Performer(stature=stature, mass=70.0, sex=sex)
    assert breadth_of(who)[0] * 1e3 == pytest.approx(mean, abs=0.1)


def test_where_the_sex_is_unsaid_the_larger_hand_is_taken_and_said() -> None:
    breadth, where, spread = breadth_of(Performer(stature=1.7, mass=70.0))
    assert breadth == breadth_of(Performer(stature=1.7, mass=70.0, sex="man"))[0]
    assert "larger hand" in where
    assert "military" in where
    smaller, _, half = breadth_of(Performer(stature=1.7, mass=70.0, sex="woman"))
    assert breadth - spread == pytest.approx(smaller - half), "it may be as small as the smaller hands are"
    assert half == pytest.approx(1.96 * 3.387e-3)
    assert breadth_of(Performer(stature=1.7, mass=70.0, sex="man"))[2] == pytest.approx(1.96 * 3.882e-3)
