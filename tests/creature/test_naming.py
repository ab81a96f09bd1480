"""Names as people say them."""

from __future__ import annotations

import pytest

from marotte.creature.naming import many, named, several


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("lid_upper_left", "left upper lid"),
        ("jaw", "jaw"),
        ("eye_right.a", "right eye (a)"),
        ("ear_swivel_left", "left ear swivel"),
        ("left", "left"),
    ],
)
def test_a_name_of_the_file_is_said_with_its_side_first(name: str, said: str) -> None:
    assert named(name) == said


def test_both_of_a_pair_are_said_at_once_and_one_alone_by_its_side() -> None:
    assert several(["lid_upper_left", "lid_upper_right", "jaw", "ear_left"]) == "both upper lids, the jaw, the left ear"
    assert several(["eye_right.a", "eye_left.a"]) == "both eyes (a)"


def test_what_is_many_already_stays_so() -> None:
    assert (many("upper lid"), many("eye (a)"), many("cheeks")) == ("upper lids", "eyes (a)", "cheeks")
