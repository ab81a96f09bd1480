"""Structural changes: what each writes, that it reads back, and that it does what it is for."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.finding import Finding
from marotte.creature.edit import apply
from marotte.creature.load import build, open_tree
from marotte.creature.tree import dump
from marotte.mech.loads import gravity_force
from marotte.verdict.cells import Cache
from marotte.verdict.check import Examined, examine
from marotte.verdict.remedies.proposal import Case, Proposal
from marotte.verdict.remedies.screen import requirement_of
from marotte.verdict.remedies.structural import GENERATORS, proposals


def case_of(examined: Examined, folder: Path, finding: str, mechs: tuple[str, ...] = ()) -> Case:
    item = next(one for one in examined.verdict.findings if one.id == finding)
    return Case(
        creature=examined.results.creature, results=examined.results, tree=open_tree(folder), finding=item, mechs=mechs,
        performs=requirement_of(item, examined.results.creature).thresholds.performs,
    )  # fmt: skip


def by(found: tuple[Proposal, ...], words: str) -> list[Proposal]:
    return [one for one in found if words in one.says]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_folder(tmp_path_factory.mktemp("structural") / "moss")


@pytest.fixture(scope="module")
def standing(folder: Path) -> Examined:
    return examine(build(open_tree(folder), folder), Cache())


def subjects(examined: Examined) -> list[tuple[Finding, tuple[str, ...]]]:
    mechs = examined.results.creature.mechs
    return [
        (item, tuple(name for name, mech in mechs.items() if item.about == name or item.about in mech.outputs))
        for item in examined.verdict.findings
    ]


def test_every_proposal_reads_back_is_taken_back_whole_and_leaves_the_limits_alone(
    folder: Path, standing: Examined
) -> None:
    tree = open_tree(folder)
    before = dump(tree)
    seen = set()
    for item, mechs in subjects(standing):
        for one in proposals(case_of(standing, folder, item.id, mechs)):
            if one.says in seen:
                continue
            seen.add(one.says)
            back = apply(tree, one.edits)
            build(tree, folder)
            apply(tree, back)
            assert all(not edit.path.startswith("/limits") for edit in one.edits)
            assert one.cost > 0.0
    assert dump(tree) == before
    assert len(seen) >= len(GENERATORS)


def test_a_second_servo_doubles_the_torque_that_a_mechanism_has(folder: Path, standing: Examined) -> None:
    tree = open_tree(folder)
    (second,) = by(proposals(case_of(standing, folder, "jaw.drive", ("jaw",))), "put a second")
    apply(tree, second.edits)
    after = examine(build(tree, folder), standing.results.cache)
    now = {row.name: row for row in standing.results.model.drives}["jaw"]
    then = {row.name: row for row in after.results.model.drives}["jaw"]
    assert then.count == 2 * now.count
    item = next(one for one in after.verdict.findings if one.id == "jaw.hold")
    before = next(one for one in standing.verdict.findings if one.id == "jaw.hold")
    assert item.has.value == pytest.approx(0.5 * before.has.value, rel=1e-6)  # type: ignore[union-attr]


def test_a_balance_spring_takes_the_middle_of_what_a_function_bears(tmp_path: Path) -> None:
    text = SMALL.replace(", spring: {rate: 0.01 N*m/rad, slack_at: 0 deg}", "").replace(
        "centre: [0 mm, 80 mm, 0 mm]", "centre: [0 mm, 30 mm, 80 mm]"
    )
    folder = small_folder(tmp_path / "droops", text)
    standing = examine(build(open_tree(folder), folder), Cache())
    whole = by(proposals(case_of(standing, folder, "ear_lift_left.drive", ("ear_lift_left",))), "balance spring")[-1]
    tree = open_tree(folder)
    apply(tree, whole.edits)
    after = examine(build(tree, folder), Cache())
    level = (0.0, -9.80665, 0.0)
    old, new = (one.results.mechs.loads["ear_lift_left"] for one in (standing, after))
    before, then = gravity_force(old, level), gravity_force(new, level) + new.spring
    assert np.abs(then).max() < 0.6 * np.abs(before).max()
    assert {edit.path for edit in whole.edits} == {"/functions/ear_lift/load/spring"}  # once for both ears


def test_slower_and_plainer_speech_is_proposed_for_the_mouth_and_not_for_the_ears(
    folder: Path, standing: Examined
) -> None:
    mouth = proposals(case_of(standing, folder, "jaw.drive", ("jaw",)))
    assert by(mouth, "speak slower")
    assert by(mouth, "flap instead of hits")
    assert not by(proposals(case_of(standing, folder, "ear_lift_left.drive", ("ear_lift_left",))), "speak slower")


def test_a_pack_that_is_too_small_grows_by_what_is_missing(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "flat", SMALL.replace("capacity: 2200 mAh", "capacity: 40 mAh"))
    tree = open_tree(folder)
    standing = examine(build(tree, folder), Cache())
    assert next(one for one in standing.verdict.findings if one.id == "power.minutes").grade == "fails"
    (pack,) = by(proposals(case_of(standing, folder, "power.minutes")), "mAh")
    apply(tree, pack.edits)
    after = next(one for one in examine(build(tree, folder), Cache()).verdict.findings if one.id == "power.minutes")
    assert after.margin is not None
    assert after.margin >= 0.25 - 1e-9  # a quarter more than is asked performs
    assert {edit.path for edit in pack.edits} == {"/supply/battery/capacity", "/supply/battery/mass"}


def test_a_servo_driven_from_the_base_takes_its_mass_out_of_the_head_and_still_moves_it(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "remote", SMALL.replace("head_mass: 1.2 kg", "head_mass: 500 g"))
    tree = open_tree(folder)
    standing = examine(build(tree, folder), Cache())
    remote = by(proposals(case_of(standing, folder, "mass.skull")), "drive the jaw from the post")[0]
    apply(tree, remote.edits)
    after = examine(build(tree, folder), Cache())
    heads = [next(item for item in one.verdict.findings if item.id == "mass.skull") for one in (standing, after)]
    servo = standing.results.creature.servos["jaw_servo"].mass
    assert heads[1].has.value == pytest.approx(heads[0].has.value - servo, abs=1e-9)  # type: ignore[union-attr]
    assert next(item for item in after.verdict.findings if item.id == "jaw.travel").grade == "performs"
