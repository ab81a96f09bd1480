"""What is written and what is said."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.script.spoken import spoken


def said(text: str) -> str:
    return " ".join(w.word for w in spoken(text).words)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("£3.50", "three pounds fifty"), ("£1", "one pound"), ("$1.2 million", "one point two million dollars"), ("€0.05", "five cents"),
        ("at 7:30 a.m.", "at seven thirty a m"), ("7:05", "seven oh five"), ("12:00", "twelve o'clock"), ("21st", "twenty first"),
        ("12 May 1987", "the twelfth of may nineteen eighty seven"), ("May 12, 2005", "may twelfth two thousand and five"),
        ("2024-05-12", "may twelfth twenty twenty four"), ("the 1980s", "the nineteen eighties"), ("5%", "five percent"),
        ("1,205 kg", "one thousand two hundred and five kilograms"), ("3.14", "three point one four"), ("1/2", "one half"),
        ("3/4", "three quarters"), ("2½ miles", "two and a half miles"),
        ("10–12 geese", "ten to twelve geese"), ("-4°C", "minus four degrees celsius"),
        ("555-0134", "five five five oh one three four"), ("007", "oh oh seven"), ("Henry VIII", "henry the eighth"),
        ("Chapter IV", "chapter four"), ("I am", "i am"), ("Mr. and Mrs. Ouzel", "mister and missus ouzel"), ("No. 10", "number ten"),
        ("No. Never.", "no never"), ("St. John St.", "saint john street"), ("Dr. Moor", "doctor moor"), ("etc.", "et cetera"),
        ("e.g. this", "for example this"), ("bread & jam", "bread and jam"), ("#5", "number five"), ("R2D2", "r two d two"), ("BBC", "b b c"),
        ("U.S.A.", "u s a"), ("café", "cafe"), ("naïve Zoë", "naive zoe"), ("don’t", "don't"), ("dogs’ tails", "dogs' tails"),
        ("wait--no", "wait no"), ("well-known", "well known"), ("yes...no", "yes no"), ("", ""), ("***", ""), ("“Who?”", "who"),
    ],
)  # fmt: skip
def test_written_is_said(text: str, words: str) -> None:
    assert said(text) == words


@pytest.mark.parametrize(
    "form", ["{}", "£{}", "{}.5", "{}½", "#{}", "{}th", "£{} million", "{}-{}", "R{}D", "{} kg", "{}%"]
)
def test_a_number_too_long_to_be_read_as_one_is_read_digit_by_digit(form: str) -> None:
    words = spoken(form.format("8" * 5000, "8" * 5000)).words
    assert sum(word.word == "eight" for word in words) == 5000 * form.count("{}")


def test_digits_of_another_script_are_said_as_digits() -> None:
    assert said("٣" * 16) == " ".join(["three"] * 16)


def test_punctuation_asks_for_pauses() -> None:
    words = spoken("Well, you; no: stop - go. Mr. Ouzel (here) went…").words
    assert [w.pause for w in words] == ["comma", "colon", "colon", "dash", "stop", "", "", "comma", "stop"]


def test_emphasis_is_found_in_marks_and_capitals() -> None:
    loud = {w.word for w in spoken("It is *never* the _green_ one, NOT ever, BBC").words if w.emphasis}
    assert loud == {"never", "green", "not"}


def test_a_line_all_in_capitals_is_no_emphasis() -> None:
    assert not any(w.emphasis for w in spoken("GET OUT OF HERE").words)


def test_places_point_into_the_written_text() -> None:
    text = "It is *never* £3.50, Tansy."
    for word in spoken(text).words:
        assert text[word.at :].lstrip("*").lower().startswith(word.written.lower()) or text[word.at] == "£"


def test_what_has_no_reading_is_named() -> None:
    assert spoken("я said λ").skipped == ("я", "λ")


@settings(deadline=None, max_examples=200)
@given(st.text(max_size=60))
def test_said_words_hold_only_letters_and_apostrophes(text: str) -> None:
    for word in spoken(text).words:
        assert word.word.strip("'")
        assert all("a" <= c <= "z" or c == "'" for c in word.word)
