"""A skin measured less far than the part draws it: what lies past its table is a guess, and the finding says so."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from marotte.basis.contracts.finding import Finding
from marotte.creature.load import load
from marotte.verdict.check import examine

COLM = Path(__file__).parents[2] / "examples" / "colm"
STRIP = "strip: {material: stretch_fur, thickness: 2 mm, width: 120 mm, length: 120 mm, backing: none}"


def jaw(folder: Path, rows: str) -> Finding:
    """Return the drive of a jaw whose throat was measured."""
    shutil.copytree(COLM, folder)
    text = (folder / "creature.yaml").read_text(encoding="utf-8")
    assert STRIP in text
    measured = "curve: measured/throat.csv\n    source: measured"
    (folder / "creature.yaml").write_text(text.replace(STRIP, measured), encoding="utf-8")
    (folder / "measured").mkdir()
    (folder / "measured" / "throat.csv").write_text(f"stretch [mm],force [N]\n{rows}", encoding="utf-8")
    return next(one for one in examine(load(folder)).verdict.findings if one.id == "jaw.drive")


def test_what_lies_past_a_measured_table_can_carry_the_grade_and_the_test_says_how_far_to_pull(tmp_path: Path) -> None:
    short = jaw(tmp_path / "short", "0,0\n1,3\n")
    assert short.grade == "undecided"
    assert "pull of throat past the end of its table" in short.sentence
    told = [one for one in short.settle if "measured/throat.csv" in one.test]
    assert len(told) == 1
    assert "34.6 mm" in told[0].test


@pytest.mark.parametrize("rows", ["0,0\n12,5\n24,10\n36,15\n", "0,0\n36,15\n"])
def test_a_table_as_far_as_the_part_goes_leaves_no_guess_in_it(tmp_path: Path, rows: str) -> None:
    whole = jaw(tmp_path / "whole", rows)
    assert "past the end of its table" not in whole.sentence
    assert not [one for one in whole.settle if "throat" in one.test]
