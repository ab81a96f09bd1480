"""Words -> ARPAbet phones with stress: the file's own list, then the dictionary, then letter by letter, and that is told.

The dictionary is the one that comes with the speech recogniser (pocketsphinx, BSD): the Carnegie Mellon pronouncing
dictionary without stress marks; ``stress`` gives them. Nothing is loaded before the first word is asked for.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal, TypeAlias

from marotte.script.dictionary import Dictionary, dictionary
from marotte.script.letters import letters_to_phones
from marotte.script.stress import CONSONANTS, PHONES, VOWELS, default_stress, stress_pattern

__all__ = [
    "CONSONANTS", "FUNCTION_WORDS", "PHONES", "SOUNDS", "VOWELS", "Dictionary", "Origin", "Pronounced", "check_says", "default_stress", "dictionary",
    "parse_arpabet", "pronounce",
]  # fmt: skip

Origin: TypeAlias = Literal["file", "dictionary", "parts", "letters"]
"""The file's `says`; the dictionary; put together from dictionary words; read letter by letter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pronounced:
    """How one word is said."""

    phones: tuple[str, ...]
    """ARPAbet without stress digits."""
    stress: tuple[int, ...]
    """Per phone: 0, 1, 2 for vowels, -1 for consonants."""
    origin: Origin

    @property
    def arpabet(self) -> str:
        """The phones as the file's `says` writes them: ``P AH1 P AH0 T``."""
        return " ".join(p if s < 0 else f"{p}{s}" for p, s in zip(self.phones, self.stress, strict=True))


SOUNDS: Final[dict[str, str]] = {
    "hmm": "HH AH0 M", "hm": "HH AH0 M", "mmm": "M AH0 M", "mm": "M AH0 M", "mhm": "M AH0 HH AH1 M", "uh": "AH1", "um": "AH1 M",
    "shh": "SH", "sh": "SH", "psst": "P S T", "pfft": "P F T", "tsk": "T S K", "brr": "B ER0", "grr": "G ER1", "ugh": "AH1 G",
    "aah": "AA1", "ooh": "UW1", "oof": "UW1 F", "eek": "IY1 K", "ahem": "AH0 HH EH1 M", "aha": "AA0 HH AA1", "huh": "HH AH1",
    "miz": "M IH1 Z", "o'clock": "AH0 K L AA1 K", "nothin'": "N AH1 TH IH0 N",
}  # fmt: skip
"""Sounds that no dictionary spells; ours, from the way they are made (hmm closes the lips)."""

FUNCTION_WORDS: Final = frozenset(
    (  # noqa: SIM905
        "a an the and but or nor so as at by for from in into of off on onto out over per than to up with within without am are be been being is "
        "was were do does did has have had can could may might must shall should will would i me my you your he him his she her it its we us our "
        "they them their this that these those who whom whose which what when where if then there because while till until not no yes 'em 'tis "
        "i'm i'd i'll i've you're you'd you'll you've he's he'd he'll she's she'd she'll it's it'll we're we'd we'll we've they're they'd they'll "
        "they've that's there's here's what's who's don't doesn't didn't isn't aren't wasn't weren't can't couldn't won't wouldn't shouldn't "
        "some any each just about around after before"
    ).split()
) - frozenset("no yes not don't can't won't who what when where this that".split())  # noqa: SIM905
"""Words that carry no stress in running speech unless the writer sets them off. A list of ours, common practice."""


def parse_arpabet(text: str) -> tuple[tuple[str, ...], tuple[int, ...]] | str:
    """Return phones and stresses of a written pronunciation, or a sentence that says what is wrong with it."""
    phones: list[str] = []
    digits: list[str] = []
    for item in text.upper().split():
        match = re.fullmatch(r"([A-Z]{1,2})([012]?)", item)
        if match is None or match[1] not in PHONES:
            return f"{item!r} is no ARPAbet phone"
        if match[2] and match[1] not in VOWELS:
            return f"{item!r}: only vowels carry a stress digit"
        phones.append(match[1])
        digits.append(match[2])
    if not phones:
        return "no phones are given"
    marked = "".join(d or "0" for p, d in zip(phones, digits, strict=True) if p in VOWELS)
    return tuple(phones), _stresses(phones, marked if any(digits) else default_stress(phones))


def check_says(says: Mapping[str, str]) -> list[tuple[str, str]]:
    """Return (sentence, ref) for every entry of the file's `says` that cannot be used."""
    out = []
    for word, written in says.items():
        own = parse_arpabet(written)
        if isinstance(own, str):
            ref = "/brief/says/" + word.replace("~", "~0").replace("/", "~1")
            out.append((f"the pronunciation of {word!r} is passed over: {own}", ref))
    return out


def _stresses(phones: Sequence[str], pattern: str) -> tuple[int, ...]:
    left = iter(pattern)
    return tuple(int(next(left)) if p in VOWELS else -1 for p in phones)


