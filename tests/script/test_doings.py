"""Sequences: what is written one after the other is done one after the other, and nothing of it is lost."""

from __future__ import annotations

from itertools import pairwise

import pytest

from marotte.basis.contracts.script import Direction
from marotte.creature.schema.brief import Brief, Target
from marotte.script.doings import LOOKED, chained
from marotte.script.gaze import looks_in
from marotte.script.lines import lines
from marotte.script.score import Score, score
from tests.script.parts import long_part

NAMES = ("door", "lens", "letter", "shop_door", "umbrella")
LOOKS = {name: Target(at=(0.3 * k, -0.1, 1.0)) for k, name in enumerate(NAMES)}


@pytest.mark.parametrize(
    ("text", "targets"),
    [
        ("looks at the umbrella, then looks at the door", ["umbrella", "door"]),
        ("looks at the umbrella, then the door, then the lens", ["umbrella", "door", "lens"]),
        ("looks at the letter and the door", ["letter", "door"]),
        ("looks at the letter, the door and the lens", ["letter", "door", "lens"]),
        ("looks down at the letter, then up at the lens", ["letter", "lens"]),
        ("looks from the letter to the door", ["letter", "door"]),
        ("looks up from the letter to the door", ["door"]),
        ("looks up from the letter", ["up"]),
        ("looks away from the door", ["away"]),
        ("looks left, then right", ["left", "right"]),
        ("looks at the letter, not at the door", ["letter"]),
        ("does not look at the letter", []),
        ("looks at the letter on the counter by the door", ["letter"]),
        ("glances at the shop door and back to the letter", ["shop_door", "letter"]),
        ("looks at the letter before looking at the door", ["letter", "door"]),
        ("turns away", ["away"]),
        ("turns the sign round", []),
    ],
)
def test_each_target_of_a_direction_is_looked_at_in_order(text: str, targets: list[str]) -> None:
    pieces, _ = chained(text, NAMES)
    assert [target for piece, _ in pieces for target in looks_in(piece, NAMES)[0]] == targets


def test_a_look_that_comes_then_waits_until_the_one_before_it_has_landed_and_been_held() -> None:
    pieces, done = chained("looks at the letter, then looks at the door, then blinks twice", NAMES)
    assert [at for _, at in pieces] == [0, LOOKED, 2 * LOOKED]
    assert done > 2 * LOOKED


def test_and_begins_together_but_two_looks_are_never_at_once() -> None:
    assert [at for _, at in chained("nods and stamps", NAMES)[0]] == [0, 0]
    pieces, _ = chained("looks at the letter and nods at the door", NAMES)
    assert [at for _, at in pieces] == [0, LOOKED]


@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("ears back, slowly", ["ears back, slowly"]),
        ("slowly, ears back", ["slowly, ears back"]),
        ("nods, blinks", ["nods", "blinks"]),
        ("wary, looking at the letter", ["wary, looking at the letter"]),
    ],
)
def test_how_stays_with_what(text: str, pieces: list[str]) -> None:
    assert [piece for piece, _ in chained(text, NAMES)[0]] == pieces


def made(script: str) -> Score:
    brief = Brief(cue="TANSY", looks=LOOKS)
    part = lines(script, "script.fountain", brief)
    return score(part.lines, part.directions, brief, 7, part.stop)


SCENE = "INT. POST OFFICE - DAY\n\n"
LINE = "TANSY\n{}Good evening.\n\nOUZEL\nIs there anything for me, or for my brother, or for anybody at all?\n\nTANSY\nNo.\n"


@pytest.mark.parametrize(
    "script",
    [
        SCENE + "Tansy looks at the umbrella, then looks at the door, then looks at the lens.\n\n" + LINE.format(""),
        SCENE + LINE.format("(looks at the umbrella, then the door, then the lens)\n"),
        SCENE + LINE.format("[[looks at the umbrella, then the door, then the lens]] "),
        SCENE + LINE.format("Good [[looks at the umbrella, then the door, then the lens]] "),
        SCENE + "Tansy looks at the umbrella. She looks at the door. She looks at the lens.\n\n" + LINE.format(""),
        SCENE + "[[looks at the umbrella, then the door and the lens]]\n\n" + LINE.format(""),
    ],
    ids=["action", "parenthetical", "head", "word", "sentences", "note"],
)
def test_three_looks_are_three_looks_wherever_they_stand(script: str) -> None:
    got = made(script)
    looks = [look for look in got.looks if look.target in NAMES and not look.eyes_only]
    assert [look.target for look in looks][:3] == ["umbrella", "door", "lens"]
    assert all(b.at - a.at >= LOOKED - 5 for a, b in pairwise(looks[:3]))
    assert "look.passed" not in {t.code for t in got.told}


@pytest.mark.parametrize(
    "place", ["(blinks twice, then looks at the letter)\n", "[[blinks twice, then looks at the letter]] "]
)
def test_blinks_then_a_look_are_both_done_in_that_order(place: str) -> None:
    got = made(SCENE + LINE.format(place))
    written = [blink.at for blink in got.blinks if blink.why == "written"]
    look = next(look for look in got.looks if look.target == "letter")
    assert len(written) == 2
    assert max(written) + 250 <= look.at < got.lines[0].start


def test_a_note_at_the_end_of_a_line_is_done_there_and_not_before_the_next_line() -> None:
    got = made(
        SCENE
        + "TANSY\nGood evening. [[looks at the letter]]\n\nOUZEL\n"
        + "Well, well, well. " * 8
        + "\n\nTANSY\nNo.\n"
    )
    look = next(look for look in got.looks if look.target == "letter")
    assert abs(look.at - got.lines[0].stop) < 600


def test_a_look_that_cannot_be_shown_is_told() -> None:
    lines_ = long_part(2, 4.0)
    notes = tuple(
        Direction(kind="note", text=f"looks at the {name}", line=2, tick=lines_[0].stop + 50 * k)
        for k, name in enumerate(("letter", "door"))
    )
    got = score(lines_, notes, Brief(looks=LOOKS), 7)
    assert [t.sentence for t in got.told if t.code == "look.passed"] == [
        "line 2: the look to 'letter' is passed over: 0.0 s later the eyes go to 'door'"
    ]
