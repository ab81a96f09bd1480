"""What sentences of the verdict say beside their number."""

from __future__ import annotations

import shutil
from pathlib import Path

from marotte.basis.contracts.common import Quantity
from marotte.creature.load import load
from marotte.verdict.cells import Cache
from marotte.verdict.check import check, examine, to_json

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def test_play_that_a_spring_or_skin_takes_up_is_said_and_lag_says_the_links_share() -> None:
    sentences = {finding.id: finding.sentence for finding in check(load(EXAMPLES / "colm"), Cache()).findings}
    assert "its spring keeps it on one side" in sentences["jaw.slop"]
    assert "its skin keeps it on one side" in sentences["muzzle_lift.slop"]
    assert "on one side" not in sentences["ear_lift_left.slop"]
    assert "20 ms of it in the radio link" in sentences["jaw.lag"]


def test_servos_of_a_head_on_the_shoulders_warm_its_skull() -> None:
    found = {finding.id: finding for finding in check(load(EXAMPLES / "colm"), Cache()).findings}["skull.heat"]
    assert isinstance(found.has, Quantity)
    assert found.has.value > 0.0
    assert " 0 W" not in found.sentence


def test_only_a_torque_under_what_counts_is_called_next_to_nothing() -> None:
    sentences = {finding.id: finding.sentence for finding in check(load(EXAMPLES / "tansy"), Cache()).findings}
    assert "next to nothing" in sentences["nose.drive"]
    assert "next to nothing" not in sentences["jaw.drive"]
    assert "400 deg/s unloaded" in sentences["jaw.drive"]


def test_a_creature_with_fixed_eyes_looks_with_its_head() -> None:
    found = {finding.id: finding for finding in check(load(EXAMPLES / "pip"), Cache()).findings}["eyes.look"]
    assert found.grade == "performs"
    assert found.sentence == "All 8 looks come off."


def test_a_beak_is_never_judged_by_lip_shapes(tmp_path: Path) -> None:
    shutil.copytree(EXAMPLES / "pip", tmp_path / "pip")
    file = tmp_path / "pip" / "creature.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("speech: flap", "speech: lips"), encoding="utf-8")
    found = {finding.id: finding for finding in check(load(tmp_path / "pip"), Cache()).findings}
    assert found["speech.closures"].grade == "not_applicable"
    assert found["speech.hits"].grade == "performs"


def test_a_part_later_than_can_be_looked_for_is_said_to_be_more_than_that(tmp_path: Path) -> None:
    """Ears on servos of 30 deg/s: no delay that is tried is as long as theirs, so that what is told is a bound."""
    text = (EXAMPLES / "tansy" / "creature.yaml").read_text(encoding="utf-8")
    shutil.copytree(EXAMPLES / "tansy", tmp_path / "tansy")
    slow = text.replace("free: 0.12 s/60deg, stall_current: 0.75 A", "free: 2 s/60deg, stall_current: 0.75 A")
    assert slow != text
    (tmp_path / "tansy" / "creature.yaml").write_text(slow, encoding="utf-8")
    done = examine(load(tmp_path / "tansy"), Cache())
    found = {finding.id: finding for finding in done.verdict.findings}["ear_lift_left.lag"]
    assert found.grade == "fails"
    assert isinstance(found.has, Quantity)
    assert found.has.more
    assert "more than 350 ms behind" in found.sentence
    assert "that or more" in done.workings["ear_lift_left.lag"].steps[-1].meaning
    told = to_json(done.verdict, done.workings, {})["findings"]
    assert [item["id"] for item in told if item["has"].get("more")] == ["ear_lift_left.lag", "ear_lift_right.lag"]
