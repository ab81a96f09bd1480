"""Recordings -> when each phone of a line is spoken, how sure that is, and how loud.

One line in a short recording is laid over it directly. A long recording, of one line or of many, is first read roughly with a
language model made of the script alone; what is heard is matched to what is written; the sound is cut between the pieces; each
piece is then laid over its own stretch. What does not fit is told by its words, and the line is timed by rule.
Equations, thresholds and measured accuracy: docs/methods/alignment.md.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from marotte.basis.contracts.common import Told
from marotte.script.dictionary import dictionary
from marotte.script.judging import HeardLine, Wanted, judged, named
from marotte.script.matching import matched, quiet_stretches, stretches
from marotte.script.recogniser import HeardPhone, HeardWord, Recogniser
from marotte.script.voices import RATE, Voice

Found = tuple[tuple[HeardWord, ...] | None, tuple[int, ...]]
"""A line as it was laid over the recording; or None, and which of its words were not heard."""

__all__ = ["HeardLine", "Hearing", "Wanted", "hear", "pieces_of"]

DIRECT_S: Final = 30.0
"""A recording of one line up to this long is aligned in one go [s]."""
LONGEST_HOLE_S: Final = 3.0
"""Longest pause inside a piece that is still taken for one [s]."""
MOST_OUTSIDE: Final = 0.5
"""Share of a recording's sound outside the words: above this the recording of one line is not of that line."""
PIECE_WORDS: Final = 40
"""Longer lines are cut at sentence ends, else at phrase ends, into pieces of at most about this many words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hearing:
    """What was found in one recording."""

    lines: dict[int, HeardLine]
    told: tuple[Told, ...] = ()


def hear(voice: Voice, wanted: Sequence[Wanted]) -> Hearing:
    """Return what a recording holds of some lines, in their order.

    Deterministic; no line is left out without being told.
    """
    asked = [want for want in wanted if want.words]
    if not asked:
        return Hearing(lines={}, told=voice.told)
    told = list(voice.told)
    lines: dict[int, HeardLine] = {}
    with Recogniser(_vocabulary(asked)) as recogniser:
        direct = len(asked) == 1 and voice.seconds <= DIRECT_S and len(asked[0].words) <= 2 * PIECE_WORDS
        found = [_direct(recogniser, voice, asked[0])] if direct else _cut(recogniser, voice, asked)
    for want, (words, unheard) in zip(asked, found, strict=True):
        if words is None:
            told.append(_told(want, _not_found(voice, want, unheard)))
            continue
        heard, sentences = judged(voice, want, words)
        told += [_told(want, sentence) for sentence in sentences]
        if heard is not None:
            lines[want.line] = heard
    outside = _outside(voice, lines.values()) if lines else 0.0
    if outside > MOST_OUTSIDE and len(asked) == 1:
        return Hearing(
            lines={},
            told=(*told, _told(asked[0], f"is only a small part of what {voice.name} says: it is timed by rule")),
        )
    if outside > MOST_OUTSIDE:
        told.append(Told(code="voice", sentence=f"{outside:.0%} of the sound in {voice.name} is in none of its lines"))
    return Hearing(lines=lines, told=tuple(told))


def _outside(voice: Voice, lines: Iterable[HeardLine]) -> float:
    """Return the share of what is loud in a recording that lies in no word of its lines."""
    loud = np.ones(int(voice.seconds * 100), dtype=bool)
    for a, b in quiet_stretches(voice.pcm):
        loud[round(a * 100) : round(b * 100)] = False
    inside = np.zeros_like(loud)
    for line in lines:
        for phone in line.phones:
            if phone.word >= 0:
                inside[
                    round((line.start_s + phone.start / 1200) * 100) : round((line.start_s + phone.stop / 1200) * 100)
                ] = True
    return int(np.sum(loud & ~inside)) / max(int(np.sum(loud)), 1)


def _not_found(voice: Voice, want: Wanted, unheard: Sequence[int]) -> str:
    """Say which words of a line a recording lacks."""
    what = f"is not what {voice.name} says, or cannot be found in it"
    if not unheard:
        return f"{what}, though its words are: it is timed by rule"
    if len(unheard) == len(want.said):
        return f"{what} (none of its words is heard): it is timed by rule"
    return f"{what} (not heard: {named([want.said[k].written for k in unheard])}): it is timed by rule"


def _told(want: Wanted, sentence: str) -> Told:
    return Told(code="voice.line", sentence=f"line {want.line} {sentence}", line=want.line)


def _vocabulary(wanted: Sequence[Wanted]) -> dict[str, list[tuple[str, ...]]]:
    """Return the ways in which each word may be said: ours first, and the dictionary's others."""
    out: dict[str, list[tuple[str, ...]]] = {}
    for want in wanted:
        for said, word in zip(want.said, want.words, strict=True):
            ways = out.setdefault(said.word, [])
            for way in (word.phones, *dictionary().find_all(said.word)):
                if way not in ways:
                    ways.append(way)
    return out


def _direct(recogniser: Recogniser, voice: Voice, want: Wanted) -> Found:
    text = [said.word for said in want.said]
    words = recogniser.force(voice.pcm, text)
    if words is not None:
        return words, ()
    heard = {k for _, k in matched([word for word, _, _ in recogniser.rough([voice.pcm], [0.0], [text])], text)}
    return None, tuple(k for k in range(len(text)) if k not in heard)


