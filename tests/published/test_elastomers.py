"""Rubber: Gent's hardness relation, and the neo-Hookean strip; data and their standing in elastomers.json."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from marotte.creature.schema.skins import Strip
from marotte.creature.shelf import shelf
from marotte.mech.skin import gent_modulus, neo_hookean, strip_force

BOOK = json.loads((Path(__file__).parent / "elastomers.json").read_text())


def test_gents_modulus_over_the_hardness_scale():
    for shore, e_mpa in zip(BOOK["gent"]["shore_a"], BOOK["gent"]["e_mpa"], strict=True):
        assert gent_modulus(shore) * 1e-6 == pytest.approx(e_mpa, rel=BOOK["gent"]["tolerance_rel"])


@pytest.mark.parametrize("shore", [-5.0, 0.0, 100.0, 120.0])
def test_gents_modulus_is_refused_at_its_pole_and_beyond(shore):
    with pytest.raises(ValueError, match="Shore A"):
        gent_modulus(shore)


def test_uniaxial_stress_follows_the_table():
    book = BOOK["neo_hookean"]
    found = neo_hookean(np.array(book["ratio"]), book["mu_mpa"])
    assert found == pytest.approx(book["nominal_mpa"], abs=book["tolerance_mpa"])


def test_a_strip_is_that_stress_over_its_section():
    book, stock = BOOK["neo_hookean"], shelf("2026-1")
    stuff = stock.skins["silicone_00_50"].model_copy(update={"modulus": book["mu_mpa"] * 1e6})
    strip = Strip(material="silicone_00_50", thickness=0.004, width=0.080, length=0.045)
    ratio = np.array(book["ratio"])
    found = strip_force(strip, stuff, stock.backings["none"], (ratio - 1.0) * strip.length, pushes=False)
    assert found == pytest.approx(np.array(book["nominal_mpa"]) * 1e6 * 0.004 * 0.080, rel=1e-4)


def test_the_small_strain_slope_is_three_mu():
    step = 1e-6
    slope = (neo_hookean(np.array([1.0 + step]), 1.0) - neo_hookean(np.array([1.0 - step]), 1.0)) / (2 * step)
    assert slope[0] == pytest.approx(3.0, rel=1e-6)
