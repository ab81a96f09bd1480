"""Moods: when they come and go, and that they never spoil a closure."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.script import Direction
from marotte.creature.schema.brief import Brief
from marotte.creature.schema.poses import Poses
from marotte.script.demand import demand
from marotte.script.moods import START_SET, mood_changes, mood_of
from marotte.script.score import score
from tests.script.met import met
from tests.script.parts import build, head, long_part, poses, spoken


def test_a_parenthetical_is_found_whole_or_within() -> None:
    named = {"quietly": "hushed", "very quietly": "secret", "wary": "wary"}
    assert mood_of("(Quietly)", named) == "hushed"
    assert mood_of("very quietly, to the door", named) == "secret"
    assert mood_of("warily", named) == ""


def test_a_mood_is_there_when_its_line_begins_and_leaves_after_it() -> None:
    line = spoken("give the letter to mama", 3.0, 1, mood="wary")
    part = demand(score((line,), (), Brief(speech="hits"), 7, stop=9600), head(), poses(), build())
    row = part.motion.row("ear_lift_left")
    asked = -0.4 * np.radians(20)
    assert abs(row[0]) < 1e-6
    assert abs(row[(line.start + 100) // 5] - asked) < 0.01
    assert abs(row[-1]) < np.radians(2)  # no mood left; idle life may be


def test_a_mood_within_a_line_starts_at_its_word() -> None:
    line = spoken("give the letter to the people before the morning", 3.0, 1, 0.1)
    note = Direction(kind="parenthetical", text="warily", line=1, word=5)
    made = score((line,), (note,), Brief(speech="hits", moods={"warily": "wary"}), 7)
    change = next(c for c in made.moods if c.name == "wary")
    assert line.start < change.at < line.word_spans[5][0]
    assert change.at > line.word_spans[1][0]


@given(st.lists(st.sampled_from(["", "wary", "delighted", "calm"]), min_size=1, max_size=8), st.floats(0.1, 4.0))
@settings(deadline=None, max_examples=60)
def test_changes_never_overlap_and_each_line_has_its_mood(names: list[str], gap_s: float) -> None:
    lines = long_part(len(names), gap_s)
    asked = [(0, line.line, name) for line, name in zip(lines, names, strict=True) if name]
    changes = mood_changes(lines, asked)
    assert all(a.at < a.by <= b.at for a, b in pairwise(changes)) or len(changes) < 2
    for line, name in zip(lines, names, strict=True):
        now = [c.name for c in changes if c.at <= line.stop - 1]
        assert (now[-1] if now else "") == name


def test_no_mood_spoils_a_closure() -> None:
    lines = tuple(
        spoken("puppet mama bob baby people", 2.0 + 5 * k, k + 1, 0.07, mood=mood)
        for k, mood in enumerate(("delighted", "wary", "gaping"))
    )
    shapes = poses()
    wide = Poses(
        mouth=shapes.mouth, moods={**shapes.moods, "gaping": {"jaw": 1.0, "lip_lower": 1.0, "lip_upper_left": 1.0}}
    )
    part = demand(score(lines, (), Brief(speech="lips"), 7), head(), wide, build())
    shut = [hit for hit in part.hits if hit.kind == "closure"]
    assert all(met(hit, part.motion) for hit in shut)
    bound = next(n.bound for n in shut[0].needs if n.function == "jaw")
    for phone in (p for line in lines for p in line.phones if p.name in "PBM"):
        assert part.motion.row("jaw")[-(-phone.start // 5) : phone.stop // 5 + 1].max() <= bound


def test_the_standard_s_six_are_a_start_set_and_the_creature_s_own_come_first() -> None:
    assert sorted(START_SET) == ["anger", "disgust", "fear", "joy", "sadness", "surprise"]
    line = spoken("give the letter", 2.0, 1, mood="surprise")
    made = score((line,), (), Brief(speech="hits"), 7)
    by_rule = demand(made, head(), poses(), build())
    assert "mood.start_set" in {t.code for t in by_rule.told}
    assert by_rule.motion.row("brow_inner_left").max() > 0.005  # the eyebrows are raised
    assert by_rule.motion.row("lid_upper_left").min() < np.radians(2)  # the upper lids are wide open
    own = Poses(mouth=poses().mouth, moods={"surprise": {"ear_lift_left": 1.0, "ear_lift_right": 1.0}})
    written = demand(made, head(), own, build())
    assert "mood.start_set" not in {t.code for t in written.told}
    assert written.motion.row("brow_inner_left").max() < 1e-6
    assert written.motion.row("ear_lift_left").max() > np.radians(60)


def test_an_unknown_mood_is_told_with_the_nearest() -> None:
    line = spoken("give the letter", 2.0, 1, mood="delihgted")
    part = demand(score((line,), (), Brief(speech="hits"), 7), head(), poses(), build())
    told = next(t for t in part.told if t.code == "mood.unknown")
    assert "'delighted'" in told.sentence
