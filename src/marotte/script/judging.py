"""A line as the recogniser laid it over a recording -> whether it holds, how sure, how loud, and what is to be told of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from marotte.basis.ticks import ticks
from marotte.script.recogniser import HeardPhone, HeardWord
from marotte.script.spoken import SaidWord
from marotte.script.stress import VOWELS, default_stress
from marotte.script.timing import TimedPhone, WordPhones, by_rule
from marotte.script.voices import I16, RATE, Voice

WORST_WORD: Final = -45.0
"""A word whose score a frame is below this is doubtful; very short words scatter more and are given 10 more."""
WORST_LINE: Final = -40.0
"""Below this mean the text is not what is spoken."""
WORST_SHORT_LINE: Final = -30.0
"""The same for a line of under six phones: so short a thing is found in any speech."""
WORST_SHARE: Final = 0.30
"""Nor is it, if more than this share of the line's phones is in doubtful words."""
LONGEST_CLOSURE_S: Final = 0.110
"""No sound tells when the mouth closes for a stop after a silence, and the recogniser gives such a stop much of the silence. It is
taken to begin no more than this before its end: the longest closure measured (docs/methods/alignment.md) [s]."""
STOPS: Final = frozenset({"P", "B", "T", "D", "K", "G", "CH", "JH"})
NOISE_S: Final = 0.30
"""Loud sound between words that lasts longer than this is told [s]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """A line to be found in a recording."""

    line: int
    said: tuple[SaidWord, ...]
    words: tuple[WordPhones, ...]
    """Its words with phones and stress by the dictionary, one for each said word."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardLine:
    """One line as it was found."""

    phones: tuple[TimedPhone, ...]
    """From 0 at its first phone; silences and noises as "SIL" of word -1."""
    start_s: float
    """Where its first phone is in the recording [s]."""
    recording: str
    quality: float
    """0 to 1: 1 sounds exactly as the model expects; 0.5 is where a word is doubtful."""
    word_quality: tuple[float, ...]
    loudness: tuple[float, ...]
    """Per word, against the line's own mean [dB]."""
    doubtful: tuple[int, ...] = ()
    """Words that do not sound as written."""


def judged(voice: Voice, want: Wanted, words: Sequence[HeardWord]) -> tuple[HeardLine | None, list[str]]:
    """Return the line if it holds, and what is to be told of it."""
    words = _closed(words)
    spoken = [word for word in words if word.word]
    doubtful = [k for k, word in enumerate(spoken) if word.score < WORST_WORD - (10 if len(word.phones) < 3 else 0)]
    frames = [word.stop - word.start for word in spoken]
    mean = sum(word.score * length for word, length in zip(spoken, frames, strict=True)) / sum(frames)
    share = sum(len(spoken[k].phones) for k in doubtful) / sum(len(word.phones) for word in spoken)
    names = named([want.said[k].written for k in doubtful])
    phones = sum(len(word.phones) for word in spoken)
    if mean < (WORST_LINE if phones >= 6 else WORST_SHORT_LINE) or share > WORST_SHARE:
        what = f"does not match {voice.name}" + (f" at {names}" if names else "")
        return None, [f"{what}: it is timed by rule"]
    sentences = [f"sounds unlike its text in {voice.name} at {names}"] if names else []
    origin = spoken[0].start
    levels = _levels(voice.pcm, spoken)
    noises = [w for w in words if not w.word and _is_noise(voice.pcm, w, levels) and origin < w.start < spoken[-1].stop]
    sentences += [
        f"has {noise.stop - noise.start:.1f} s of sound without words in {voice.name} at {noise.start:.1f} s (a laugh, a breath, a noise, or "
        "words that are not written): the mouth does not speak there"
        for noise in noises
    ]
    rule = _rule_lengths(want)
    long = [k for k, w in enumerate(spoken) if w.stop - w.start > 2.5 * rule[k] + 0.35 and k not in doubtful]
    if long:
        held = named([want.said[k].written for k in long])
        sentences.append(f"holds {held} for very long in {voice.name}: perhaps more is spoken there than is written")
    quality = tuple(_quality(word.score) for word in spoken)
    mean_db = 10 * float(np.log10(np.mean(10 ** (levels / 10))))
    return HeardLine(
        phones=_timed(want, words, origin), start_s=origin, recording=voice.name, quality=_quality(mean), word_quality=quality,
        loudness=tuple(float(round(level - mean_db, 2)) for level in levels), doubtful=tuple(doubtful),
    ), sentences  # fmt: skip


