"""What lines ask of a mouth, kept: a line that was only moved in time is moved, and not worked out again."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from marotte.basis.contracts.common import I64
from marotte.basis.contracts.script import Phone, Spoken
from marotte.basis.ticks import ticks
from marotte.script.speech import Mouthing, Style, mouthing
from marotte.script.syllables import phrases

LATE: Final = ticks(1.0)
"""A line that starts later is worked out as if it started then [ticks]; before, the start of the part may cut a contact short."""

Sound = tuple[str, int, int, int, int]


def mouthed(line: Spoken, style: Style) -> tuple[Mouthing, tuple[tuple[int, int], ...]]:
    """Return what a line asks of a mouth played in a style, and the start and end [ticks] of each of its phrases."""
    by = max(line.start - LATE, 0)
    sounds = tuple([(p.name, p.stress, p.start - by, p.stop - by, p.word) for p in line.phones])
    part, spans = _kept(
        style, line.line, line.start - by, line.stop - by, line.words, line.accents, line.loudness, line.seen, sounds
    )
    if not by:
        return part, spans
    return _moved(part, by), tuple((start + by, stop + by) for start, stop in spans)


@lru_cache(maxsize=512)
def _kept(
    style: Style, number: int, start: int, stop: int, words: tuple[str, ...], accents: tuple[int, ...], loudness: tuple[float, ...],
    seen: bool, sounds: tuple[Sound, ...],
) -> tuple[Mouthing, tuple[tuple[int, int], ...]]:  # fmt: skip
    phones = tuple(Phone(name=n, stress=s, start=a, stop=b, word=w) for n, s, a, b, w in sounds)
    line = Spoken(
        line=number, scene="", file_line=0, text="", mood="", start=start, stop=stop, words=words, word_spans=(), phones=phones,
        syllables=0, from_recording=False, seen=seen, accents=accents, loudness=loudness,
    )  # fmt: skip
    spans = phrases(line)
    return mouthing(line, style, spans), tuple((span.start, span.stop) for span in spans)


def _moved(part: Mouthing, by: int) -> Mouthing:
    centres: I64 = part.centres + by
    centres.flags.writeable = False
    return Mouthing(
        line=part.line, start=part.start + by, stop=part.stop + by, keys=tuple([(tick + by, value) for tick, value in part.keys]),
        openings=tuple([o._replace(start=o.start + by, stop=o.stop + by) for o in part.openings]),
        contacts=tuple([c._replace(start=c.start + by, stop=c.stop + by) for c in part.contacts]),
        shapes=part.shapes, centres=centres, alphas=part.alphas, thetas=part.thetas, told=part.told,
    )  # fmt: skip
