"""How long each phone lasts when there is no recording: inherent and minimum durations and the rules on them.

Source: D. H. Klatt's rules as printed in J. Allen, M. S. Hunnicutt, D. H. Klatt, *From Text to Speech: The MITalk System*,
Cambridge University Press 1987, chapter on duration; the table and the factors as they stand in the Klatt duration module of
a general speech synthesis system (a secondary copy). Equations and departures: docs/methods/phone-timing.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from marotte.basis.ticks import TICKS_PER_SECOND
from marotte.script.phones import VOWELS

MS: Final[dict[str, tuple[float, float]]] = {
    "AA": (240, 100), "AE": (230, 80), "AH": (140, 60), "AO": (240, 100), "AW": (260, 100), "AY": (250, 150), "EH": (150, 70),
    "ER": (180, 80), "EY": (190, 100), "IH": (135, 40), "IY": (155, 55), "OW": (220, 80), "OY": (280, 150), "UH": (160, 60),
    "UW": (210, 70), "B": (85, 60), "CH": (70, 50), "JH": (70, 50), "L": (80, 40), "NG": (95, 60), "P": (90, 50), "S": (105, 60),
    "T": (75, 50), "V": (60, 40), "Y": (80, 40), "D": (75, 50), "DH": (50, 30), "F": (100, 80), "G": (80, 60), "HH": (80, 20),
    "K": (80, 60), "M": (70, 60), "N": (60, 50), "R": (80, 30), "SH": (105, 80), "TH": (90, 60), "W": (80, 60), "Z": (75, 40),
    "ZH": (70, 40),
}  # fmt: skip
"""Phone -> (inherent, minimum) duration [ms]."""
SCHWA_MS: Final = (120.0, 60.0)
"""AH without stress."""

VOICED_FRICATIVES: Final = frozenset({"V", "DH", "Z", "ZH"})
VOICED_STOPS: Final = frozenset({"B", "D", "G", "JH"})
VOICELESS_STOPS: Final = frozenset({"P", "T", "K", "CH"})
NASALS: Final = frozenset({"M", "N", "NG"})
LIQUIDS: Final = frozenset({"L", "R"})

PAUSE_S: Final[dict[str, float]] = {"comma": 0.25, "colon": 0.35, "dash": 0.35, "stop": 0.5}
"""Pause after a word by its punctuation [s] at the reference pace. 0.25 s is the module's own silence; the rest are ours."""

REFERENCE_MINIMUM_S: Final = 0.11714
REFERENCE_EXCESS_S: Final = 0.08865
"""Sum of minimum durations, and of what the rules add to it, per syllable [s], over the passage in
tests/published/north_wind.txt (a test computes both again). They turn a pace into the factor on what the rules add."""
_ONSETS: Final = frozenset(
    (  # noqa: SIM905
        "B|CH|D|DH|F|G|HH|JH|K|L|M|N|P|R|S|SH|T|TH|V|W|Y|Z|ZH|B L|B R|B Y|D R|D W|D Y|F L|F R|F Y|G L|G R|G W|G Y|HH Y|HH W|K L|K R|K W|K Y|"
        "L Y|M Y|N Y|P L|P R|P Y|S F|S K|S L|S M|S N|S P|S T|S W|SH R|SH L|SH M|SH N|SH W|T R|T W|T Y|TH R|TH W|V Y|V L|S K L|S K R|S K W|S K Y|"
        "S P L|S P R|S P Y|S T R|S T Y"
    ).split("|")
)
"""Consonants that may begin an English syllable."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WordPhones:
    """One word as it goes into the rules."""

    phones: tuple[str, ...]
    stress: tuple[int, ...]
    """Per phone, as spoken in this sentence: 0, 1, 2; -1 for consonants."""
    accent: bool
    """Whether its main stress carries the weight of the phrase."""
    weak: bool = False
    """A function word that lost its stress: its vowel is said as a schwa is, if that is shorter (ours)."""
    pause: str = ""
    """Key of ``PAUSE_S`` for what follows, or empty."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedPhone:
    """A phone with its times from the start of the line [ticks]."""

    name: str
    stress: int
    start: int
    stop: int
    word: int


def syllables(phones: Sequence[str]) -> tuple[tuple[int, int, int], ...]:
    """Return (first, vowel, end) of every syllable: as many consonants as may begin a syllable go to the vowel after them."""
    at = [i for i, p in enumerate(phones) if p in VOWELS]
    if not at:
        return ((0, -1, len(phones)),) if phones else ()
    firsts = [0]
    for before, after in pairwise(at):
        first = after
        while first - 1 > before and " ".join(phones[first - 1 : after]) in _ONSETS:
            first -= 1
        firsts.append(first)
    return tuple((firsts[k], at[k], firsts[k + 1] if k + 1 < len(at) else len(phones)) for k in range(len(at)))


def excess_factor(pace: float) -> float:
    """Return the factor on what the rules add to the minimum durations, for a pace [syllables/s]; never below 0.

    Over running text without its pauses the mean rate is then the pace. Zero: the pace is faster than the minimum durations
    let anyone speak, and the line takes its minimum.
    """
    return max((1.0 / pace - REFERENCE_MINIMUM_S) / REFERENCE_EXCESS_S, 0.0)


