"""``marotte check`` and ``why`` on the example: exit codes, text for people, one object for machines."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from marotte.cli.commands import COMMANDS

ROOT = Path(__file__).resolve().parents[2]
TANSY = ROOT / "examples" / "tansy"
Run = Callable[..., object]


@pytest.fixture(scope="module")
def told() -> dict[str, object]:
    """The JSON object of the example, from a process of its own: standard output holds nothing else."""
    done = subprocess.run(
        [sys.executable, "-m", "marotte.cli.main", "check", str(TANSY), "--json"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1, done.stderr
    return json.loads(done.stdout)


def test_the_object_is_valid_by_its_published_schema(told: dict[str, object]) -> None:
    schema = json.loads((ROOT / "docs" / "reference" / "verdict.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    assert list(Draft202012Validator(schema).iter_errors(told)) == []


def test_the_shipped_mistakes_are_found(told: dict[str, object]) -> None:
    grades = {finding["id"]: finding["grade"] for finding in told["findings"]}
    assert grades["jaw.drive"] == "fails"  # sized with the skin off, sculpted mouth shut
    assert (
        grades["lid_upper_left.mech"] == grades["lid_upper_right.mech"] == "fails"
    )  # clocked square with the eye open
    assert "fails" in (grades["ear_lift_left.drive"], grades["ear_lift_right.drive"])  # ears chosen on weight
    assert grades["eye_left.mech"] == "performs"


def test_a_check_changes_nothing_and_says_where_it_stands(tmp_path: Path, marotte: Run) -> None:
    folder = tmp_path / "tansy"
    shutil.copytree(TANSY, folder)
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    ran = marotte("check", folder)
    assert ran.code == 1
    assert ran.out.splitlines()[0] == "Tansy"
    assert ran.out.splitlines()[1].startswith("Does not perform")
    assert "jaw.drive" in ran.out
    assert "\x1b" not in ran.out  # no colour into a pipe
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_columns_of_piped_findings_stand_under_each_other(marotte: Run) -> None:
    lines = marotte("check", TANSY).out.splitlines()
    head = next(line for line in lines if line.startswith("finding") and "needs" in line)
    row = next(line for line in lines[lines.index(head) :] if line.startswith("jaw.drive"))
    assert row[head.index("needs") + len("needs") - 1] != " "
    assert row[head.index("needs") + len("needs")] == " "


def test_why_opens_a_working_that_ends_on_the_findings_number(told: dict[str, object], marotte: Run) -> None:
    ran = marotte("why", TANSY, "jaw.drive")
    assert ran.code == 0
    assert ran.out.startswith("jaw.drive: ")
    assert "creature.yaml:" in ran.out  # a step leads to a line of the file
    assert "docs/methods" in ran.out
    finding = next(item for item in told["findings"] if item["id"] == "jaw.drive")
    assert any(step["result"] == pytest.approx(finding["needed"]["value"]) for step in finding["working"])


def test_why_offers_the_nearest_name(marotte: Run) -> None:
    ran = marotte("why", TANSY, "jaw.drvie")
    assert ran.code == 2
    assert "did you mean jaw.drive?" in ran.err


def test_strict_is_1_where_something_is_unknown_and_0_without_it(tmp_path: Path, marotte: Run) -> None:
    marotte("new", tmp_path / "hen", "--kind", "screen")
    text = (tmp_path / "hen" / "creature.yaml").read_text(encoding="utf-8")
    counts = json.loads(marotte("check", tmp_path / "hen", "--json").out)["counts"]
    assert counts["fails"] == 0, text
    assert marotte("check", tmp_path / "hen").code == 0
    assert marotte("check", tmp_path / "hen", "--strict").code == (1 if counts["unknown"] else 0)


def test_bad_input_for_machines_is_one_object_with_places(tmp_path: Path, marotte: Run) -> None:
    (tmp_path / "creature.yaml").write_text("marotte: 1\nstock: 2026-1\nname: X\nfunctions: {jaw: {part: jow}}\n")
    ran = marotte("check", tmp_path, "--json")
    assert ran.code == 2
    faults = json.loads(ran.out)["faults"]
    assert faults
    assert all(fault["line"] == 4 and fault["file"] == "creature.yaml" for fault in faults)


def test_help_loads_nothing_heavy_and_names_every_command() -> None:
    code = (
        "import sys; from marotte.cli.main import main; code = main(['--help'])\n"
        "heavy = {'numpy', 'numba', 'scipy', 'pydantic', 'ruamel', 'rich', 'pocketsphinx'} & set(sys.modules)\n"
        "assert code == 0 and not heavy, heavy"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    for name in COMMANDS:
        assert f"    {name} " in done.stdout


def test_an_error_of_our_own_is_one_sentence_and_no_traceback(
    tmp_path: Path, marotte: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(folder: Path) -> None:
        raise ZeroDivisionError("a\nb")

    monkeypatch.setattr("marotte.creature.load.open_tree", broken)
    ran = marotte("check", TANSY)
    assert ran.code == 2
    assert "Marotte itself failed (ZeroDivisionError: a b)." in ran.err
    assert "Traceback" not in ran.err + ran.out
    with pytest.raises(ZeroDivisionError):
        marotte("check", TANSY, "--debug")


def test_the_keyboard_stops_it_without_a_traceback(marotte: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(folder: Path) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("marotte.creature.load.open_tree", stopped)
    ran = marotte("check", TANSY)
    assert (ran.code, ran.err) == (130, "Stopped.\n")


def test_a_closed_pipe_is_not_an_error() -> None:
    done = subprocess.run(
        f"{sys.executable} -m marotte.cli.main --help | head -1; exit ${{PIPESTATUS[0]}}",
        shell=True, executable="/bin/bash", capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0
    assert "Traceback" not in done.stderr


def test_what_settles_a_pair_is_printed_once_below_the_table(marotte: Run) -> None:
    ran = marotte("check", TANSY)
    tests = [line for line in ran.out.splitlines() if line.startswith("To settle ")]
    assert any(line.startswith("To settle lid_upper_left/right.drive: Mark the horn") for line in tests)
    assert len(set(tests)) == len(tests)
    assert any(line == "To settle ear_lift_right.drive, two tests, what moves it most first:" for line in tests)
    numbered = [line[:3] for line in ran.out.splitlines() if line[:3] in ("1. ", "2. ", "3. ")]
    assert numbered == ["1. ", "2. "]
    assert "≤ 2.2 kg" in ran.out  # what must not be exceeded is marked so


def test_why_takes_the_names_that_check_prints_and_offers_what_there_is(marotte: Run) -> None:
    assert marotte("why", TANSY, "lid_upper_left/right.mech").out.startswith("lid_upper_left.mech: ")
    assert marotte("why", TANSY, "lid_upper.mech").out.startswith("lid_upper_left.mech: ")
    ran = marotte("why", TANSY, "jaw")
    assert ran.code == 2
    assert "about jaw there are jaw.drive, jaw.heat" in ran.err


def test_a_working_says_what_nobody_has_measured(tmp_path: Path, marotte: Run) -> None:
    marotte("new", tmp_path / "hen")
    out = marotte("why", tmp_path / "hen", "jaw.drive").out
    assert "140 g, unsaid: a guess (creature.yaml:" in out
    assert "60 mm/rad, as drawn (creature.yaml:" in out
    assert "measured" not in out.replace("source: measured", "")


def test_one_reason_behind_many_unknowns_is_told_once_and_in_the_standing_line(tmp_path: Path, marotte: Run) -> None:
    marotte("new", tmp_path / "hen")
    file = tmp_path / "hen" / "creature.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("cue: HEN", "cue: HNE"), encoding="utf-8")
    lines = marotte("check", tmp_path / "hen").out.splitlines()
    assert "because nobody in the script has the cue 'HNE'" in lines[1]
    told = [line for line in lines[2:] if "Nobody in the script has the cue 'HNE'" in line]
    assert len(told) == 1
    assert "jaw.drive, lid_upper_left/right.drive" in told[0]
    assert any("Try: HEN" in line for line in lines)


def test_a_look_at_what_no_place_is_named_for_is_told(tmp_path: Path, marotte: Run) -> None:
    marotte("new", tmp_path / "hen")
    file = tmp_path / "hen" / "creature.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace(", door: {at: [1.4 m, 0.1 m, 1.2 m]}", ""), encoding="utf-8")
    ran = marotte("check", tmp_path / "hen")
    assert "looks at 'door', which brief > looks does not name; it names: lens" in ran.out
    # and eyes that only drift a degree, inside their play, have no lag to be judged by
    assert ".lag" not in ran.out.split("Cautions")[0]


def test_who_decides_is_said_once_after_all_cautions(marotte: Run) -> None:
    ran = marotte("check", TANSY)
    assert ran.out.count("a competent person decide") == 1


def test_where_nothing_helps_what_was_tried_is_said(tmp_path: Path, marotte: Run) -> None:
    text = (ROOT / "examples/tansy/creature.yaml").read_text(encoding="utf-8")
    assert "cost: 6000 EUR, hours: 900 h" in text
    (tmp_path / "creature.yaml").write_text(text.replace("cost: 6000 EUR, hours: 900 h", "cost: 200 EUR, hours: 120 h"))
    (tmp_path / "script.fountain").write_bytes((ROOT / "examples/tansy/script.fountain").read_bytes())
    said = " ".join(marotte("check", tmp_path, "--remedies").out.split())
    assert "What helps limits.cost - nothing: it was tried to take mini servos in place of 6 x mini fast" in said
    assert "What helps limits.hours - nothing that is known here" in said
