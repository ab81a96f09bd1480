"""What a builder would say of the three examples (docs/handbook/tansy.md) is held against what the tool says."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "handbook" / "tansy.md"
WORDS = "fails?|performs|only just|undecided|unknown|not applicable"
GRADES = {"fail": "fails"}
SHORT = ("fails", "undecided", "only_just", "unknown")
Run = Callable[..., Any]


def expected(name: str) -> dict[str, str]:
    """Return the findings that the page's tables name for a creature, with the grade that it gives each."""
    section = next(part for part in PAGE.read_text(encoding="utf-8").split("\n## ") if part.lower().startswith(name))
    found: dict[str, str] = {}
    for line in section.splitlines():
        if line.startswith("|"):
            for codes, grade in re.findall(rf"((?:`[a-z_]+(?:\.[a-z_]+)?`(?:, )?)+) ({WORDS})\b", line):
                found.update(dict.fromkeys(re.findall(r"`([^`]+)`", codes), GRADES.get(grade, grade.replace(" ", "_"))))
    return found


@pytest.mark.parametrize(("name", "least"), [("tansy", 16), ("pip", 4), ("colm", 12)])
def test_the_tool_says_what_a_builder_would_say(name: str, least: int, marotte: Run) -> None:
    """Of what the page names, grade by grade; and it names everything that does not perform."""
    wanted = expected(name)
    assert len(wanted) >= least
    told = json.loads(marotte("check", ROOT / "examples" / name, "--json").out)
    grades = {finding["id"]: finding["grade"] for finding in told["findings"]}
    assert {code: grades.get(code) for code in wanted} == wanted
    short = {code: grade for code, grade in grades.items() if grade in SHORT}
    assert {code: grade for code, grade in wanted.items() if grade in SHORT} == short


def test_tansy_fails_in_nothing_that_the_page_does_not_say(marotte: Run) -> None:
    """What fails are the three mistakes, and the slop of a lid, which is that of its clocking."""
    told = json.loads(marotte("check", ROOT / "examples" / "tansy", "--json").out)
    fails = {finding["id"] for finding in told["findings"] if finding["grade"] == "fails"}
    mistakes = {"jaw.drive", "ear_lift_left.drive", "lid_upper_left.mech", "lid_upper_right.mech"}
    assert fails == mistakes | {"lid_upper_left.slop", "lid_upper_right.slop"}
    assert fails == {code for code, grade in expected("tansy").items() if grade == "fails"}


def test_mistake_a_is_the_skin_and_not_the_jaw(tmp_path: Path, marotte: Run) -> None:
    """Bare, it "moves like a dream": the same jaw without its skin performs."""
    text = (ROOT / "examples" / "tansy" / "creature.yaml").read_text(encoding="utf-8")
    start = text.index("  chin: # two cheeks")
    bare = text[:start] + text[text.index("  corner:\n", start) :]
    (tmp_path / "creature.yaml").write_text(bare, encoding="utf-8")
    (tmp_path / "script.fountain").write_bytes((ROOT / "examples" / "tansy" / "script.fountain").read_bytes())
    told = json.loads(marotte("check", tmp_path, "--json").out)
    grades = {finding["id"]: finding["grade"] for finding in told["findings"]}
    assert grades["jaw.drive"] in ("performs", "undecided")
    assert grades["jaw.hold"] == "performs"


def test_tansys_first_line_has_a_place_for_each_of_her_three_mistakes(marotte: Run) -> None:
    """Angle and slop of a lid follow from one clocking: they share a place, the angle first, and none of the three is "1 more"."""
    line = json.loads(marotte("check", ROOT / "examples" / "tansy", "--json").out)["summary"]
    places = line.partition(": ")[2].split("; ")
    assert [next(word for word in ("jaw", "lid", "ear") if word in place) for place in places[:3]] == [
        "jaw",
        "lid",
        "ear",
    ]
    assert re.search(r"meets its arm at .* and each upper lid has .* of slop", places[1])
    assert "inputs are" in places[3]


def test_what_fails_stands_worst_first(marotte: Run) -> None:
    text = marotte("check", ROOT / "examples" / "tansy").out
    table = text[text.index("fails\n") : text.index("undecided\n")]
    margins = [int(margin) for margin in re.findall(r" (-\d+) % ", table)]
    assert len(margins) >= 4
    assert margins == sorted(margins)
