"""A file with faults: each is told with its place, and what does not hang on it is reported all the same."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from marotte.verdict.publish import json_schema
from tests.verdict.conftest import SMALL, small_folder

Run = Callable[..., object]
SHEET = "      - {at: 7.4 V, stall: 1.3 N*m, free: 0.12 s/60deg, stall_current: 2.9 A, source: datasheet}\n"
FOLDED = """\
    measured:
      - {at: 6 V, torque: 0 N*m, speed: 400 deg/s, current: 0.2 A}
      - {at: 6 V, torque: 0.2 N*m, speed: 300 deg/s, current: 0.6 A}
      - {at: 6 V, torque: 0.25 N*m, speed: 350 deg/s, current: 0.5 A}
"""
TWICE = """\
  extra: {kind: tee_bar, moves: [jaw], shares: [100 %], means: {kind: servo, model: mini, lead: face}, horn: 10 mm, rod: 30 mm}
  eye:
    kind: two_rod_gimbal"""
CASES = {
    "a negative length": ("horn: 14 mm", "horn: -14 mm", "functions > jaw > mech > horn", "above 0 mm", "functions > jaw"),
    "a free speed of zero": ("free: 0.15 s/60deg", "free: 0 deg/s", "points > 0 > free", "above 0 deg/s", "servos > jaw_servo"),
    "a supply that comes back to itself": ("fed_by: battery", "fed_by: face", "trunk > fed_by", "feed one of them", "trunk > fed_by"),
    "a servo that no lead feeds": ("jaw_servo, lead: face", "jaw_servo, lead: nose", "means > lead", "face, trunk", "functions > jaw"),
    "a bench test that folds back": (SHEET, SHEET + FOLDED, "measured > 2", "folds back at 0.25", "servos > jaw_servo"),
    "a function moved twice": ("  eye:\n    kind: two_rod_gimbal", TWICE, "functions > jaw", "moved twice", "functions > jaw"),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_every_other_function_is_still_reported(case: str, tmp_path: Path, marotte: Run) -> None:
    written, becomes, where, what, left_out = CASES[case]
    assert written in SMALL
    ran = marotte("check", small_folder(tmp_path, SMALL.replace(written, becomes, 1)), "--all")
    assert ran.code == 2
    assert where in ran.err
    assert what in ran.err
    assert left_out in ran.out.splitlines()[0]
    assert "poses" not in ran.out.splitlines()[0]
    assert "lid_upper_left/right.drive" in ran.out
    assert "ear_lift_left/right.mech" in ran.out


@pytest.mark.parametrize("case", ["a negative length", "a servo that no lead feeds"])
def test_machines_get_the_same_findings_as_people_beside_the_faults(case: str, tmp_path: Path, marotte: Run) -> None:
    written, becomes, where, _, left_out = CASES[case]
    folder = small_folder(tmp_path, SMALL.replace(written, becomes, 1))
    ran, said = marotte("check", folder, "--json"), marotte("check", folder, "--all")
    assert ran.code == 2
    assert where in ran.err
    told = json.loads(ran.out)
    Draft202012Validator(json_schema()).validate(told)
    assert told["faults"][0]["path"].replace("/", " > ").endswith(where)
    assert told["left_out"][0] == "/" + left_out.replace(" > ", "/")
    ids = {finding["id"] for finding in told["findings"]}
    assert {"lid_upper_left.drive", "lid_upper_right.drive", "ear_lift_left.mech"} <= ids
    assert not any(name.startswith("jaw.") for name in ids)
    assert f"{told['counts']['performs']} performs" in said.out


def test_a_linkage_that_cannot_close_is_a_finding_and_the_others_are_reported(tmp_path: Path, marotte: Run) -> None:
    ran = marotte("check", small_folder(tmp_path, SMALL.replace("rod: 62 mm", "rod: 16 mm")), "--all")
    assert ran.code == 1
    assert "a rod between 53.7 and" in ran.out
    assert "lid_upper_left/right.drive" in ran.out


def test_where_nothing_is_left_only_the_faults_are_told(tmp_path: Path, marotte: Run) -> None:
    ran = marotte("check", small_folder(tmp_path, SMALL.replace("seed: 3", "seed: three")))
    assert (ran.code, ran.out) == (2, "")
    assert "seed" in ran.err
    told = json.loads(marotte("check", tmp_path, "--json").out)
    assert list(told) == ["faults"]
    Draft202012Validator(json_schema()).validate(told)
