"""Durations by rule: properties. The numbers themselves are held in tests/published/test_phone_durations.py."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.script.lines import word_phones
from marotte.script.phones import VOWELS
from marotte.script.spoken import spoken
from marotte.script.timing import MS, by_rule, excess_factor, fastest, segment_ms, syllables

WORDS = "people bring me puppets bramble jam, and broken promises. strengths ask the old goose a hmm, psst measure eye"
TEXTS = st.lists(st.sampled_from(WORDS.split()), min_size=1, max_size=12).map(" ".join)


@settings(deadline=None, max_examples=60)
@given(TEXTS, st.floats(1.0, 7.0))
def test_phones_follow_one_another_without_gap_and_none_is_empty(text: str, pace: float) -> None:
    words, _ = word_phones(spoken(text).words, {})
    phones = by_rule(words, pace)
    assert phones[0].start == 0
    assert all(a.stop == b.start for a, b in pairwise(phones))
    assert all(p.stop > p.start for p in phones)
    assert [p.name for p in phones if p.word >= 0] == [p for w in words for p in w.phones]


@settings(deadline=None, max_examples=40)
@given(TEXTS, st.floats(1.0, 6.0), st.floats(1.05, 2.0))
def test_faster_is_shorter_and_no_phone_goes_below_its_minimum(text: str, pace: float, more: float) -> None:
    words, _ = word_phones(spoken(text).words, {})
    slow, fast = by_rule(words, pace), by_rule(words, pace * more)
    assert fast[-1].stop <= slow[-1].stop
    least = [low for row in segment_ms(words) for low, _ in row]
    got = [(p.stop - p.start) / 1.2 for p in by_rule(words, 30.0) if p.word >= 0]
    assert all(g > low - 1.0 for g, low in zip(got, least, strict=True))


def test_the_pace_is_met_on_running_text_and_never_beaten_by_the_minimum() -> None:
    assert excess_factor(30.0) == 0.0
    words, _ = word_phones(spoken("people bring me puppets").words, {})
    phones = by_rule(words, 30.0)
    rate = 6 / (phones[-1].stop / 1200)
    assert rate == pytest.approx(fastest(words), rel=0.01)


@pytest.mark.parametrize(
    ("text", "count"),
    [("strengths", 1), ("puppet", 2), ("measure", 2), ("actuator", 4), ("extra", 2), ("psst", 1), ("idea", 3)],
)
def test_syllables_hold_every_phone_once(text: str, count: int) -> None:
    words, _ = word_phones(spoken(text).words, {})
    parts = syllables(words[0].phones)
    assert len(parts) == count
    assert parts[0][0] == 0
    assert parts[-1][2] == len(words[0].phones)
    assert all(a[2] == b[0] for a, b in pairwise(parts))
    assert all(first <= vowel < end and words[0].phones[vowel] in VOWELS for first, vowel, end in parts if vowel >= 0)


def test_as_many_consonants_as_may_begin_a_syllable_go_to_the_next() -> None:
    words, _ = word_phones(spoken("extra").words, {})  # EH K . S T R AH
    assert words[0].phones == ("EH", "K", "S", "T", "R", "AH")
    assert syllables(words[0].phones)[1][0] == 2


def test_last_syllable_of_a_phrase_is_longer() -> None:
    """The same word before a pause and inside a phrase: phrase-final lengthening (Klatt)."""
    words, _ = word_phones(spoken("the old barn, the barn door").words, {})
    rows = segment_ms(words)
    assert words[2].phones == words[4].phones
    assert sum(d for _, d in rows[2]) > 1.2 * sum(d for _, d in rows[4])


def test_stress_lengthens_a_vowel() -> None:
    plain_words, _ = word_phones(spoken("have it").words, {})
    loud, _ = word_phones(spoken("*have* it").words, {})
    assert segment_ms(loud)[0][1][1] > segment_ms(plain_words)[0][1][1]


def test_minimum_is_never_above_inherent() -> None:
    assert all(least <= inherent for inherent, least in MS.values())
