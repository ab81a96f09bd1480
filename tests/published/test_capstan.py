"""Friction of a wire round bends; data and their standing in capstan.json."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from marotte.creature.shelf import shelf
from marotte.mech.wire import capstan

BOOK = json.loads((Path(__file__).parent / "capstan.json").read_text())


@pytest.mark.parametrize("friction", list(BOOK["rows"]))
def test_the_pull_left_after_a_wrap(friction):
    for wrap, left in zip(BOOK["wrap_deg"], BOOK["rows"][friction], strict=True):
        assert capstan(float(friction), math.radians(wrap)) == pytest.approx(left, abs=BOOK["tolerance"])


def test_the_hawser_on_the_bollard():
    book = BOOK["hawser"]
    assert book["with_n"] / capstan(book["friction"], book["turns"] * 2 * math.pi) == pytest.approx(7500, rel=1e-4)
    assert 150 / capstan(book["friction"], 3 * 2 * math.pi) == pytest.approx(book["three_turns_hold_n"], rel=1e-4)


def test_ropes_of_the_stock_break_where_the_handbook_says():
    # FAA AC 43.13-1B, table 7-3, stainless: 1/32 in 3x7 110 lbf, 3/64 in 7x7 270 lbf, 1/16 in 7x7 480 lbf
    wires = shelf("2026-1").wires
    for name, pounds in (("rope_0p8", 110), ("rope_1p2", 270), ("rope_1p6", 480)):
        assert wires[name].breaks_at == pytest.approx(pounds * 4.44822, rel=0.002)


def test_a_rope_of_one_sixteenth_stretches_by_a_millimetre_and_a_half():
    # 1.587 mm, 1 m, 100 N: 57 GPa on 0.471 d^2 (both from memory) give 1.48 mm
    assert 100.0 / shelf("2026-1").wires["rope_1p6"].pull * 1e3 == pytest.approx(1.48, abs=0.02)
