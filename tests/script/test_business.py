"""Business: what plain words mean, and that nothing is dropped."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.script import Direction
from marotte.creature.anatomy import PARTS
from marotte.creature.schema.brief import Brief, Business, Life
from marotte.script.business import FORMS, nearest_form, understood
from marotte.script.demand import demand
from marotte.script.score import score
from tests.script.parts import DEG, build, head, long_part, poses, turn

PAGE = Path(__file__).parents[2] / "docs" / "methods" / "business.md"


@pytest.mark.parametrize("form", sorted(FORMS))
def test_every_form_is_understood_by_its_own_words(form: str) -> None:
    deed = understood(form)
    assert deed is not None
    assert deed.form == form


@pytest.mark.parametrize("form", sorted(FORMS))
def test_every_form_is_on_the_page_and_names_parts_of_the_anatomy(form: str) -> None:
    assert f"| {form} |" in PAGE.read_text()
    for part, way in FORMS[form].does:
        assert part in PARTS
        assert -1.0 <= way <= 1.0


@pytest.mark.parametrize(
    ("text", "form", "side", "times", "pace"),
    [
        ("ears back, slowly", "ears back", None, 1, 2.0),
        ("Tansy's ears go back", "ears back", None, 1, 1.0),
        ("pins her ears back", "ears back", None, 1, 1.0),
        ("her left ear flicks twice", "ear flicks", "left", 2, 1.0),
        ("blinks twice", "blinks", None, 2, 1.0),
        ("she stamps", "stamps", None, 1, 1.0),
        ("stamps three times", "stamps", None, 3, 1.0),
        ("nods quickly", "nods", None, 2, 0.6),
        ("shakes her head", "shakes head", None, 2, 1.0),
        ("cocks her head to the left", "tilts head", "left", 1, 1.0),
        ("winks with the right eye", "winks", "right", 1, 1.0),
        ("her nose twitches", "twitches nose", None, 3, 1.0),
        ("raises an eyebrow", "brows up", None, 1, 1.0),
        ("holds still for three seconds", "keeps still", None, 1, 1.0),
        ("freezes", "keeps still", None, 1, 1.0),
        ("closes her eyes", "shuts eyes", None, 1, 1.0),
        ("the mouth opens", "opens mouth", None, 1, 1.0),
        ("spreads its wings", "lifts wings", None, 1, 1.0),
    ],
)
def test_usual_words_are_understood(text: str, form: str, side: str | None, times: int, pace: float) -> None:
    deed = understood(text)
    assert deed is not None
    assert (deed.form, deed.side, deed.times, deed.pace) == (form, side, times, pace)


@pytest.mark.parametrize("text", ["does a cartwheel", "the rain falls", "earz bak", "", "..."])
def test_what_is_not_understood_has_a_nearest_form(text: str) -> None:
    assert understood(text) is None
    assert nearest_form(text)[0] in FORMS


@pytest.mark.parametrize(
    ("text", "form", "close"),
    [
        ("earz bak", "ears back", True), ("noddes", "nods", True), ("tail wiggles", "flicks tail", True),
        ("twitches her whiskers", "twitches nose", True),
        ("does a triple somersault", None, False), ("shouting", None, False),
    ],
)  # fmt: skip
def test_the_nearest_form_shares_words_and_says_where_none_does(text: str, form: str | None, close: bool) -> None:
    found, near = nearest_form(text)
    assert near is close
    assert form is None or found == form


@given(st.text(max_size=80))
@settings(deadline=None, max_examples=100)
def test_no_words_break_it(text: str) -> None:
    understood(text)
    notes = (Direction(kind="note", text=text, line=1, file_line=3),)
    made = score(long_part(1), notes, Brief(), 7)
    asked = made.done or made.blinks or made.looks or [s for s in made.stills if s.what == "life"] or made.told
    # whatever has letters in it is either played, a silence, or told
    if any(c.isalnum() for c in text):
        assert asked or "beat" in text or "pause" in text or text.strip()


def played(text: str) -> tuple[np.ndarray, np.ndarray]:
    brief = Brief(speech="hits", business=(Business(line=2, do=text),), life=Life(idle=0.0, blinks=0.0, breath=0.0))
    part = demand(score(long_part(2, 4.0), (), brief, 7), head(), poses(), build())
    return part.motion.row("ear_lift_left"), part.motion.row("ear_lift_right")


def test_ears_go_back_and_come_again_slower_when_slowly() -> None:
    quick, _ = played("ears back")
    slow, _ = played("ears back slowly")
    assert quick.min() == pytest.approx(-0.9 * 20 * DEG, abs=1e-4)
    assert abs(quick[-1]) < 1e-6
    assert np.abs(np.diff(slow)).max() < 0.6 * np.abs(np.diff(quick)).max()


def test_one_side_moves_alone_and_a_little_is_half() -> None:
    left, right = played("left ear flicks")
    assert left.max() > 30 * DEG
    assert np.ptp(right) == 0.0
    half, _ = played("ears back a little")
    assert half.min() == pytest.approx(-0.45 * 20 * DEG, abs=1e-4)


def test_what_stays_stays() -> None:
    row, _ = played("ears back and stays so")
    assert row[-1] == pytest.approx(-0.9 * 20 * DEG, abs=1e-4)


def test_a_part_that_is_not_there_is_told() -> None:
    brief = Brief(business=(Business(line=1, do="flicks her tail"),))
    part = demand(score(long_part(1), (), brief, 7), {"jaw": turn("jaw", 0, 22)}, poses(), build())
    assert any(t.code == "business.no_part" and "tail" in t.sentence for t in part.told)
