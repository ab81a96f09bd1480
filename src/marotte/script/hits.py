"""Hits: the instants that must come off, with the window in which each is still in time.

A mouth is seen to be wrong against its voice when the picture is late by 45 ms or early by 125 ms (detectability, ITU-R
BT.1359-1, 1998): late is noticed sooner than early. What is left of that window for the machine depends on who speaks.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from marotte.basis.contracts.common import F32, F64, Told
from marotte.basis.contracts.script import Hit, HitKind, Need
from marotte.basis.ticks import SERIES_EVERY, ticks
from marotte.creature.schema.build import Build
from marotte.script.cast import Cast
from marotte.script.closures import FRAME
from marotte.script.curves import peaks
from marotte.script.lids import WHOLE, Blink
from marotte.script.score import Score
from marotte.script.speech import SEEN

EARLY: Final = ticks(0.125)
"""The picture may be this early [ticks] (BT.1359-1: sound late by 125 ms is detectable)."""
LATE: Final = ticks(0.045)
"""The picture may be this late [ticks] (BT.1359-1: sound early by 45 ms is detectable)."""
SHUT_WITHIN: Final = 0.05
"""Share of its travel by which a function may miss a closed mouth (a rule of this project)."""
SEAL_GAP: Final = 0.001
"""Gap [m] at the lid edge that still reads as shut (common practice, no source)."""
EYE_WITHIN: Final = math.radians(2.0)
"""Aim error at which a look is on its target (common practice, no source)."""
HEAD_WITHIN: Final = math.radians(3.0)
BODY_WITHIN: Final = math.radians(5.0)
"""The same for head and body, which no one reads so closely (rules of this project)."""
STILL_WITHIN: Final = math.radians(0.5)
"""How far eyes may stray in a stillness (a rule of this project)."""
HEAD_STILL: Final = math.radians(1.0)
STEADY: Final = ticks(0.25)
"""How late a look may land [ticks]; a rule of this project."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceMode:
    """How early the performer can be, and how much the timing scatters. From memory of practice, not verified."""

    lead: int
    """The most by which the performer can lead the voice [ticks]; below zero: how late at best."""
    spread: int
    says: str


VOICES: Final[dict[Literal["own", "playback", "other"], VoiceMode]] = {
    "own": VoiceMode(lead=ticks(0.100), spread=ticks(0.040), says="her own voice: the mouth leads it"),
    "playback": VoiceMode(lead=ticks(0.040), spread=ticks(0.055), says="a known playback with pre-roll"),
    "other": VoiceMode(
        lead=-ticks(0.300), spread=ticks(0.050), says="another's live voice, followed 0.25 to 0.35 s late"
    ),
}


def allowed(start: int, stop: int, voice: Literal["own", "playback", "other"]) -> tuple[int, int]:
    """Return the window in which the machine's answer to what is asked over [start, stop] is still in time.

    Seen time = asked time - the performer's lead + the machine's own lag, and must lie between 125 ms early and 45 ms late, with
    the performer's scatter taken off both ends. The performer chooses a lead between none and the most there is.
    """
    mode = VOICES[voice]
    early = EARLY - mode.spread - min(mode.lead, 0)
    late = LATE - mode.spread + mode.lead
    return start - early, stop + late


def open_peaks(score: Score, cast: Cast, values: F32) -> F64:
    """Return (openings of all lines in order, jaws) how far each jaw is asked to go at most in each opening."""
    spans = [_samples(o.start, o.stop, values.shape[1]) for part in score.mouthings for o in part.openings]
    ends = np.array(spans, np.int64).reshape(-1, 2)
    out = np.zeros((len(cast.jaws), len(spans)))
    for row, found in zip(cast.jaws, out, strict=True):
        peaks(values[row], ends[:, 0].copy(), ends[:, 1].copy(), found)
    return np.ascontiguousarray(out.T)


def mouth_hits(score: Score, cast: Cast, widest: F64) -> list[Hit]:
    """Return the hits of the mouth: openings, closures, lips to teeth. ``widest`` from ``open_peaks``."""
    out: list[Hit] = []
    jaws = [
        (
            cast.names[row],
            float(cast.shapes[1, cast.mouth.index(row)]),
            SHUT_WITHIN * float(cast.high[row] - cast.low[row]),
        )
        for row in cast.jaws
    ]
    rest = iter(widest.tolist())
    seal_columns = [cast.mouth.index(row) for row in cast.seals]
    lines = {item.line: item for item in score.lines}
    shut_by = {
        kind: tuple(
            Need(
                function=cast.names[row], sense="<=",
                bound=float(cast.shapes[shape, column] + SHUT_WITHIN * (cast.high[row] - cast.low[row])),
            )
            for row, column in zip(cast.seals, seal_columns, strict=True)
        )
        for kind, shape in (("closure", 1), ("lip_teeth", 2))
    }  # fmt: skip
    for part in score.mouthings:
        line = lines[part.line]
        spans = [(o.start, o.stop) for o in part.openings]
        for count, (opening, most) in enumerate(zip(part.openings, rest, strict=False)):
            needs = [
                Need(function=name, sense=">=", bound=shut + SEEN * (peak - shut))
                for (name, shut, little), peak in zip(jaws, most, strict=True)
                if peak - shut > little
            ]
            if not needs:
                continue  # squeezed shut between two contacts: told as giving way
            out.append(
                _hit(
                    "open",
                    part.line,
                    count,
                    spans,
                    1,
                    tuple(needs),
                    _word(line.words, opening.word),
                    opening.weight,
                    score,
                )
            )
        for kind in shut_by:
            some = [c for c in part.contacts if c.kind == kind]
            spans_c = [(c.start, c.stop) for c in some]
            if cast.beak and score.style == "lips":
                continue  # a beak has no lips: that is told
            for count, item in enumerate(some if cast.seals else ()):
                word = _word(line.words, item.word)
                out.append(_hit(kind, part.line, count, spans_c, item.hold, shut_by[kind], word, item.weight, score))  # type: ignore[arg-type]
    return out