def segment_ms(words: Sequence[WordPhones]) -> list[list[tuple[float, float]]]:
    """Return, for every word's phones, the minimum and the rule's duration [ms].

    DUR = MIN + (INH - MIN) * product of factors; MIN is halved in unstressed syllables.
    """
    flat = [(w, k) for w, word in enumerate(words) for k in range(len(word.phones))]
    names = [words[w].phones[k] for w, k in flat]
    out: list[list[tuple[float, float]]] = []
    place = 0
    for w, word in enumerate(words):
        parts = syllables(word.phones)
        final_word = bool(word.pause) or w == len(words) - 1
        row: list[tuple[float, float]] = []
        for s, (first, vowel, end) in enumerate(parts):
            last = s == len(parts) - 1
            for k in range(first, end):
                before = names[place - 1] if place and not (k == 0 and w and words[w - 1].pause) else ""
                after = (
                    names[place + 1]
                    if place + 1 < len(names) and not (k == len(word.phones) - 1 and word.pause)
                    else ""
                )
                inherent, least = MS[word.phones[k]]
                stressed = vowel < 0 or word.stress[vowel] > 0
                if k == vowel:
                    if not stressed and (word.phones[k] == "AH" or (word.weak and inherent > SCHWA_MS[0])):
                        inherent, least = SCHWA_MS
                    coda = word.phones[k + 1] if k + 1 < end else ""
                    edge = s == 0 or last
                    accent = word.accent and word.stress[k] == 1
                    factor = _vowel(
                        coda, before, after, final_word and last, last, len(parts) > 1, stressed, edge, accent
                    )
                else:
                    factor = _consonant(word.phones[k], k, vowel, before, after, final_word and last, stressed)
                if not stressed:
                    least /= 2
                row.append((least, least + max(inherent - least, 0.0) * factor))
                place += 1
        out.append(row)
    return out


def _vowel(
    coda: str,
    before: str,
    after: str,
    phrase_final: bool,
    word_final: bool,
    longer: bool,
    stressed: bool,
    edge: bool,
    accent: bool,
) -> float:
    factor = 1.0
    if not phrase_final:
        factor *= 0.6
    if not word_final:
        factor *= 0.85
    if longer:
        factor *= 0.8
    if not stressed:
        factor *= 0.7 if edge else 0.5
    if accent:
        factor *= 1.4
    if not coda:
        factor *= 1.2
    elif coda in VOICED_FRICATIVES:
        factor *= 1.6
    elif coda in VOICED_STOPS:
        factor *= 1.2
    elif coda in NASALS:
        factor *= 0.85
    elif coda in VOICELESS_STOPS:
        factor *= 0.7
    if after in VOWELS:
        factor *= 1.2
    if before in VOWELS:
        factor *= 0.7
    return factor


def _consonant(name: str, k: int, vowel: int, before: str, after: str, phrase_final: bool, stressed: bool) -> float:
    factor = 1.0
    coda = k > vowel >= 0
    if phrase_final and coda:
        factor *= 1.4
        if name in LIQUIDS | NASALS:
            factor *= 1.4
    if k > 0:
        factor *= 0.85
    if not stressed:
        factor *= 0.1 if name in LIQUIDS and not coda else 0.7
    front, back = bool(before) and before not in VOWELS, bool(after) and after not in VOWELS
    if front and back:
        factor *= 0.5
    elif front or back:
        factor *= 0.7
    return factor


def by_rule(words: Sequence[WordPhones], pace: float) -> tuple[TimedPhone, ...]:
    """Return the phones of a line with their times, pauses as "SIL" of word -1; the first begins at 0.

    Args:
        words: the line.
        pace: syllables a second while speaking, pauses left out, on average over running text [1/s].
    """
    k = excess_factor(pace)
    slow = min(max(excess_pause(pace), 0.5), 2.0)
    out: list[TimedPhone] = []
    now = 0.0
    for w, (word, row) in enumerate(zip(words, segment_ms(words), strict=True)):
        for name, stress, (least, rule) in zip(word.phones, word.stress, row, strict=True):
            start = _tick(now)
            now += (least + k * (rule - least)) * 1e-3
            out.append(TimedPhone(name=name, stress=stress, start=start, stop=_tick(now), word=w))
        if word.pause and w < len(words) - 1:
            start = _tick(now)
            now += PAUSE_S[word.pause] * slow
            out.append(TimedPhone(name="SIL", stress=-1, start=start, stop=_tick(now), word=-1))
    return tuple(out)


def fastest(words: Sequence[WordPhones]) -> float:
    """Return the rate at which every phone takes its minimum [syllables/s]."""
    least = sum(low for row in segment_ms(words) for low, _ in row) * 1e-3
    count = sum(p in VOWELS for word in words for p in word.phones)
    return count / least if least else float("inf")


def excess_pause(pace: float) -> float:
    """Return the factor on pauses: they stretch and shrink with the time of a syllable."""
    return (REFERENCE_MINIMUM_S + REFERENCE_EXCESS_S) ** -1 / pace


def _tick(seconds: float) -> int:
    return int(seconds * TICKS_PER_SECOND + 0.5)
