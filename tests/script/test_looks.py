"""Looks: which target a direction means, and how eyes, head and lids play it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.script import Demand, Direction
from marotte.creature.schema.brief import Brief, Life, Target
from marotte.creature.schema.build import Build, Eye
from marotte.script.demand import demand
from marotte.script.gaze import angles, looks_in, saccade_ticks
from marotte.script.lids import FOLLOW
from marotte.script.score import score
from tests.script.met import met
from tests.script.parts import DEG, build, head, long_part, poses, turn


def to(x: float, y: float, z: float, made: Build | None = None, functions: dict | None = None) -> Demand:
    """A part with one look, in its second line's silence."""
    brief = Brief(
        speech="hits",
        looks={"thing": Target(at=(x, y, z))},
        life=Life(idle=0.0, blinks=0.0, breath=0.0, thinking_beat=0.0),
    )
    note = (Direction(kind="note", text="looks at the thing", line=2),)
    lines = long_part(2, 4.0)
    return demand(
        score(lines, note, brief, 7, stop=lines[-1].stop + 3600), functions or head(), poses(), made or build()
    )


@pytest.mark.parametrize(
    ("text", "target"),
    [
        ("looks at the letter", "letter"),
        ("to the lens", "lens"),
        ("glances down at the old letter", "letter"),
        ("turns to the shop door", "shop_door"),
        ("eyes on the lens", "lens"),
        ("looks down", "down"),
        ("looks away", "away"),
        ("She looks at the lens, quietly", "lens"),
        ("the letter is blue", ""),
        ("nods", ""),
    ],
)
def test_a_direction_means_a_target(text: str, target: str) -> None:
    assert looks_in(text, ("lens", "letter", "shop_door"))[0] == ((target,) if target else ())


def test_a_look_at_nothing_known_names_what_it_wants() -> None:
    assert looks_in("looks at the moon", ("lens",)) == ((), "moon")


@given(st.floats(-0.8, 0.8), st.floats(-0.3, 0.3), st.floats(0.5, 4.0))
@settings(deadline=None, max_examples=25)
def test_landed_eyes_and_head_together_point_at_the_target(x: float, y: float, z: float) -> None:
    part = to(x, y, z)
    hit = next((h for h in part.hits if h.kind == "landed"), None)
    if hit is None or "look.out_of_reach" in {t.code for t in part.told}:
        return
    assert met(hit, part.motion)
    at = part.motion.samples - 1
    yaw, pitch = part.motion.row("head_turn")[at], part.motion.row("head_nod")[at]
    for side, sign in (("left", 1), ("right", -1)):
        turned = part.motion.row(f"eye_turn_{side}")[at] - sign * 2 * DEG  # the toe-in of the build taken back
        lifted = part.motion.row(f"eye_lift_{side}")[at]
        d = np.array([math.sin(turned) * math.cos(lifted), math.sin(lifted), math.cos(turned) * math.cos(lifted)])
        cp, sp, cy, sy = math.cos(pitch), math.sin(pitch), math.cos(yaw), math.sin(yaw)
        d = np.array([d[0], cp * d[1] + sp * d[2], -sp * d[1] + cp * d[2]])  # nod, looking up positive
        d = np.array([cy * d[0] + sy * d[2], d[1], -sy * d[0] + cy * d[2]])  # turn, to its left positive
        want = np.array([x - sign * 0.044, y, z])
        off = math.degrees(math.acos(np.clip(d @ want / np.linalg.norm(want), -1, 1)))
        assert off < 0.3


def test_convergence_is_that_of_the_spacing() -> None:
    # 88 mm apart: 2.1 deg between the eyes at 2.4 m, 5.0 at 1 m, 12.6 at 0.4 m (by arithmetic)
    for distance, expected in ((2.4, 2.1), (1.0, 5.04), (0.4, 12.56)):
        left, right = (angles((0.0, 0.0, distance), (s * 0.044, 0.0, 0.0))[0] for s in (1, -1))
        assert math.degrees(right - left) == pytest.approx(expected, abs=0.03)