def _closed(words: Sequence[HeardWord]) -> list[HeardWord]:
    """Give back to the silence what a stop after it has of it beyond a closure."""
    out: list[HeardWord] = []
    for k, word in enumerate(words):
        first = word.phones[0] if word.phones else None
        after_silence = k == 0 or not words[k - 1].word
        if (
            word.word
            and first is not None
            and after_silence
            and first.name in STOPS
            and first.stop - first.start > LONGEST_CLOSURE_S
        ):
            start = first.stop - LONGEST_CLOSURE_S
            phones = (HeardPhone(first.name, start, first.stop), *word.phones[1:])
            if out and not out[-1].word:
                out[-1] = HeardWord("", out[-1].start, start, out[-1].score, ())
            word = HeardWord(word.word, start, word.stop, word.score, phones)
        out.append(word)
    return out


def named(words: Sequence[str]) -> str:
    """Return words in quotes, the first six of them."""
    shown = ", ".join(repr(word) for word in words[:6])
    return shown + (f" and {len(words) - 6} more" if len(words) > 6 else "")


def _quality(score: float) -> float:
    """Return 1 at a score of -10 a frame, 0.5 at -40, 0 at -70."""
    return round(min(max((score + 70.0) / 60.0, 0.0), 1.0), 4)


def _rule_lengths(want: Wanted) -> list[float]:
    out = [0.0] * len(want.words)
    for phone in by_rule(want.words, 4.6):
        if phone.word >= 0:
            out[phone.word] += (phone.stop - phone.start) / 1200
    return out


def _level(pcm: I16, start: float, stop: float) -> float:
    block = pcm[int(start * RATE) : max(int(stop * RATE), int(start * RATE) + 80)].astype(np.float64)
    return 10 * float(np.log10(np.mean(block * block) + 1.0)) if len(block) else 0.0


def _levels(pcm: I16, words: Sequence[HeardWord]) -> NDArray[np.float64]:
    """Return the level of every word's vowels (of all of it, where it has none) [dB]."""
    out = []
    for word in words:
        vowels = [p for p in word.phones if p.name in VOWELS] or list(word.phones)
        out.append(max(_level(pcm, p.start, p.stop) for p in vowels))
    return np.array(out)


def _is_noise(pcm: I16, gap: HeardWord, levels: NDArray[np.float64]) -> bool:
    """Tell whether a gap between words is loud for long: within 15 dB of the quietest fifth of the words."""
    if gap.stop - gap.start < NOISE_S:
        return False
    step = 0.05
    count = int((gap.stop - gap.start) / step)
    loud = sum(
        _level(pcm, gap.start + k * step, gap.start + (k + 1) * step) > np.percentile(levels, 20) - 15
        for k in range(count)
    )
    return loud * step >= NOISE_S


def _timed(want: Wanted, words: Sequence[HeardWord], origin: float) -> tuple[TimedPhone, ...]:
    """Return the phones in ticks from the first; gaps between words become silences."""
    out: list[TimedPhone] = []
    w = -1
    for word in words:
        if not word.word:
            continue
        w += 1
        names = [p.name for p in word.phones]
        stress = _stress(want.words[w], names)
        for phone, level in zip(word.phones, stress, strict=True):
            start, stop = ticks(phone.start - origin), ticks(phone.stop - origin)
            if out and start > out[-1].stop:
                out.append(TimedPhone(name="SIL", stress=-1, start=out[-1].stop, stop=start, word=-1))
            start = out[-1].stop if out else start
            out.append(TimedPhone(name=phone.name, stress=level, start=start, stop=max(stop, start + 1), word=w))
    return tuple(out)


def _stress(word: WordPhones, names: Sequence[str]) -> tuple[int, ...]:
    """Return stress for the way that was heard: that of the written word where the vowels are as many, else by rule."""
    vowels = [s for s in word.stress if s >= 0]
    if len(vowels) != sum(n in VOWELS for n in names):
        vowels = [0 if word.weak else int(c) for c in default_stress(names)]
    left = iter(vowels)
    return tuple(next(left) if n in VOWELS else -1 for n in names)