def pronounce(word: str, says: Mapping[str, str]) -> Pronounced:
    """Return how a word is said.

    Args:
        word: lower case, letters and apostrophes.
        says: the file's own words in lower case -> ARPAbet; one that is not ARPAbet is passed over (``check_says`` tells it).
    """
    if word in says:
        own = parse_arpabet(says[word])
        if not isinstance(own, str):
            return Pronounced(phones=own[0], stress=own[1], origin="file")
    # a stem, an ending or half of a compound may be one of the file's words; most words have nothing to do with them
    near = bool(says) and (bool(_STRETCHED.search(word)) or any(own[:-1] in word for own in says))
    return _known(word, says) if near else _known_plain(word)


_STRETCHED: Final = re.compile(r"(.)\1\1")


@lru_cache(maxsize=16384)
def _known_plain(word: str) -> Pronounced:
    return _known(word, {})


def _known(word: str, says: Mapping[str, str]) -> Pronounced:
    found = _look_up(word, says)
    if found is not None:
        return found
    stretched = re.sub(r"(.)\1{2,}", r"\1\1", word)  # nooo, hmmmm
    for shorter in dict.fromkeys((stretched, re.sub(r"(.)\1+", r"\1", word))):
        if shorter != word and _STRETCHED.search(word):
            found = _look_up(shorter, says)
            if found is not None:
                return found
    found = _with_ending(word, says) or _compound(word, says)
    if found is not None:
        return found
    phones = letters_to_phones(word)
    return Pronounced(phones=phones, stress=_stresses(phones, default_stress(phones)), origin="letters")


def _look_up(word: str, says: Mapping[str, str]) -> Pronounced | None:
    if word in says:
        own = parse_arpabet(says[word])
        if not isinstance(own, str):
            return Pronounced(phones=own[0], stress=own[1], origin="file")
    if word in SOUNDS:
        sound = parse_arpabet(SOUNDS[word])
        assert not isinstance(sound, str)
        return Pronounced(phones=sound[0], stress=sound[1], origin="dictionary")
    phones = dictionary().find(word)
    if phones is None and word.endswith("'"):
        phones = dictionary().find(word[:-1])  # dogs'
    if phones is None and word.startswith("'"):
        phones = dictionary().find(word[1:])
    if not phones:
        return None
    return Pronounced(phones=phones, stress=_stresses(phones, stress_pattern(word, phones)), origin="dictionary")


def _with_ending(word: str, says: Mapping[str, str]) -> Pronounced | None:
    """Known stems with 's, s, es, ed, ing, in', ly, er, less, ness."""
    endings = (
        ("'s", "S"), ("s'", "S"), ("es", "S"), ("s", "S"), ("ed", "D"), ("ing", "IH NG"), ("in'", "IH N"), ("ly", "L IY"),
        ("er", "ER"), ("ish", "IH SH"), ("less", "L AH S"), ("ness", "N AH S"), ("like", "L AY K"),
    )  # fmt: skip
    for ending, sound in endings:
        if not word.endswith(ending) or len(word) - len(ending) < 3:
            continue
        stem = word[: -len(ending)]
        stems = [stem]
        if ending in {"ed", "ing", "in'", "er", "ish"}:
            stems += [f"{stem}e"] + ([stem[:-1]] if stem[-1] == stem[-2] else [])
        if stem.endswith("i"):
            stems.append(f"{stem[:-1]}y")
        for one in stems:
            found = _look_up(one, says) or _compound(one, says)
            if found is not None:
                return _joined(found, _suffix(found.phones[-1], sound))
    return None


def _suffix(last: str, sound: str) -> tuple[str, ...]:
    """Return the plural and past endings as the last sound of the stem asks for them."""
    if sound == "S":
        if last in {"S", "Z", "SH", "ZH", "CH", "JH"}:
            return ("AH", "Z")
        return ("S",) if last in {"P", "T", "K", "F", "TH"} else ("Z",)
    if sound == "D":
        if last in {"T", "D"}:
            return ("AH", "D")
        return ("T",) if last in {"P", "K", "F", "TH", "S", "SH", "CH"} else ("D",)
    return tuple(sound.split())


def _joined(stem: Pronounced, ending: tuple[str, ...]) -> Pronounced:
    return Pronounced(
        phones=stem.phones + ending,
        stress=stem.stress + tuple(0 if p in VOWELS else -1 for p in ending),
        origin="parts",
    )


def _compound(word: str, says: Mapping[str, str]) -> Pronounced | None:
    """Two known words written as one, of three letters and four or more: the first keeps the main stress."""
    for cut in range(len(word) - 4, 2, -1):
        first, second = _look_up(word[:cut], says), _look_up(word[cut:], says)
        if first is not None and second is not None:
            return Pronounced(
                phones=first.phones + second.phones,
                stress=first.stress + tuple(2 if s == 1 else s for s in second.stress),
                origin="parts",
            )
    return None
