"""Syllables and phrases of a spoken line, as a puppet mouth needs them: where a vowel stands, whether it carries stress."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from marotte.basis.contracts.script import Phone, Spoken
from marotte.basis.ticks import ticks
from marotte.script.visemes import CLOSED, VOWELS

PAUSE: Final = ticks(0.080)
"""A silence of at least this ends a phrase [ticks]; a rule of this project (a stop's own closure is shorter or about as long)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Syllable:
    """One syllable by its vowel."""

    vowel: Phone
    stressed: bool
    accent: bool
    """Whether its word carries the weight of its phrase (or the writer set it off)."""
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
    vowels: list[tuple[Phone, int]] = []
    lips: list[int] = []  # the p, b, m since the last vowel
    for index in run:
        phone = phones[index]
        if phone.name in CLOSED:
            lips.append(index)
        elif phone.name in VOWELS:
            vowels.append((phone, next((i for i in lips if phones[i].word == phone.word), -1)))
            lips = []
    weak = not any(vowel.stress >= 1 for vowel, _ in vowels)
    syllables: list[Syllable] = []
    for place, (vowel, onset) in enumerate(vowels):
        stressed = vowel.stress >= 1 or (
            weak and place == len(vowels) - 1
        )  # a phrase of weak words is carried by its last
        accent = stressed and vowel.word in line.accents
        syllables.append(Syllable(vowel=vowel, stressed=stressed, accent=accent, bilabial=onset))
    return Phrase(
        start=phones[run[0]].start, stop=phones[run[-1]].stop, first=run[0], last=run[-1], syllables=tuple(syllables)
    )
