"""Breath, small shifts, stillness, blinks: when they come, and that an edit of one line leaves the rest."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.script import Direction
from marotte.creature.schema.brief import Brief, Life
from marotte.script.demand import demand
from marotte.script.lids import WHOLE, Blink, chosen
from marotte.script.score import score
from tests.script.met import met
from tests.script.parts import DEG, build, head, long_part, poses, slide, spoken


def test_a_breath_rises_into_each_phrase_that_has_room() -> None:
    lines = long_part(6, 2.0)
    made = score(lines, (), Brief(), 7)
    tops = {breath.top for breath in made.breaths}
    for line in lines:
        assert line.start in tops
    for breath in made.breaths:
        assert breath.start < breath.top < breath.stop
        assert 0 < breath.amount <= 1


def test_a_breath_before_a_phrase_rises_in_0_3_to_0_5_s() -> None:
    lines = long_part(8, 3.0)
    starts = {line.start for line in lines}
    rises = [(b.top - b.start) / 1200 for b in score(lines, (), Brief(), 7).breaths if b.top in starts]
    assert len(rises) == 8
    assert all(0.3 <= rise <= 0.5 for rise in rises)
    assert len(set(rises)) > 4


def test_breath_at_rest_is_within_a_fifth_of_the_brief_s_rate() -> None:
    silent = (spoken("give", 1.0), spoken("give", 121.0, 2))
    made = score(silent, (), Brief(life=Life(breath=16 / 60)), 7)
    between = [b for b in made.breaths if silent[0].stop < b.start < silent[1].start - 600]
    assert 0.8 * 32 <= len(between) <= 1.2 * 32


def test_breath_moves_the_breast_where_there_is_one_and_else_the_head_a_little() -> None:
    lines = long_part(3, 3.0)
    made = score(lines, (), Brief(life=Life(idle=0.0)), 7)
    with_one = demand(made, {**head(), "breath": slide("breath", 0, 15)}, poses(), build())
    without = demand(made, head(), poses(), build())
    assert with_one.motion.row("breath").max() > 0.005
    assert np.ptp(with_one.motion.row("head_nod")) < 1e-6
    assert 0.2 * DEG < np.ptp(without.motion.row("head_nod")) < 2 * DEG


def test_shifts_are_small_slow_and_never_in_a_stillness() -> None:
    lines = long_part(6, 6.0)
    note = (Direction(kind="note", text="keeps still for four seconds", line=3),)
    life = Life(idle=0.03, breath=0.0, blinks=0.0, thinking_beat=0.0)
    made = score(lines, note, Brief(speech="hits", life=life), 7)
    part = demand(made, head(), poses(), build())
    for name in ("head_turn", "head_tilt", "ear_swivel_left"):
        row = part.motion.row(name)
        span = head()[name].span
        assert 0 < np.ptp(row) <= 2 * 0.03 * span + 1e-6
        assert np.abs(np.diff(row)).max() * 240 <= 2 * 0.03 * span * 1.875 / 0.8 + 1e-6
    still = next(s for s in made.stills if s.what == "life")
    rows = part.motion.values[:, still.start // 5 + 1 : still.stop // 5]
    quiet = [n for n in part.motion.names if not n.startswith(("jaw", "lip"))]
    assert max(np.ptp(rows[part.motion.names.index(n)]) for n in quiet) < 1e-6
    assert any(h.kind == "still" and h.word == "life" and met(h, part.motion) for h in part.hits)


def test_idle_life_goes_by_the_mood() -> None:
    lines = tuple(spoken("give the letter to the people", 2.0 + 9 * k, k + 1, 0.4, mood="wary") for k in range(6))

    def stir(size: float) -> float:
        life = Life(idle=0.02, idle_by_mood={"wary": size}, breath=0.0, blinks=0.0, thinking_beat=0.0)
        made = score(lines, (), Brief(speech="hits", life=life), 7)
        return float(np.ptp(demand(made, head(), poses(), build()).motion.row("head_turn")[1500:-2000]))

    assert stir(0.0) < 1e-6 < stir(0.02) < stir(0.1)


@given(
    st.lists(st.tuples(st.integers(0, 200_000), st.sampled_from(["written", "turn", "thought", "line"])), max_size=60),
    st.floats(0.0, 0.5),
)
@settings(deadline=None, max_examples=80)
def test_blinks_keep_what_is_written_apart_and_below_the_rate(some: list[tuple[int, str]], rate: float) -> None:
    asked = [Blink(at=at, line=k, why=why) for k, (at, why) in enumerate(some)]  # type: ignore[arg-type]
    kept = chosen(asked, rate, 7)
    at = [blink.at for blink in kept]
    assert all(b - a >= WHOLE for a, b in pairwise(at))
    for blink in asked:
        if blink.why == "written":
            assert any(abs(blink.at - other) < WHOLE for other in at)
    unwritten = [blink.at for blink in kept if blink.why != "written"]
    for first in unwritten:
        assert sum(1 for other in unwritten if 0 <= other - first < 72_000) <= rate * 60


def test_blinks_are_no_metronome() -> None:
    made = score(long_part(40, 2.0), (), Brief(), 7)
    gaps = np.diff([blink.at for blink in made.blinks])
    assert len(gaps) > 8
    assert gaps.std() > 0.3 * gaps.mean()


def test_lids_are_shut_for_a_whole_frame_in_every_blink() -> None:
    part = demand(score(long_part(12, 3.0), (), Brief(), 7), head(), poses(), build())
    shut = [hit for hit in part.hits if hit.kind == "lids_shut"]
    assert shut
    for hit in shut:
        assert hit.hold == 50
        assert met(hit, part.motion)
        assert len(hit.needs) == 4


def test_a_mood_waits_for_the_end_of_a_stillness_to_leave() -> None:
    lines = (spoken("give the letter", 2.0, 1, 0.08, mood="wary"), spoken("give the letter", 12.0, 2))
    at = lines[0].stop + 300
    note = (Direction(kind="action", text="She keeps still for two seconds.", line=2, tick=at),)
    made = score(lines, note, Brief(cue="SHE", speech="hits"), 7)
    still = next(s for s in made.stills if s.what == "life")
    left = next(c for c in made.moods if not c.name)
    assert left.at == still.stop
    part = demand(made, head(), poses(), build())
    assert any(h.kind == "still" and h.word == "life" and met(h, part.motion) for h in part.hits)
