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
        "Play the voice from a recording: loud, where loud -> any is borne (performs)", "/brief/voice",
    ),
}  # fmt: skip

SHOP: Final = "shop: {hours: {servo: 9 h, wiring: 2 h, hand: 3 h, skin: 12 h, sculpture: 60 h, frame: 40 h, hair: 110 h, trying: 20 h}}\n"
"""Hours that the shop says itself, so that none is a guess."""
BROWS: Final = (
    "  brow:\n    sides: both\n    part: brow\n    travel: [-5 mm, 5 mm]\n"
    "    means: {kind: servo, model: mini, lead: eyes}\n"
    "    mech: {kind: crank_slider, horn: 10 mm, rod: 40 mm}\n    load: {mass: 3 g, friction: 0.2 N}\n"
)


def timed(text: str, hours: int, *pairs: tuple[str, str]) -> str:
    """Return a creature that the shop has so many hours for."""
    return changed(
        text, ("limits: {head_mass: 1.2 kg}", f"limits: {{head_mass: 1.2 kg, hours: {hours} h}}\n{SHOP}"), *pairs
    )


WITH_BROWS: Final = ("  eye_turn: {sides: both", f"{BROWS}  eye_turn: {{sides: both")
FROWNS: Final = ("wary: {lid_upper: 35 %", "wary: {brow: 60 %, lid_upper: 35 %")
HOURS: Final = {
    # by hand: 9 servos of 9 + 2 h, a hand of 3 h, and 60 + 40 + 110 + 20 h for what every creature takes: 332 h; 22 h a pair
    "one servo for both": Kind(
        timed(BARE, 350, WITH_BROWS, FROWNS), "limits.hours",
        "Work both brows from one servo by a bar: 354 h -> 343 h (only just). Both brows then always go together",
        "/mechs/brow_bar",
    ),
    "where the hours are guesses it holds as written": Kind(
        changed(timed(BARE, 350, WITH_BROWS, FROWNS), (SHOP, "")), "limits.hours",
        "Work both brows from one servo by a bar: 354 h -> 343 h (undecided)", "/mechs/brow_bar",
    ),
    "one servo where two share a load": Kind(
        timed(BARE, 340, ("model: jaw_servo, lead: face}", "model: jaw_servo, lead: face, count: 2}")), "limits.hours",
        "Move the jaw with a single servo: 343 h -> 332 h (only just)", "/functions/jaw/means/count",
    ),
    "what no hit needs stands still": Kind(
        timed(BARE, 320), "limits.hours",
        "Let both ear lifts stand still: 332 h -> 310 h (only just). Lost with both ear lifts: ", "/functions/ear_lift",
    ),
    "a skin goes with what stretched it": Kind(
        timed(SMALL, 330, WITH_BROWS, FROWNS, ("skins:\n", "skins:\n  forehead: {sides: both, strip: {material: silicone_00_30, "
            "thickness: 2 mm, width: 20 mm, length: 40 mm, backing: none}, sculpted_at: {brow: 0 mm}, holds: {brow: 1.0}}\n")),
        "limits.hours", "Let both brows and both ear lifts stand still: 390 h -> 322 h", "/skins/forehead",
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


def test_a_swap_with_which_another_finding_fails_is_not_offered_but_the_voice_is(tmp_path: Path, cache: Cache) -> None:
    # a lid of 62 deg is too fast for a mini servo: its drive would fail
    folder = written(tmp_path / "moss", changed(BARE, PLAIN_JAW))
    tree = open_tree(folder)
    standing = examine(build(tree, folder), cache)
    (cure,) = remedies(tree, folder, standing, "noise", cache)
    assert [edit.path for edit in cure.edits] == ["/brief/voice"]


@pytest.mark.parametrize("name", HOURS)
def test_too_many_hours_get_their_cure_and_the_cure_is_as_good_as_promised(
    name: str, tmp_path: Path, cache: Cache, capsys: pytest.CaptureFixture[str]
) -> None:
    promised(HOURS[name], tmp_path, cache, capsys)


def cured(folder: Path, text: str, cache: Cache) -> list[str]:
    tree = open_tree(written(folder, text))
    return [
        cure.sentence for cure in remedies(tree, folder, examine(build(tree, folder), cache), "limits.hours", cache)
    ]


def test_a_pair_that_the_part_asks_apart_goes_on_no_bar(tmp_path: Path, cache: Cache) -> None:
    frown = (FROWNS[0], FROWNS[1].replace("brow:", "brow_left:"))
    assert any("by a bar" in text for text in cured(tmp_path / "alike", timed(BARE, 350, WITH_BROWS, FROWNS), cache))
    assert not any("by a bar" in text for text in cured(tmp_path / "apart", timed(BARE, 350, WITH_BROWS, frown), cache))


def test_what_a_hit_needs_never_stands_still_and_nothing_is_offered_that_does_not_reach(
    tmp_path: Path, cache: Cache
) -> None:
    # 332 h, of which jaw, lids and eyes have 77: without the ears it is 310 h, and no honest change goes on from there
    assert cured(tmp_path / "moss", timed(BARE, 300), cache) == []
