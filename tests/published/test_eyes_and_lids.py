"""Looks and blinks against what is published of human eyes (eyes.json): upper limits of speed and rate, and the order of things."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest

from marotte.basis.contracts.script import Direction
from marotte.creature.schema.brief import Brief, Life, Target
from marotte.script.demand import demand
from marotte.script.gaze import HEAD_JOINS_TURN, mean_speed, saccade_least, saccade_ticks
from marotte.script.lids import DOWN, HUMAN_MOST, SHUT, UP
from marotte.script.score import score
from tests.script.parts import build, head, long_part, poses

EYES = json.loads(Path(__file__).with_name("eyes.json").read_text())


def test_least_duration_of_a_saccade_is_carpenter_s() -> None:
    law = EYES["saccade_duration"]
    got = [1e3 * saccade_least(math.radians(a)) for a in law["degrees"]]
    assert got == pytest.approx(law["ms"], abs=law["tolerance_ms"])


@pytest.mark.parametrize("degrees", [1, 2, 5, 10, 15, 20, 28, 30, 40, 55])
def test_no_look_is_asked_faster_than_a_human_saccade(degrees: float) -> None:
    angle = math.radians(degrees)
    assert saccade_ticks(angle) / 1200 >= saccade_least(angle)
    assert math.degrees(mean_speed(angle)) * 15 / 8 < EYES["saccade_peak"]["most_deg_per_s"]


def test_the_flick_of_20_degrees_has_a_human_peak_speed() -> None:
    # minimum jerk peaks at 15/8 of its mean: 450 deg/s against 476 by the published curve, which is good to 25 %
    peak = math.degrees(mean_speed(math.radians(20))) * 15 / 8
    curve = EYES["saccade_peak"]
    assert peak == pytest.approx(curve["deg_per_s"][2], rel=curve["tolerance"])


def test_the_head_joins_where_people_s_does() -> None:
    low, high = EYES["head_joins_deg"]["range"]
    assert low <= math.degrees(HEAD_JOINS_TURN) + 1e-9 <= high


def test_played_eyes_are_no_faster_than_people_s() -> None:
    looks = {"left": Target(at=(0.7, 0.0, 2.0)), "right_side": Target(at=(-0.7, 0.0, 2.0))}
    notes = tuple(
        Direction(kind="note", text=f"looks at the {'left' if n % 2 else 'right side'}", line=n) for n in range(1, 9)
    )
    part = demand(score(long_part(8), notes, Brief(looks=looks), 7), head(), poses(), build())
    speed = np.abs(np.diff(part.motion.row("eye_turn_left").astype(float))) * 240
    assert math.degrees(speed.max()) < EYES["saccade_peak"]["most_deg_per_s"]
    assert math.degrees(speed.max()) > 300  # and it is a flick, not a drift


def test_blinks_are_no_faster_down_than_the_fastest_people_and_faster_down_than_up() -> None:
    down = EYES["blink_down_ms"]
    assert down["down"] - 2 * down["sd"] <= DOWN / 1.2
    assert down["closed"] <= SHUT / 1.2
    assert EYES["blink_asymmetry"]["closing_over_opening"][0] <= UP / DOWN


@pytest.mark.parametrize("rate", [0.0, 0.05, 9 / 60, 1.0])
def test_no_minute_has_more_blinks_than_people_or_the_brief(rate: float) -> None:
    assert EYES["blink_rate_per_min"]["conversation"] == HUMAN_MOST
    part = score(long_part(40, 1.2), (), Brief(life=Life(blinks=rate)), 7)
    at = [blink.at for blink in part.blinks]
    for first in at:
        inside = sum(1 for other in at if 0 <= other - first < 60 * 1200)
        assert inside <= min(rate * 60, EYES["blink_rate_per_min"]["conversation"])
    if rate == 0.0:
        assert not at
