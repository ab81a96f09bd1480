"""``marotte plan``, ``check --remedies`` and ``script``: what they promise holds when it is carried out."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from marotte.cli.main import main

ROOT = Path(__file__).resolve().parents[2]
TANSY = ROOT / "examples" / "tansy"
Run = Callable[..., object]


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, int]:
    """A copy of Tansy on which the plan was carried out, and the exit code of the plan."""
    folder = tmp_path_factory.mktemp("planned") / "tansy"
    shutil.copytree(TANSY, folder)
    return folder, main(["plan", str(folder), "--apply"])


def test_the_plan_carried_out_makes_her_perform(planned: tuple[Path, int], marotte: Run) -> None:
    folder, code = planned
    ran = marotte("check", folder, "--json")
    counts = json.loads(ran.out)["counts"]
    assert code == ran.code == (1 if counts["fails"] else 0)
    assert counts["fails"] == 0


def test_the_plan_keeps_comments_and_changes_no_more_than_it_says(planned: tuple[Path, int]) -> None:
    before = (TANSY / "creature.yaml").read_text(encoding="utf-8").splitlines()
    after = (planned[0] / "creature.yaml").read_text(encoding="utf-8").splitlines()
    gone = [line for line in before if line not in after]
    assert 0 < len(gone) <= 8
    assert [line for line in before if line.lstrip().startswith("#")] == [
        line for line in after if line.lstrip().startswith("#")
    ]
    assert any("arm_at_neutral: 104 deg" in line for line in gone)  # the lid is re-clocked: that costs nothing


def test_a_plan_that_is_not_asked_to_write_writes_nothing(tmp_path: Path, marotte: Run) -> None:
    marotte("new", tmp_path / "hen", "--kind", "screen")
    before = {path.name: path.read_bytes() for path in (tmp_path / "hen").iterdir()}
    ran = marotte("plan", tmp_path / "hen")
    assert ran.code == 0
    assert "nothing to change" in ran.out
    assert {path.name: path.read_bytes() for path in (tmp_path / "hen").iterdir()} == before


def test_the_part_has_its_lines_scenes_and_directions(marotte: Run) -> None:
    ran = marotte("script", TANSY)
    assert ran.out.startswith("Tansy, called TANSY in the script\n")
    assert "MOOR END POST OFFICE" in ran.out
    assert "looks at letter" in ran.out
    part = json.loads(marotte("script", TANSY, "--json").out)
    assert len(part["lines"]) == (TANSY / "script.fountain").read_text(encoding="utf-8").count("\nTANSY\n")
    assert part["seconds"] > 120
    assert ran.code == (1 if part["too_much"] else 0)


@pytest.mark.parametrize("name", ["tansy", "pip", "colm"])
def test_every_example_plays_for_two_minutes_and_keeps_still_for_two_seconds(name: str, marotte: Run) -> None:
    part = json.loads(marotte("script", ROOT / "examples" / name, "--json").out)
    assert part["seconds"] >= 118
    text = (ROOT / "examples" / name / "script.fountain").read_text(encoding="utf-8")
    assert "keeps still for two seconds" in text
    assert not [told for told in part["told"] if told["code"] in ("not_understood", "no_such_look")]


def test_a_creature_without_a_script_says_so(tmp_path: Path, marotte: Run) -> None:
    marotte("new", tmp_path / "hen")
    path = tmp_path / "hen" / "creature.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("  script: script.fountain\n", ""), encoding="utf-8")
    ran = marotte("script", tmp_path / "hen")
    assert ran.code in (0, 2)
    assert "script" in ran.out + ran.err
    assert "Traceback" not in ran.err
