"""Lid shells: against the eye, and against each other where the part shuts them most."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.finding import Finding
from marotte.creature.load import load
from marotte.verdict.check import Examined, examine

LOWER = """\
  lid_lower:
    sides: both
    part: lid_lower
    travel: [0 deg, 16 deg]
    tells_at: {point: lid edge, arm: 21.7 mm}
    means: {kind: servo, model: micro, lead: eyes}
    mech: {kind: four_bar, horn: 6 mm, rod: 34 mm, arm: 12 mm, ground: 35 mm, branch: open, arm_at_neutral: 94 deg}
    load: {mass: 4 g, friction: 0.002 N*m, shell: {inner: LOW mm, thickness: 1.2 mm, edge: 30 deg}}
  eye_turn: {sides"""


def lids(folder: Path, edge: str = ", edge: 48 deg", upper: float = 20.5, lower: float = 20.5) -> Examined:
    text = SMALL.replace("  eye_turn: {sides", LOWER.replace("LOW", str(lower)), 1)
    bare = "load: {mass: 6 g, centre: [0 mm, 8 mm, 11 mm], friction: 0.002 N*m}"
    assert bare in text
    text = text.replace(bare, bare[:-1] + f", shell: {{inner: {upper} mm, thickness: 1.2 mm{edge}}}}}")
    return examine(load(small_folder(folder, text)))


def finding(found: Examined, name: str = "lid_upper_left") -> Finding:
    return next(item for item in found.verdict.findings if item.id == f"{name}.clearance")


def test_lids_that_just_meet_perform_and_the_gap_is_that_of_the_asked_blink(tmp_path: Path) -> None:
    """48 and 30 degrees of edge, 62 and 16 of blink: nothing is left between them, by hand."""
    found = lids(tmp_path)
    rows = [found.results.demand.motion.row(name) for name in ("lid_upper_left", "lid_lower_left")]
    most = float((rows[0] + rows[1]).max())
    assert most == pytest.approx(np.deg2rad(62 + 16), abs=np.deg2rad(0.5))
    steps = {step.symbol: step.result for step in found.workings["lid_upper_left.clearance"].steps}
    assert steps["g"] == pytest.approx((np.deg2rad(78) - most) * 21.7e-3, abs=1e-6)
    assert finding(found).grade == "performs"
    assert finding(found).has.value == pytest.approx(0.5e-3)
    assert "the lids meet" in finding(found).sentence


def test_lids_that_are_asked_into_each_other_fail_with_how_far_and_when(tmp_path: Path) -> None:
    """38 degrees instead of 48: 10 degrees at 21.7 mm are 3.8 mm."""
    for name in ("lid_upper_left", "lid_lower_right"):
        struck = finding(lids(tmp_path / name, ", edge: 38 deg"), name)
        assert struck.grade == "fails"
        assert "3.8 mm into each other at 0:" in struck.sentence


def test_a_lid_may_slide_under_the_other(tmp_path: Path) -> None:
    found = finding(lids(tmp_path, ", edge: 38 deg", upper=22.2))
    assert found.grade == "performs"
    assert "one under the other with 0.5 mm" in found.sentence


def test_without_written_edges_nothing_is_claimed_of_the_two(tmp_path: Path) -> None:
    found = finding(lids(tmp_path, ""))
    assert found.grade == "performs"
    assert "not known" in found.sentence


def test_without_a_part_the_ends_of_the_travels_are_taken(tmp_path: Path) -> None:
    creature = lids(tmp_path, ", edge: 38 deg").results.creature
    silent = replace(creature, script_text=None, brief=creature.brief.model_copy(update={"script": None}))
    struck = next(item for item in examine(silent).verdict.findings if item.id == "lid_upper_left.clearance")
    assert "3.8 mm into each other:" in struck.sentence