@given(st.floats(0.05, 1.5), st.floats(-0.3, 0.3))
@settings(deadline=None, max_examples=15)
def test_a_mirrored_look_is_mirrored(x: float, y: float) -> None:
    one, two = to(x, y, 2.0), to(-x, y, 2.0)
    pairs = (("eye_turn_left", "eye_turn_right"), ("head_turn", "head_turn"))
    for a, b in pairs:
        assert np.allclose(one.motion.row(a), -two.motion.row(b), atol=1e-6)
    assert np.allclose(one.motion.row("eye_lift_left"), two.motion.row("eye_lift_right"), atol=1e-6)


def test_eyes_go_first_and_the_head_two_to_four_frames_later() -> None:
    part = to(1.2, 0.1, 1.6)
    eye, neck = part.motion.row("eye_turn_left"), part.motion.row("head_turn")
    first_eye = np.flatnonzero(np.abs(np.diff(eye)) > 1e-5)[0]
    first_neck = np.flatnonzero(np.abs(np.diff(neck)) > 1e-5)[0]
    assert 2 / 24 - 0.02 <= (first_neck - first_eye) / 240 <= 4 / 24 + 0.03


def test_a_small_look_is_the_eyes_alone() -> None:
    part = to(0.2, 0.0, 2.0)
    assert np.ptp(part.motion.row("head_turn")) < 1e-6
    assert np.ptp(part.motion.row("eye_turn_left")) > 3 * DEG


def test_eyes_stop_dead_and_stay_still() -> None:
    part = to(0.5, 0.0, 2.0)
    still = next(h for h in part.hits if h.kind == "still")
    assert met(still, part.motion)
    inside = part.motion.row("eye_turn_left")[still.opens // 5 + 1 : still.shuts // 5]
    assert np.ptp(inside) < 0.05 * DEG


def test_a_target_out_of_reach_is_told_and_cannot_land() -> None:
    part = to(-0.3, 0.0, -2.0)
    assert "look.out_of_reach" in {t.code for t in part.told}
    landed = [h for h in part.hits if h.kind == "landed"]
    assert landed
    assert not any(met(h, part.motion) for h in landed)


def test_upper_lids_follow_the_eyes_down() -> None:
    part = to(0.0, -0.25, 1.0)
    down = part.motion.row("eye_lift_left")[-1]
    assert down < -5 * DEG
    assert part.motion.row("lid_upper_left")[-1] == pytest.approx(14 * DEG - FOLLOW * down, abs=1e-5)
    assert part.motion.row("lid_lower_left")[-1] == pytest.approx(0.0, abs=1e-6)


def test_eyes_that_turn_as_one_do_not_converge_and_that_is_told() -> None:
    functions = {
        "head_turn": turn("head_turn", -40, 40),
        "eye_turn": turn("eye_turn", -28, 28),
        "eye_lift": turn("eye_lift", -18, 18),
    }
    part = to(0.0, 0.0, 0.4, Build(eye=Eye(diameter=0.04, spacing=0.088, toe_in=0.0)), functions)
    assert "eyes.together" in {t.code for t in part.told}
    assert abs(part.motion.row("eye_turn")[-1]) < 1e-6


def test_a_longer_look_takes_longer() -> None:
    times = [saccade_ticks(math.radians(a)) for a in (5, 20, 30, 55)]
    assert times == sorted(times)
    assert times[0] == times[1] == 100


def test_a_thinking_beat_is_eyes_off_a_blink_and_eyes_back_before_the_line() -> None:
    lines = long_part(14, 4.0)
    made = score(lines, (), Brief(speech="hits", looks={"lens": Target(at=(0.0, 0.0, 2.4))}), 7)
    off = [look for look in made.looks if look.target.startswith("thought")]
    assert 3 <= len(off) <= 11  # about half of the occasions, by the seed
    for look in off:
        line = next(item for item in lines if item.line == look.line)
        back = next(item for item in made.looks if item.line == look.line and item.at > look.at)
        assert look.at < back.at < line.start
        assert back.eyes_only
    blinks = {blink.line: blink.at for blink in made.blinks}
    held = [look.line for look in off if look.line in blinks and look.at < blinks[look.line] < look.at + 900]
    assert held  # those that the rate leaves
    none = score(lines, (), Brief(speech="hits", life=Life(thinking_beat=0.0)), 7)
    assert not none.looks
