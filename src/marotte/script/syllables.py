"""Syllables and phrases of a spoken line, as a puppet mouth needs them: where a vowel stands, whether it carries stress."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from marotte.basis.contracts.script import Phone, Spoken
from marotte.basis.ticks import ticks
from marotte.script.visemes import CLOSED, VOWELS

PAUSE: Final = ticks(0.080)
"""A silence of at least this ends a phrase [ticks]; a rule of this project (a stop's own closure is shorter or about as long)."""

WEAK: Final[frozenset[str]] = frozenset(
    [
        "a",
        "an",
        "the",
        "of",
        "to",
        "in",
        "on",
        "at",
        "by",
        "for",
        "from",
        "with",
        "as",
        "and",
        "or",
        "but",
        "nor",
        "so",
        "if",
        "than",
        "that",
        "this",
        "these",
        "those",
        "i",
        "me",
        "my",
        "we",
        "us",
        "our",
        "you",
        "your",
        "he",
        "him",
        "his",
        "she",
        "her",
        "it",
        "its",
        "they",
        "them",
        "their",
        "who",
        "whom",
        "whose",
        "which",
        "what",
        "is",
        "am",
        "are",
        "was",
        "were",
        "be",
        "been",
        "being",
        "do",
        "does",
        "did",
        "have",
        "has",
        "had",
        "can",
        "could",
        "will",
        "would",
        "shall",
        "should",
        "may",
        "might",
        "must",
        "not",
        "there",
        "here",
        "into",
        "onto",
        "upon",
        "over",
        "under",
        "out",
        "up",
        "down",
        "off",
        "about",
        "just",
        "i'm",
        "i'll",
        "i'd",
        "i've",
        "you're",
        "you'll",
        "you'd",
        "you've",
        "he's",
        "she's",
        "it's",
        "we're",
        "we'll",
        "they're",
        "they'll",
        "that's",
        "there's",
        "don't",
        "isn't",
        "aren't",
        "wasn't",
        "can't",
        "won't",
        "then",
        "when",
        "where",
        "while",
        "because",
        "until",
        "till",
        "some",
        "any",
        "no",
    ]
)
"""Words that speech passes over: their stress in a dictionary is that of the word alone. Ours, by word class; such a word carries
stress after all where its phrase has no other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Syllable:
    """One syllable by its vowel."""

    vowel: Phone
    stressed: bool
    loud: float
    """1 where nothing else is known; more where the word is written to be stressed (capitals, an exclamation)."""
    bilabial: int
    """Index among the line's phones of the p, b or m that opens it; -1 where none does."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrase:
    """What is said in one go, between two silences."""

    start: int
    stop: int
    first: int
    """Index of its first phone in the line."""
    last: int
    """Index of its last phone."""
    syllables: tuple[Syllable, ...]


def phrases(line: Spoken) -> tuple[Phrase, ...]:
    """Return the phrases of a line in order; a line without sound has none."""
    out: list[Phrase] = []
    run: list[int] = []
    for index, phone in enumerate(line.phones):
        silent = phone.name == "SIL"
        if not silent:
            run.append(index)
        elif phone.stop - phone.start >= PAUSE and run:
            out.append(_phrase(line, run))
            run = []
    if run:
        out.append(_phrase(line, run))
    return tuple(out)


def _phrase(line: Spoken, run: list[int]) -> Phrase:
    phones = line.phones
    raw: list[tuple[int, bool, bool]] = []
    for index in run:
        phone = phones[index]
        if phone.name in VOWELS:
            word = _word(line, phone.word)
            raw.append((index, phone.stress >= 1, word.lower().strip(".,;:!?\"'()") in WEAK))
    # a phrase without any full word is carried by its last stressed one: "I can. You could not."
    full = any(stress and not weak for _, stress, weak in raw)
    last_stress = max((i for i, (_, stress, _) in enumerate(raw) if stress), default=len(raw) - 1)
    syllables: list[Syllable] = []
    before = run[0] - 1
    for place, (index, stress, weak) in enumerate(raw):
        vowel = phones[index]
        onset = next(
            (i for i in range(before + 1, index) if phones[i].name in CLOSED and phones[i].word == vowel.word), -1
        )
        word = _word(line, vowel.word)
        shouted = len(word.strip(".,;:!?\"'")) > 1 and word.isupper()
        stressed = (stress and not weak) or (shouted and stress) or (not full and place == last_stress)
        syllables.append(
            Syllable(vowel=vowel, stressed=stressed, loud=1.25 if shouted and stressed else 1.0, bilabial=onset)
        )
        before = index
    return Phrase(
        start=phones[run[0]].start, stop=phones[run[-1]].stop, first=run[0], last=run[-1], syllables=tuple(syllables)
    )


def _word(line: Spoken, index: int) -> str:
    return line.words[index] if 0 <= index < len(line.words) else ""