def pieces_of(want: Wanted) -> list[tuple[int, int]]:
    """Return the (first, end) words of the pieces that a line is aligned in."""
    out = []
    first = 0
    for k, said in enumerate(want.said):
        length = k + 1 - first
        last = k + 1 == len(want.said)
        if (
            last
            or (said.pause == "stop" and length >= PIECE_WORDS // 3)
            or (said.pause and length >= PIECE_WORDS)
            or length >= 2 * PIECE_WORDS
        ):
            out.append((first, k + 1))
            first = k + 1
    if len(out) > 1 and out[-1][1] - out[-1][0] < 4:
        out[-2:] = [(out[-2][0], out[-1][1])]
    return out


def _cut(recogniser: Recogniser, voice: Voice, wanted: Sequence[Wanted]) -> list[Found]:
    """Find the pieces of all lines in one recording, cut the sound between them, align each."""
    pieces = [(w, first, end) for w, want in enumerate(wanted) for first, end in pieces_of(want)]
    texts = [[said.word for said in wanted[w].said[first:end]] for w, first, end in pieces]
    sounds, starts = stretches(voice.pcm)
    heard = recogniser.rough(sounds, starts, texts)
    written = [word for text in texts for word in text]
    pairs = matched([word for word, _, _ in heard], written)
    spans = _spans(voice, texts, heard, pairs)
    out: list[list[HeardWord] | None] = [[] for _ in wanted]
    for (w, _, _), text, span in zip(pieces, texts, spans, strict=True):
        got = None
        if span is not None:
            a, b = span
            got = recogniser.force(voice.pcm[int(a * RATE) : int(b * RATE)], text)
        line = out[w]
        if got is None or span is None:
            out[w] = None
        elif line is not None:
            if line:
                line.append(HeardWord("", line[-1].stop, span[0], 0.0, ()))  # what lies between two pieces
            line.extend(_moved(word, span[0]) for word in got)
    found = {k for _, k in pairs}
    firsts = np.cumsum([0, *(len(want.said) for want in wanted)])
    return [
        (tuple(line), ()) if line else (None, tuple(k for k in range(len(want.said)) if first + k not in found))
        for line, want, first in zip(out, wanted, firsts, strict=False)
    ]


def _moved(word: HeardWord, by: float) -> HeardWord:
    phones = tuple(HeardPhone(p.name, p.start + by, p.stop + by) for p in word.phones)
    return HeardWord(word.word, word.start + by, word.stop + by, word.score, phones)


def _spans(
    voice: Voice,
    texts: Sequence[Sequence[str]],
    heard: Sequence[tuple[str, float, float]],
    pairs: Sequence[tuple[int, int]],
) -> list[tuple[float, float] | None]:
    """Return where each piece lies [s], from its matched words; None where under half of them were heard.

    A border between two pieces is put in the longest quiet stretch between what was heard of them. Beyond its first and last
    matched word a piece reaches 0.4 s and 0.6 s for each word that was not heard there, at most to the border.
    """
    where = {written: heard[h] for h, written in pairs}
    firsts = np.cumsum([0, *(len(text) for text in texts)])
    inside = [_together([k for k in range(firsts[p], firsts[p + 1]) if k in where], where) for p in range(len(texts))]
    known = [p for p in range(len(texts)) if 2 * len(inside[p]) >= len(texts[p])]
    out: list[tuple[float, float] | None] = [None] * len(texts)
    quiet = quiet_stretches(voice.pcm)
    borders = {}
    for p, q in zip([None, *known], [*known, None], strict=True):
        a = 0.0 if p is None else where[inside[p][-1]][2]
        b = voice.seconds if q is None else where[inside[q][0]][1]
        borders[p, q] = a if p is None else b if q is None else _border(quiet, a, b)
    for place, p in enumerate(known):
        before = borders[known[place - 1] if place else None, p]
        after = borders[p, known[place + 1] if place + 1 < len(known) else None]
        lead = inside[p][0] - firsts[p]
        trail = firsts[p + 1] - 1 - inside[p][-1]
        a = float(max(before, where[inside[p][0]][1] - 0.4 - 0.6 * lead, 0.0))
        b = float(min(after, where[inside[p][-1]][2] + 0.4 + 0.6 * trail, voice.seconds))
        if b - a > 0.1:
            out[p] = (a, b)
    return out


def _together(words: Sequence[int], where: Mapping[int, tuple[str, float, float]]) -> list[int]:
    """Return the matched words of a piece that belong together: the longest run without a hole of more than 3 s and 0.6 s a word.

    A language model of the script alone hears words of the script in anything that is spoken; such strays lie far off.
    """
    runs: list[list[int]] = []
    for k in words:
        if runs and where[k][1] - where[runs[-1][-1]][2] <= LONGEST_HOLE_S + 0.6 * (k - runs[-1][-1] - 1):
            runs[-1].append(k)
        else:
            runs.append([k])
    return max(runs, key=len, default=[])


def _border(quiet: Sequence[tuple[float, float]], a: float, b: float) -> float:
    """Return the middle of the longest quiet stretch between two times, or of the time between them."""
    best = max(
        ((min(stop, b) - max(start, a), -start, start, stop) for start, stop in quiet if stop > a and start < b),
        default=None,
    )
    return (a + b) / 2 if best is None else (max(best[2], a) + min(best[3], b)) / 2
