"""Durations by rule against the book's rules worked by hand, a corpus's means, and hand-labelled speech.

Sources: Allen, Hunnicutt & Klatt, *From Text to Speech: The MITalk System* (1987), duration rules; the duration table of a
Festival voice (corpus_phone_means.csv); three hand-labelled sentences of the emuR package's demonstration data (shared data);
Tiede et al. 2017, JASA 141:3580, closures of two speakers at normal rate (59.9 to 109.8 ms).
"""

from __future__ import annotations

from pathlib import Path
from statistics import mean

import pytest
from scipy.stats import spearmanr

from marotte.script.lines import word_phones
from marotte.script.phones import VOWELS
from marotte.script.spoken import spoken
from marotte.script.timing import REFERENCE_EXCESS_S, REFERENCE_MINIMUM_S, WordPhones, by_rule, segment_ms
from tests.published.textgrid import SAMPA_VOWELS, tier
from tests.shared_data import shared_data

HERE = Path(__file__).parent


def word(phones: str, pause: str = "") -> WordPhones:
    names = tuple(phones.split())
    return WordPhones(phones=names, stress=tuple(1 if p in VOWELS else -1 for p in names), accent=False, pause=pause)


def test_worked_example_of_a_stressed_vowel() -> None:
    """AE, stressed, not phrase-final, before a voiceless stop, one syllable: 80 + 150*0.6*0.7 = 143.0 ms (hand arithmetic)."""
    rows = segment_ms([word("HH AE T"), word("S AH")])
    assert rows[0][1][1] == pytest.approx(143.0, abs=1e-9)


@pytest.mark.parametrize(("phones", "ms"), [("AE P AE", 84.0), ("AE B AE", 81.25), ("AE M AE", 68.5)])
def test_worked_examples_of_consonants(phones: str, ms: float) -> None:
    """Not word-initial, between vowels: minimum + (inherent - minimum) * 0.85 (hand arithmetic)."""
    assert segment_ms([word(phones)])[0][1][1] == pytest.approx(ms, abs=1e-9)


def passage() -> list[WordPhones]:
    return list(word_phones(spoken((HERE / "north_wind.txt").read_text()).words, {})[0])


def test_reference_constants_are_those_of_the_passage() -> None:
    """The passage is "The North Wind and the Sun", the usual specimen of the phonetic association (Aesop, public domain)."""
    words = passage()
    rows = segment_ms(words)
    count = sum(p in VOWELS for w in words for p in w.phones)
    assert sum(low for r in rows for low, _ in r) / count / 1000 == pytest.approx(REFERENCE_MINIMUM_S, rel=1e-3)
    assert sum(d - low for r in rows for low, d in r) / count / 1000 == pytest.approx(REFERENCE_EXCESS_S, rel=1e-3)


def test_pace_over_the_passage_is_the_pace_asked_for() -> None:
    words = passage()
    phones = [p for p in by_rule(words, 4.6) if p.name != "SIL"]
    rate = sum(p.name in VOWELS for p in phones) / (sum(p.stop - p.start for p in phones) / 1200)
    assert rate == pytest.approx(4.6, rel=0.005)


def test_phone_means_rank_as_in_a_measured_corpus() -> None:
    """Rank correlation over all phones that occur five times or more; the corpus is read faster, so only ranks are asked."""
    lines = (HERE / "corpus_phone_means.csv").read_text().splitlines()
    measured = {a: float(b) for a, b in (line.split(",") for line in lines if not line.startswith("#"))}
    ours: dict[str, list[int]] = {}
    for phone in by_rule(passage(), 4.6):
        ours.setdefault(phone.name, []).append(phone.stop - phone.start)
    common = sorted(name for name, some in ours.items() if len(some) >= 5 and name in measured)
    assert len(common) >= 20
    assert spearmanr([mean(ours[n]) for n in common], [measured[n] for n in common]).statistic > 0.7


SENTENCES = ("msajc003", "msajc010", "msajc015")


@pytest.mark.parametrize("kind", ["vowels", "consonants"])
def test_means_at_the_speakers_own_rate_are_within_three_tenths_of_the_labels(kind: str) -> None:
    """Three sentences, phoneme tier; the pace is set to the labelled rate, so that only the division of time is judged.

    The rules come from carefully read American English, the labels from brisk Australian English: ours give vowels 20 % more and
    consonants 24 % less than these labels. They are not fitted to them; 30 % is what we claim.
    """
    theirs: list[float] = []
    ours: list[float] = []
    for name in SENTENCES:
        labels = tier(shared_data(f"speech/{name}.TextGrid"), "Phoneme")
        text = shared_data(f"speech/{name}.txt").read_text()
        words, _ = word_phones(spoken(text).words, {})
        count = sum(p in VOWELS for w in words for p in w.phones)
        phones = by_rule(words, count / sum(b - a for a, b, _ in labels))
        theirs += [1000 * (b - a) for a, b, label in labels if (label in SAMPA_VOWELS) == (kind == "vowels")]
        ours += [(p.stop - p.start) / 1.2 for p in phones if (p.name in VOWELS) == (kind == "vowels")]
    assert mean(ours) == pytest.approx(mean(theirs), rel=0.30)


def test_closures_last_as_long_as_measured_ones() -> None:
    """P, B, M of the passage at a normal reading rate, against 59.9 to 109.8 ms measured; 5 ms on either side for rounding."""
    lengths = [(p.stop - p.start) / 1.2 for p in by_rule(passage(), 4.6) if p.name in {"P", "B", "M"}]
    inside = [55 <= ms <= 115 for ms in lengths]
    assert len(lengths) >= 10
    assert sum(inside) >= 0.8 * len(inside)


def test_stressed_and_unstressed_vowels_are_as_far_apart_as_published() -> None:
    """Klatt 1976 (JASA 59:1208), from memory: stressed vowels about 130 ms, unstressed 70, consonants 70 in connected speech.

    From memory, so only the ratio is asked, widely: 1.86, between 1.4 and 2.4.
    """
    phones = by_rule(passage(), 4.6)
    stressed = mean(p.stop - p.start for p in phones if p.name in VOWELS and p.stress == 1)
    weak = mean(p.stop - p.start for p in phones if p.name in VOWELS and p.stress == 0)
    assert 1.4 < stressed / weak < 2.4
