"""Words to phones: the file's own list, the dictionary, parts, letters."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.script.letters import letters_to_phones, rules
from marotte.script.phones import (
    CONSONANTS,
    PHONES,
    VOWELS,
    check_says,
    default_stress,
    dictionary,
    parse_arpabet,
    pronounce,
)


def test_the_files_own_word_comes_first() -> None:
    own = pronounce("puppet", {"puppet": "B AA1 B"})
    assert (own.arpabet, own.origin) == ("B AA1 B", "file")


def test_own_word_carries_its_endings() -> None:
    assert pronounce("ouzel's", {"ouzel": "UW1 Z AH0 L"}).arpabet == "UW1 Z AH0 L Z"


def test_unknown_word_is_read_by_its_letters_and_says_so() -> None:
    got = pronounce("gorble", {})
    assert got.origin == "letters"
    assert got.phones == ("G", "AO", "R", "B", "AH", "L")


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        ("wibbles", "W IH1 B AH0 L Z"), ("dogs'", "D AO1 G Z"), ("postmistress's", "P OW1 S T M IH2 S T R AH0 S AH0 Z"),
        ("snowmelt", "S N OW1 M EH2 L T"), ("nooooo", "N OW1"), ("o'clock", "AH0 K L AA1 K"),
    ],
)  # fmt: skip
def test_words_are_put_together_from_known_parts(word: str, phones: str) -> None:
    assert pronounce(word, {}).arpabet == phones


def test_every_dictionary_line_is_found_by_search() -> None:
    book = dictionary()
    lines = book.data.decode().splitlines()
    for line in lines[:: len(lines) // 997]:
        word, *phones = line.split()
        if "(" not in word[1:]:
            assert book.find(word) == tuple(phones), word
    assert book.find("zzzzzzzz") is None
    assert book.find("") is None
    assert book.find("'") is None


def test_one_main_stress_by_rule() -> None:
    for word in ("tansy", "understand", "about", "marotte", "actuator", "a", "strengths"):
        phones = tuple(p for p in pronounce(word, {}).phones)
        pattern = default_stress(phones)
        assert pattern.count("1") == 1
        assert len(pattern) == sum(p in VOWELS for p in phones)


def test_a_bad_pronunciation_is_told_with_its_place() -> None:
    assert check_says({"Ouzel": "UW1 Z AH0 L"}) == []
    [(sentence, ref)] = check_says({"Ou/zel": "UW1 Q"})
    assert "'Q' is no ARPAbet phone" in sentence
    assert ref == "/brief/says/Ou~1zel"
    assert parse_arpabet("B1 AA") == "'B1': only vowels carry a stress digit"


def test_says_without_digits_gets_stress_by_rule() -> None:
    got = parse_arpabet("P AH P AH T")
    assert got == (("P", "AH", "P", "AH", "T"), (-1, 1, -1, 0, -1))


def test_nothing_heavy_is_loaded_before_the_first_word() -> None:
    code = "import sys, marotte.script.phones; print('pocketsphinx' in sys.modules, 'numpy' in sys.modules)"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.split() == ["False", "False"]


def test_rules_cover_every_letter_and_end_in_a_plain_one() -> None:
    assert "".join(sorted(rules())) == "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    for letter, some in rules().items():
        last = some[-1]
        assert (last.letters, last.left, last.right) == (letter if letter != "J" else "J", None, None)
        assert all(p in PHONES for rule in some for p in rule.phones)


@settings(deadline=None, max_examples=200)
@given(st.text(alphabet="abcdefghijklmnopqrstuvwxyz'", min_size=1, max_size=14))
def test_any_spelling_can_be_said(word: str) -> None:
    got = pronounce(word, {})
    assert got.phones
    assert all(p in VOWELS or p in CONSONANTS for p in got.phones)
    assert len(got.stress) == len(got.phones)
    assert all((s >= 0) == (p in VOWELS) for p, s in zip(got.phones, got.stress, strict=True))
    assert letters_to_phones(word)
