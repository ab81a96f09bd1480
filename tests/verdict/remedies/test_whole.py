"""Remedies for findings about the whole creature: its noise, the way out of its skull, its shop hours."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import pytest
from tests.verdict.conftest import SMALL
from tests.verdict.remedies.kinds import BARE, DROOPING, Kind, changed, ear, promised, written

from marotte.creature.load import build, open_tree
from marotte.verdict.cells import Cache
from marotte.verdict.check import examine
from marotte.verdict.remedies import remedies

SLOW_LID: Final = ("travel: [0 deg, 62 deg]", "travel: [0 deg, 40 deg]")
"""A lid that a plain servo is fast enough for."""
PLAIN_JAW: Final = ("like: standard\n", "like: standard\n    noise: plain\n")
LOUD_EAR: Final = ear("mini_fast", DROOPING)

NOISE: Final = {
    "quieter servos": Kind(
        changed(BARE, SLOW_LID, PLAIN_JAW), "noise",
        "Take mini servos in place of 6 x mini fast (same body): loud -> plain, where loud is borne (performs)",
        "/functions/lid_upper/means/model",
    ),
    "nothing held at neutral": Kind(
        changed(BARE, ear("mini", DROOPING)), "noise",
        "Hang a long soft balance spring on both ear lifts, so that nothing is held at neutral: loud and whining -> loud",
        "/functions/ear_lift/load/spring",
    ),
    "both": Kind(
        changed(BARE, SLOW_LID, PLAIN_JAW, ear("mini", DROOPING)), "noise",
        "(same body), and hang a long soft balance spring on both ear lifts",
        "/functions/lid_upper/means/model",
    ),
    "a recorded voice": Kind(
        SMALL, "noise",
        "Play the voice from a recording, or revoice it later: loud, where loud -> any is borne (performs)", "/brief/voice",
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def cache() -> Cache:
    return Cache()


@pytest.mark.parametrize("name", NOISE)
def test_what_whirrs_gets_its_cure_and_the_cure_is_as_good_as_promised(
    name: str, tmp_path: Path, cache: Cache, capsys: pytest.CaptureFixture[str]
) -> None:
    promised(NOISE[name], tmp_path, cache, capsys)


def test_where_one_servo_stays_as_loud_none_is_swapped_and_none_is_carried_away_for_it(
    tmp_path: Path, cache: Cache
) -> None:
    # the rank is that of the loudest servo, wherever it sits: the stock has no quieter one in the jaw's body
    folder = written(tmp_path / "moss", changed(BARE, SLOW_LID))
    tree = open_tree(folder)
    standing = examine(build(tree, folder), cache)
    (cure,) = remedies(tree, folder, standing, "noise", cache)
    assert [edit.path for edit in cure.edits] == ["/brief/voice"]


def test_a_swap_with_which_another_finding_fails_is_not_offered(tmp_path: Path, cache: Cache) -> None:
    # a lid of 62 deg is too fast for a mini servo: its drive would fail
    folder = written(tmp_path / "moss", changed(BARE, PLAIN_JAW))
    tree = open_tree(folder)
    standing = examine(build(tree, folder), cache)
    assert not [cure for cure in remedies(tree, folder, standing, "noise", cache) if "mini servos" in cure.sentence]
