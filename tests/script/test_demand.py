"""The demand as a whole: it answers its own hits, covers the part with windows, and is the same every time."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from marotte.basis.contracts.script import Demand, Direction
from marotte.basis.digest import digest
from marotte.basis.ticks import SERIES_EVERY
from marotte.creature.schema.brief import Brief, Business, Target
from marotte.creature.schema.build import Build, Eye
from marotte.creature.schema.poses import Poses
from marotte.script import laying
from marotte.script.demand import demand
from marotte.script.score import score
from tests.script.met import met
from tests.script.parts import DEG, build, head, long_part, poses, spoken, turn

LOOKS = {"lens": Target(at=(0.0, 0.0, 2.4)), "letter": Target(at=(0.05, -0.3, 0.4)), "door": Target(at=(1.6, 0.1, 1.2))}
NOTES = (
    Direction(kind="parenthetical", text="to the lens", line=1),
    Direction(kind="note", text="looks at the letter", line=3),
    Direction(kind="note", text="turns to the door", line=5, word=2),
    Direction(kind="note", text="blinks twice", line=6),
    Direction(kind="note", text="keeps still", line=7),
)


def brief(style: str = "lips", voice: str = "own") -> Brief:
    return Brief(
        speech=style, voice=voice, moods={"warily": "wary"}, looks=LOOKS,  # type: ignore[arg-type]
        business=(Business(line=2, do="ears back slowly"),),
    )  # fmt: skip


def played(style: str = "lips", voice: str = "own", lines: int = 12, seed: int = 7) -> Demand:
    return demand(score(long_part(lines), NOTES, brief(style, voice), seed), head(), poses(), build())


@pytest.mark.parametrize("style", ["flap", "hits", "lips"])
@pytest.mark.parametrize("voice", ["own", "playback"])
def test_what_is_asked_meets_every_hit_it_makes(style: str, voice: str) -> None:
    part = played(style, voice)
    assert len(part.hits) > 50
    missed = [hit.id for hit in part.hits if not met(hit, part.motion)]
    assert missed == []


def test_another_s_live_voice_cannot_be_met_and_is_told() -> None:
    part = played("hits", "other")
    openings = [hit for hit in part.hits if hit.kind == "open"]
    assert sum(met(hit, part.motion) for hit in openings) < 0.5 * len(openings)
    assert "voice.other" in {told.code for told in part.told}


@pytest.mark.parametrize("style", ["flap", "hits", "lips"])
def test_motion_stays_in_travel_and_is_finite(style: str) -> None:
    part = played(style)
    functions = head()
    assert part.motion.names == tuple(functions)
    assert part.motion.values.dtype == np.float32
    assert not part.motion.values.flags.writeable
    assert np.isfinite(part.motion.values).all()
    for name, function in functions.items():
        row = part.motion.row(name)
        assert row.min() >= function.travel[0] - 1e-6, name
        assert row.max() <= function.travel[1] + 1e-6, name


def test_windows_cover_the_part_without_gap_or_overlap() -> None:
    part = played(lines=20)
    windows = part.windows
    assert windows[0].start == 0
    assert windows[-1].stop == part.motion.stop == part.spans.stop
    assert all(a.stop == b.start for a, b in pairwise(windows))
    assert all(0 < w.stop - w.start <= 12 * 1200 for w in windows)
    assert all(w.start % SERIES_EVERY == 0 for w in windows)
    assert len({w.id for w in windows}) == len(windows)


def test_same_input_gives_the_same_bytes() -> None:
    assert digest(played()) == digest(played())


def test_another_seed_moves_blinks_and_idle_life_only_a_little() -> None:
    one, two = played(seed=7), played(seed=8)
    assert digest(one) != digest(two)
    assert np.array_equal(one.motion.row("lip_corner_left"), two.motion.row("lip_corner_left"))


def test_an_edited_line_leaves_windows_and_motion_of_the_lines_before_it() -> None:
    lines = long_part(10)
    functions, shapes, made = head(), poses(), build()
    before = demand(score(lines, NOTES, brief(), 7), functions, shapes, made)
    edited = (*lines[:-1], spoken("give the letter to mama", lines[-1].start / 1200, 10))
    after = demand(score(edited, NOTES, brief(), 7), functions, shapes, made)
    upto = lines[-2].start // SERIES_EVERY
    assert np.array_equal(before.motion.values[:, :upto], after.motion.values[:, :upto])
    kept = [w for w in before.windows if w.line < 9]
    assert kept == [w for w in after.windows if w.line < 9]
    hits = [h for h in before.hits if h.line < 9]
    assert hits == [h for h in after.hits if h.line < 9]


def test_no_mouth_is_told_and_asks_for_no_hit_of_a_mouth() -> None:
    functions = {"head_turn": turn("head_turn", -40, 40), "head_nod": turn("head_nod", -25, 20)}
    part = demand(score(long_part(3), (), brief("hits"), 7), functions, Poses(), Build())
    assert "mouth.none" in {told.code for told in part.told}
    assert not [hit for hit in part.hits if hit.kind in ("open", "closure", "lip_teeth")]


def test_a_jaw_without_written_shapes_speaks_by_rule_and_says_so() -> None:
    functions = {"jaw": turn("jaw", 0, 22, 3)}
    part = demand(score(long_part(4), (), brief("hits"), 7), functions, Poses(), Build())
    assert "mouth.by_rule" not in {told.code for told in part.told}  # a jaw that plays hits asks for no shapes
    lips = demand(score(long_part(4), (), brief("lips"), 7), functions, Poses(), Build())
    assert "mouth.by_rule" in {told.code for told in lips.told}
    assert part.motion.row("jaw").max() > 15 * DEG
    assert part.motion.row("jaw").min() < 0.5 * DEG
    assert all(met(hit, part.motion) for hit in part.hits)


def test_an_empty_part_is_a_part() -> None:
    part = demand(score((), (), brief(), 7), head(), poses(), build())
    assert part.motion.samples > 0
    assert part.windows[-1].stop == part.motion.stop
    assert not [hit for hit in part.hits if hit.kind == "open"]


def test_fixed_eyes_look_with_the_head() -> None:
    functions = {
        "head_turn": turn("head_turn", -60, 60),
        "head_nod": turn("head_nod", -50, 40),
        "beak": turn("beak", 0, 35),
    }
    fixed = Build(eye=Eye(diameter=0.03, spacing=0.05, fixed=True))
    note = (Direction(kind="note", text="looks at the door", line=2),)
    part = demand(score(long_part(3), note, brief("flap"), 7), functions, Poses(), fixed)
    landed = next(hit for hit in part.hits if hit.kind == "landed")
    assert met(landed, part.motion)
    turned = part.motion.row("head_turn")[landed.shuts // SERIES_EVERY]
    assert abs(turned - np.arctan2(1.6, 1.2)) < 3 * DEG
    assert not [hit for hit in part.hits if hit.kind == "eyes_arrived"]


def test_what_is_not_understood_is_told_with_the_nearest_form() -> None:
    notes = (
        Direction(kind="note", text="earz back", line=1, file_line=40),
        Direction(kind="note", text="looks at the moon", line=2, file_line=44),
    )
    part = demand(score(long_part(3), notes, brief(), 7), head(), poses(), build())
    sentences = {told.code: told.sentence for told in part.told}
    assert "ears back" in sentences["business.not_understood"]
    assert "line 40" in sentences["business.not_understood"]
    assert "moon" in sentences["look.no_target"]
    assert "lens" in sentences["look.no_target"]


def test_a_beak_is_asked_for_no_lips_in_any_style() -> None:
    functions = {"beak": turn("beak", 0, 35), "head_turn": turn("head_turn", -60, 60)}
    made = demand(score(long_part(6), (), brief("lips"), 7), functions, Poses(), build())
    assert {hit.kind for hit in made.hits} & {"closure", "lip_teeth"} == set()
    assert any(hit.kind == "open" for hit in made.hits)
    assert "mouth.beak" in {told.code for told in made.told}


@pytest.mark.parametrize("style", ["flap", "hits", "lips"])
def test_how_long_the_stretches_are_changes_nothing(style: str, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = played(style)
    monkeypatch.setattr(laying, "STRETCH", 517)
    monkeypatch.setattr(laying, "AT_HAND", 1)
    assert played(style).motion.values.tobytes() == whole.motion.values.tobytes()