def gives_way(score: Score, cast: Cast, widest: F64) -> list[Told]:
    """Return what ``lips`` gives up at speed: stressed vowels whose opening comes to less than half of their shape's."""
    told: list[Told] = []
    numbers = {line.line: line for line in score.lines}
    jaws = [
        (cast.shapes[:, cast.mouth.index(row)].tolist(), SHUT_WITHIN * float(cast.high[row] - cast.low[row]))
        for row in cast.jaws
    ]
    rest = iter(widest.tolist())
    for part in score.mouthings:
        lost: list[str] = []
        centres, shapes = part.centres.tolist(), part.shapes.tolist()
        for opening, most in zip(part.openings, rest, strict=False):
            inside = shapes[bisect_left(centres, opening.start) : bisect_left(centres, opening.stop)]
            for (at, little), peak in zip(jaws, most, strict=True):
                wanted = max((at[n] - at[1] for n in inside), default=0.0)
                got = peak - at[1]
                if wanted > little and got < 0.5 * wanted:
                    lost.append(_word(numbers[part.line].words, opening.word))
        if lost:
            what = ", ".join(dict.fromkeys(lost))
            sentence = f"line {part.line}: at this speed the mouth opens less than half as wide as asked on: {what}"
            told.append(Told(code="lips.narrow", line=part.line, sentence=sentence))
    return told


def _hit(
    kind: HitKind, line: int, count: int, spans: Sequence[tuple[int, int]], hold: int, needs: tuple[Need, ...], word: str,
    weight: float, score: Score,
) -> Hit:  # fmt: skip
    start, stop = spans[count]
    opens, shuts = allowed(start, stop, score.voice)
    # a neighbour of the same kind must not stand in for this one; what is left may be nothing, and then nothing meets it
    if count:
        opens = max(opens, min(start, (spans[count - 1][1] + start) // 2))
    if count + 1 < len(spans):
        shuts = min(shuts, max(stop, (stop + spans[count + 1][0]) // 2))
    return Hit(
        id=f"{kind}.{line}.{count}", kind=kind, opens=max(0, opens), shuts=max(0, shuts), hold=hold, needs=needs, line=line,
        word=word, weight=weight,
    )  # fmt: skip


def lid_hits(score: Score, cast: Cast, build: Build, shut: F64) -> list[Hit]:
    """Return a hit for each blink: every lid shut for one whole frame. ``shut`` (lids,) is where each lid is shut."""
    needs = tuple(
        Need(
            function=cast.names[row], sense=">=" if shut[k] >= cast.neutral[row] else "<=",
            bound=float(shut[k] - math.copysign(_seal(cast, row, build), shut[k] - cast.neutral[row])),
        )
        for k, row in enumerate(cast.lids)
    )  # fmt: skip
    out: list[Hit] = []
    counts: dict[int, int] = {}
    for blink in score.blinks if needs else ():
        count = counts.get(blink.line, 0)
        counts[blink.line] = count + 1
        out.append(_lid_hit(blink, count, needs))
    return out


def _lid_hit(blink: Blink, count: int, needs: tuple[Need, ...]) -> Hit:
    return Hit(
        id=f"lids_shut.{blink.line}.{count}", kind="lids_shut", opens=blink.at, shuts=blink.at + WHOLE + FRAME, hold=FRAME,
        needs=needs, line=blink.line, word=blink.why,
    )  # fmt: skip


def _seal(cast: Cast, row: int, build: Build) -> float:
    """Return the position [rad or m] by which a lid may stay short of shut: 1 mm at its edge."""
    if cast.units[row] == "m":
        return SEAL_GAP
    function = cast.functions[row]
    if function.load.shell is not None:
        return SEAL_GAP / function.load.shell.inner
    if function.tells_at is not None:
        return SEAL_GAP / function.tells_at.arm
    if build.eye is not None:
        return SEAL_GAP / (0.5 * build.eye.diameter)
    return SHUT_WITHIN * float(cast.high[row] - cast.low[row])


def within(cast: Cast, row: int, at: float, by: float) -> tuple[Need, Need]:
    """Return the two needs that keep a function within a distance of a position."""
    name = cast.names[row]
    return Need(function=name, sense=">=", bound=at - by), Need(function=name, sense="<=", bound=at + by)


def _samples(start: int, stop: int, samples: int) -> tuple[int, int]:
    first = min(max(-(-start // SERIES_EVERY), 0), samples - 1)
    return first, min(max(stop // SERIES_EVERY, first), samples - 1)


def _word(words: tuple[str, ...], index: int) -> str:
    return words[index] if 0 <= index < len(words) else ""


def at_sample(values: F32, row: int, tick: int) -> float:
    """Return the asked position of a row at a tick."""
    return float(values[row, min(max(tick // SERIES_EVERY, 0), values.shape[1] - 1)])


def spread_of(values: F32, row: int, start: int, stop: int) -> float:
    """Return how far a row moves within a span [rad or m]."""
    first, last = _samples(start, stop, values.shape[1])
    piece = values[row, first : last + 1]
    return float(np.ptp(piece))
