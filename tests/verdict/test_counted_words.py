"""One, two and all of a number of things, as people say them, in the sentences that count."""

from __future__ import annotations

import pytest

from marotte.basis.contracts.script import Hit
from marotte.creature.schema.brief import Brief
from marotte.creature.shelf import LATEST, shelf
from marotte.verdict.requirements.hits import LIFE_STILL, LOOK, Args
from marotte.verdict.requirements.noise import NOISE
from marotte.verdict.requirements.noise import Args as Noise

LOST = Hit(id="look.0.landed", kind="landed", opens=0, shuts=1200, hold=1, needs=(), word="door", line=4)


def said(
    count: int, missed: int, requirement: object = LIFE_STILL, what: str = "stillnesses", one: str = "stillness"
) -> str:
    args = Args(
        what=what,
        one=one,
        total=float(count),
        came=float(count - missed),
        count=count,
        missed=(LOST,) * min(missed, 3),
        missed_count=missed,
        asked_missed=0,
    )
    return requirement.say(args, requirement.find(args), "performs").sentence  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("count", "missed", "words"),
    [
        (1, 0, "The one stillness that is asked for comes off."),
        (2, 0, "Both stillnesses come off."),
        (7, 0, "All 7 stillnesses come off."),
        (7, 5, "2 of 7 stillnesses come off; missed: "),
        (7, 6, "1 of 7 stillnesses comes off; missed: "),
        (7, 7, "None of 7 stillnesses comes off; missed: "),
        (1, 1, "The one stillness that is asked for does not come off; missed: "),
    ],
)
def test_hits_are_counted_as_people_count(count: int, missed: int, words: str) -> None:
    assert said(count, missed).startswith(words)


def test_each_kind_of_hit_has_its_own_words() -> None:
    assert said(2, 0, LOOK, "looks", "look") == "Both looks come off."


@pytest.mark.parametrize(
    ("loud", "count", "words"),
    [
        (1, 1, "The one servo is loud, "),
        (1, 3, "1 of 3 servos is loud, "),
        (2, 2, "Both servos are loud, "),
        (5, 9, "5 of 9 servos are loud, "),
    ],
)
def test_loud_servos_are_counted_as_people_count(loud: int, count: int, words: str) -> None:
    servo = shelf(LATEST).servos["standard"]
    args = Noise(Brief(), "jaw", servo, False, "", loud, count, "", False)
    assert NOISE.say(args, NOISE.find(args), "only_just").sentence.startswith(words)
