"""What remedies and plans promise: the same everywhere, nothing worsened in silence, and what remains is said."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import Finding, Remedy
from marotte.creature.load import build, open_tree
from marotte.verdict.cells import Cache
from marotte.verdict.check import Examined, check, examine
from marotte.verdict.remedies import remedies
from marotte.verdict.remedies.confirm import worse
from marotte.verdict.remedies.plan import plan
from marotte.verdict.remedies.screen import Screen
from marotte.verdict.remedies.search import candidates
from marotte.verdict.remedies.words import worsened

# Two things that fail: the lid is clocked square when open, and nobody can hold a head of 100 g.
TWO = SMALL.replace(
    "ground: 39 mm, branch: open, arm_at_neutral: 73 deg", "ground: 39 mm, branch: open, arm_at_neutral: 104 deg"
)
HEAVY = TWO.replace("head_mass: 1.2 kg", "head_mass: 100 g")
ASKED = "lid_upper_left.mech"
PROGRAM = f"""
import json, sys
from pathlib import Path
from marotte.creature.load import build, open_tree
from marotte.verdict.cells import Cache
from marotte.verdict.check import examine
from marotte.verdict.remedies import remedies
folder = Path(sys.argv[1])
tree, cache = open_tree(folder), Cache()
standing = examine(build(tree, folder), cache)
found = {{name: remedies(tree, folder, standing, name, cache) for name in ("{ASKED}", "jaw.drive")}}
print(json.dumps({{name: [[r.sentence, r.before, r.after, r.cost, r.worsens, [(e.path, e.to) for e in r.edits]] for r in some]
                  for name, some in found.items()}}))
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_folder(tmp_path_factory.mktemp("promises") / "moss", HEAVY)


@pytest.fixture(scope="module")
def cache() -> Cache:
    return Cache()


@pytest.fixture(scope="module")
def standing(folder: Path, cache: Cache) -> Examined:
    return examine(build(open_tree(folder), folder), cache)


def finding(examined: Examined, name: str) -> Finding:
    return next(item for item in examined.verdict.findings if item.id == name)


def test_remedies_are_the_same_to_the_bit_in_two_processes(folder: Path) -> None:
    printed = []
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "NUMBA_NUM_THREADS": "1"}
        ran = subprocess.run(
            [sys.executable, "-c", PROGRAM, str(folder)], env=environment, capture_output=True, text=True, check=True
        )
        printed.append(ran.stdout)
    assert printed[0] == printed[1]
    assert json.loads(printed[0])[ASKED]


def test_what_the_screen_says_of_its_best_is_what_the_full_check_says(
    folder: Path, standing: Examined, cache: Cache
) -> None:
    tree = open_tree(folder)
    for name in (ASKED, "jaw.drive"):
        item = finding(standing, name)
        cures = {tuple(e.path for e in cure.edits): cure for cure in remedies(tree, folder, standing, name, cache)}
        compared = 0
        for candidate in candidates(tree, folder, standing, item, cache):
            cure = cures.get(candidate.refs)
            if cure is not None and candidate.proposal is None:
                assert candidate.score.margin == pytest.approx(cure.after, rel=0.02, abs=0.02)
                compared += 1
        assert compared


def test_no_shown_remedy_makes_another_finding_fail_and_what_it_worsens_is_said(
    folder: Path, standing: Examined, cache: Cache
) -> None:
    tree = open_tree(folder)
    for name in (ASKED, "jaw.drive"):
        for cure in remedies(tree, folder, standing, name, cache):
            assert not any(text.endswith("-> fails") for text in cure.worsens)
            for text in cure.worsens:
                assert text.split(": ")[0].rsplit(".", 1)[-1] in worsened(cure)


def test_a_plan_that_cannot_cure_everything_says_exactly_what_remains(folder: Path, cache: Cache) -> None:
    tree = open_tree(folder)
    told: list[str] = []
    whole = plan(tree, folder, cache, told.append)
    assert "mass.skull" in whole.remains
    assert not {"lid_upper_left.mech", "lid_upper_right.mech", "jaw.drive"} & set(whole.remains)
    assert any(line.startswith("mass.skull still fails: The head weighs") for line in whole.left)
    assert told
    assert [step.cost for step in whole.steps] == sorted(step.cost for step in whole.steps)
    assert check(build(tree, folder)).key == whole.before.verdict.key  # the tree is as it was


def test_a_fallen_grade_and_a_lost_twentieth_of_margin_count_as_worse_and_less_does_not(standing: Examined) -> None:
    base = finding(standing, "jaw.travel")
    before = [
        replace(base, id="a.x", grade="performs", margin=0.5), replace(base, id="b.x", grade="only_just", margin=0.2),
        replace(base, id="c.x", grade="performs", margin=0.5), replace(base, id="d.x", grade="unknown", margin=None),
        replace(base, id="e.x", grade="fails", margin=-0.5),
    ]  # fmt: skip
    now = {
        "a.x": replace(before[0], margin=0.449), "b.x": replace(before[1], grade="fails", margin=-0.1),
        "c.x": replace(before[2], margin=0.451), "d.x": replace(before[3], grade="fails", margin=-1.0),
        "e.x": replace(before[4], grade="performs", margin=0.5),
    }  # fmt: skip
    texts, lost = worse(before, now, "z.x")
    assert texts == (
        "a.x: margin +50 % -> +45 %",
        "b.x: only just -> fails",
        "d.x: could not be seen before, and fails",
    )
    assert lost == -1  # one finding fell by two grades, another rose by three


def test_a_margin_that_is_still_several_times_over_is_no_loss_and_none_is_told_beyond_it(standing: Examined) -> None:
    base = finding(standing, "jaw.travel")
    before = [
        replace(base, id="a.x", grade="performs", margin=8.8),
        replace(base, id="b.x", grade="performs", margin=8.8),
    ]
    now = {"a.x": replace(before[0], margin=7.5), "b.x": replace(before[1], margin=1.2)}
    assert worse(before, now, "z.x") == (("b.x: margin > +300 % -> +120 %",), 0)


def test_both_sides_of_a_pair_are_said_once_and_what_is_plenty_apart() -> None:
    cure = Remedy(
        edits=(), finding="x.y", before=None, after=None, grade="performs", cost=1.0, sentence="",
        worsens=("a_left.drive: margin > +300 % -> +257 %", "a_right.drive: margin > +300 % -> +256 %", "b.mech: performs -> only just"),
    )  # fmt: skip
    assert worsened(cure) == (
        "It makes worse: b.mech: performs -> only just. It takes some of what is plenty: a_left/right.drive (margin > +300 % -> +257 %)."
    )


def test_a_change_that_moves_the_scarcest_instant_widens_what_the_screen_looks_at(
    standing: Examined, cache: Cache
) -> None:
    screen = Screen(standing, finding(standing, "jaw.drive"), cache)
    everything = set(range(len(standing.results.asked.value.windows)))  # type: ignore[union-attr]
    screen.windows = {min(everything - screen.windows, default=0)}
    screen._start()
    assert screen.widened([standing.results.creature])
    score, item = screen.score(standing.results.creature), finding(standing, "jaw.drive")
    assert score.margin == pytest.approx(item.margin, rel=5e-3, abs=5e-3)
    assert isinstance(item.has, Quantity)
    assert not screen.widened([standing.results.creature])  # and then it knows
