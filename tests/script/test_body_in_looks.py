"""The body's share of a look: eyes, then head, then body; what went first turns back, and the look stays where it is."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.script import Demand, Direction
from marotte.creature.schema.brief import Brief, Life, Target
from marotte.creature.schema.functions import Function
from marotte.script.demand import demand
from marotte.script.score import score
from tests.script.met import met
from tests.script.parts import DEG, build, head, long_part, poses, turn

STILL = Life(idle=0.0, blinks=0.0, breath=0.0, thinking_beat=0.0)


def whole(reach: float = 35.0) -> dict[str, Function]:
    return head() | {"body_turn": turn("body_turn", -reach, reach)}


def bird() -> dict[str, Function]:
    """Fixed eyes: it looks with its head."""
    return {
        "beak": turn("beak", 0, 35), "head_turn": turn("head_turn", -60, 60), "head_nod": turn("head_nod", -50, 40),
        "body_turn": turn("body_turn", -30, 30),
    }  # fmt: skip


def played(degrees: list[float], functions: dict[str, Function], seed: int = 7) -> Demand:
    """Looks to targets 2 m away at those angles, one before each line."""
    looks = {
        f"thing{k}": Target(at=(2 * math.sin(math.radians(a)), 0.0, 2 * math.cos(math.radians(a))))
        for k, a in enumerate(degrees)
    }
    notes = tuple(
        Direction(kind="note", text=f"looks at the thing{k}", line=k + 1, tick=1200 + 3600 * k)
        for k in range(len(degrees))
    )
    brief = Brief(speech="hits", looks=looks, life=STILL)
    return demand(score((), notes, brief, seed, 3600 * (len(degrees) + 1)), functions, poses(), build())


def first_move(row: np.ndarray) -> float:
    return float(np.flatnonzero(np.abs(np.diff(row)) > 2e-5)[0]) / 240


@pytest.mark.parametrize("seed", range(4))
def test_eyes_go_first_then_the_head_then_the_body(seed: int) -> None:
    # people's eyes, head and trunk leave some 0.5, 0.6 and 0.7 s after the target lights (Anastasopoulos et al. 2009, Exp Brain Res
    # 193:323, abstract): a tenth of a second between them, which is 2.4 frames of 24; the trade says 2 to 4
    part = played([70.0], whole(), seed)
    eyes, neck, body = (first_move(part.motion.row(n)) for n in ("eye_turn_left", "head_turn", "body_turn"))
    for before, after in ((eyes, neck), (neck, body)):
        assert 2 / 24 - 0.02 <= after - before <= 4 / 24 + 0.03


@pytest.mark.parametrize("degrees", [10.0, 25.0, 35.0])
def test_a_look_that_eyes_and_head_can_hold_leaves_the_body_alone(degrees: float) -> None:
    assert np.ptp(played([degrees], whole()).motion.row("body_turn")) == 0.0


def test_the_head_turns_back_by_as_much_as_the_body_brings() -> None:
    # the head in space goes the same way whether the trunk turns or not (Land 2004, J Vision 4(8):111, abstract)
    with_body, without = played([55.0], whole()), played([55.0], head())
    in_space = with_body.motion.row("head_turn") + with_body.motion.row("body_turn")
    assert np.ptp(with_body.motion.row("body_turn")) > 10 * DEG
    assert np.allclose(in_space, without.motion.row("head_turn"), atol=1e-6)
    assert np.allclose(with_body.motion.row("eye_turn_left"), without.motion.row("eye_turn_left"), atol=1e-6)


@given(st.lists(st.floats(-88.0, 88.0), min_size=1, max_size=4), st.sampled_from(["face", "bird"]), st.integers(0, 3))
@settings(deadline=None, max_examples=40)
def test_looks_with_the_body_land_where_they_should(degrees: list[float], kind: str, seed: int) -> None:
    part = played(degrees, whole() if kind == "face" else bird(), seed)
    missed = {hit.line for hit in part.hits if not met(hit, part.motion)}
    assert missed <= {t.line for t in part.told if t.code == "look.out_of_reach"}
    if missed:
        return
    names = ("head_turn", "body_turn", *(("eye_turn_left", "eye_turn_right") if kind == "face" else ()))
    rows = [part.motion.row(name) for name in names]
    gaze = rows[0] + rows[1] + (0.5 * (rows[2] + rows[3]) if kind == "face" else 0.0)
    assert math.degrees(gaze[-1]) == pytest.approx(degrees[-1], abs=0.3)


def test_what_eyes_and_head_cannot_reach_the_body_brings() -> None:
    short, whole_ = played([75.0], head()), played([75.0], whole(60.0))
    assert "look.out_of_reach" in {t.code for t in short.told}
    assert "look.out_of_reach" not in {t.code for t in whole_.told}


def test_a_body_alone_looks_with_all_of_itself() -> None:
    part = played([20.0], {"body_turn": turn("body_turn", -40, 40)})
    assert math.degrees(part.motion.row("body_turn")[-1]) == pytest.approx(20.0, abs=1e-3)
    assert [hit.kind for hit in part.hits if hit.kind == "landed"] == ["landed"]
    assert "look.nothing" not in {t.code for t in part.told}


def test_a_mirrored_look_of_the_body_is_mirrored() -> None:
    one, two = played([62.0, -20.0], whole()), played([-62.0, 20.0], whole())
    for name in ("head_turn", "body_turn"):
        assert np.allclose(one.motion.row(name), -two.motion.row(name), atol=1e-6)


def test_eyes_stay_on_the_target_while_the_body_sways() -> None:
    lines = long_part(2, 6.0)
    brief = Brief(speech="hits", looks={"lens": Target(at=(0.3, 0.0, 2.0))}, life=STILL)
    notes = (
        Direction(kind="note", text="looks at the lens", line=2, tick=lines[0].stop + 100),
        Direction(kind="note", text="sways", line=2, tick=lines[0].stop + 1800),
    )
    part = demand(score(lines, notes, brief, 7), whole(), poses(), build())
    span = slice((lines[0].stop + 1900) // 5, (lines[0].stop + 3600) // 5)
    moved = part.motion.row("body_turn")[span]
    eyes = 0.5 * (part.motion.row("eye_turn_left") + part.motion.row("eye_turn_right"))[span]
    assert np.ptp(moved) > 10 * DEG
    assert np.ptp(moved + eyes) < 0.2 * DEG
