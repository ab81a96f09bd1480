"""All that is asked, laid on the 240 Hz series one stretch after another.

What holds at a sample depends on the keys and on that sample alone, so the length of a stretch changes nothing; a few seconds
of all functions stay near the processor, and half an hour needs hardly more room than its own series.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F32, F64
from marotte.basis.ticks import SERIES_EVERY
from marotte.creature.schema.build import Build
from marotte.script.cast import Cast
from marotte.script.closures import RAMP, RAMP_FULL, Contact
from marotte.script.curves import Curves, Keys, settle
from marotte.script.laid import say, touch
from marotte.script.lids import DOWN, FOLLOW, SHUT, WHOLE
from marotte.script.look import Seen, eyes_of
from marotte.script.moods import IN_SPEECH
from marotte.script.mouth import REACH, blend_series
from marotte.script.score import Score
from marotte.script.speech import Mouthing

STRETCH: Final = 8192
"""Samples laid at a time (34 s)."""
AT_HAND: Final = 48
"""Lines whose blended mouth is held meanwhile, about 0.2 MB each."""
WIDE: Final = round(RAMP_FULL) // SERIES_EVERY
"""Samples beside a contact in which the mouth's width counts."""


def lay(keys: Keys, score: Score, who: Cast, seen: tuple[Seen, ...], build: Build, shut: F64) -> F32:
    """Return (functions, samples) of what is asked, read-only.

    ``keys``: what colours the part, head and business; ``seen``: its looks; ``shut`` (lids,): where each lid is shut.
    """
    samples = score.stop // SERIES_EVERY
    colour, mouth, eyes, blinks = (
        keys.packed(),
        _Mouth(score, who, samples),
        eyes_of(seen, score, who, build),
        _blinks(score),
    )
    out = np.empty((len(who.names), samples), np.float32)
    for first, last in _stretches(samples):
        values = np.zeros((len(who.names), last - first))
        colour.add_to(values, first)
        mouth.say(values, first)
        settle(values, who.neutral, who.low, who.high)
        if eyes is not None:
            eyes.place(values, first)
        _lids(values, first, blinks, who, shut)
        for row in (*who.turn, *who.lift, *who.lids):
            np.clip(values[row], who.low[row], who.high[row], out=values[row])
        out[:, first:last] = values
    out.flags.writeable = False
    return out


def _stretches(samples: int) -> Iterator[tuple[int, int]]:
    return ((first, min(first + STRETCH, samples)) for first in range(0, samples, STRETCH))


class _Mouth:
    """Speech on the mouth: what colours it gives way by half, what is a contact is reached whatever else is asked."""

    def __init__(self, score: Score, who: Cast, samples: int) -> None:
        self.who, self.style = who, score.style
        self.parts = score.mouthings if who.mouth else ()
        if not self.parts:
            return
        self.blends = [_span(part, samples) for part in self.parts if part.shapes.size and score.style == "lips"]
        self.made: dict[int, F64] = {}
        wide = self._wide(samples) if score.style == "lips" else np.zeros(0)
        keys = Keys()
        for part in self.parts:
            if part.keys or part.shapes.size:
                keys.bump(0, 1.0, part.start - 200, part.start, part.stop, part.stop + 300)
            keys.curve(1, part.keys)
            for k, item in enumerate(part.contacts):
                row = (2 if item.kind == "closure" else 4) + k % 2
                into, out = _ramps(item, wide) if wide.size else (item.ramp_in, item.ramp_out)
                keys.bump(row, 1.0, item.start - into, item.start, item.stop, item.stop + out)
        self.lanes = keys.packed()

    def _blend(self, first: int, last: int) -> F64:
        """Return (mouth, samples) of the blended mouth over a stretch."""
        out = np.zeros((len(self.who.mouth), last - first))
        for place, (part, begin, end) in enumerate(self.blends):
            a, b = max(begin, first), min(end, last)
            if a < b:
                out[:, a - first : b - first] += self._line(place, part, begin, end)[:, a - begin : b - begin]
        return out

    def _line(self, place: int, part: Mouthing, begin: int, end: int) -> F64:
        """Return a line's blended mouth; of a long part it is made again rather than kept."""
        if place not in self.made:
            while len(self.made) >= AT_HAND:
                del self.made[next(iter(self.made))]
            targets = self.who.shapes[part.shapes] - self.who.shapes[0]
            self.made[place] = blend_series(
                begin, end - begin, part.centres, part.alphas, part.thetas, targets, self.who.lip
            )
        return self.made[place]

    def _wide(self, samples: int) -> F64:
        """Return (samples,) how wide the blended mouth is: of each jaw's way from shut to its widest shape, the most."""
        out = np.zeros(samples)
        columns = [self.who.mouth.index(row) for row in self.who.jaws]
        for first, last in _stretches(samples):
            speech = self._blend(first, last)
            here = out[first:last]
            for column in columns:
                rest, shut, widest = (
                    self.who.shapes[0, column],
                    self.who.shapes[1, column],
                    self.who.shapes[:, column].max(),
                )
                if widest > shut:
                    np.maximum(here, (rest + speech[column] - shut) / (widest - shut), out=here)
        return out

    def say(self, values: F64, first: int) -> None:
        """Lay it on ``values`` (functions, samples) from sample ``first`` on."""
        if not self.parts:
            return
        who, samples = self.who, values.shape[1]
        lanes = np.zeros((6, samples))
        self.lanes.add_to(lanes, first)
        np.clip(lanes, 0.0, 1.0, out=lanes)
        if self.style == "lips":
            speech = self._blend(first, first + samples)
        else:
            speech = lanes[1] * (who.shapes[10] - who.shapes[0])[:, None]
        rest = who.shapes[0] - who.neutral[list(who.mouth)]
        for column, row in enumerate(who.mouth):
            say(values[row], speech[column], rest[column], lanes[0], IN_SPEECH)
        for lane, shape in ((4, 2), (2, 1)):
            for row in who.seals:
                target = who.shapes[shape, who.mouth.index(row)] - who.neutral[row]
                touch(values[row], lanes[lane], lanes[lane + 1], target)


def _ramps(item: Contact, wide: F64) -> tuple[int, int]:
    """Return the time into and out of a contact [ticks]: a jaw that is wide open beside it takes longer than one that is not."""
    first, last = item.start // SERIES_EVERY, item.stop // SERIES_EVERY
    into = wide[max(first - WIDE, 0) : first].max(initial=0.0)
    out = wide[last : last + WIDE].max(initial=0.0)
    return (
        max(item.ramp_in, round(RAMP_FULL * into)) if item.ramp_in == RAMP else item.ramp_in,
        max(item.ramp_out, round(RAMP_FULL * out)) if item.ramp_out == RAMP else item.ramp_out,
    )


def _span(part: Mouthing, samples: int) -> tuple[Mouthing, int, int]:
    """Return a line with the first sample that its sounds pull at, and the one after the last."""
    return (
        part,
        max(0, (int(part.centres[0]) - REACH) // SERIES_EVERY),
        min(samples, (int(part.centres[-1]) + REACH) // SERIES_EVERY),
    )


def _blinks(score: Score) -> Curves:
    keys = Keys()
    for blink in score.blinks:
        keys.bump(0, 1.0, blink.at, blink.at + DOWN, blink.at + DOWN + SHUT, blink.at + WHOLE)
    return keys.packed()


def _lids(values: F64, first: int, blinks: Curves, who: Cast, shut: F64) -> None:
    """Let upper lids follow the eyes up and down, then lay blinks over everything."""
    for row in who.upper:
        side = who.functions[row].side
        lifts = [r for r in who.lift if side is None or who.functions[r].side in (side, None)]
        if lifts and who.units[row] == "rad":
            values[row] -= FOLLOW * values[lifts].mean(axis=0)
    lane = np.zeros((1, values.shape[1]))
    blinks.add_to(lane, first)
    on = np.flatnonzero(lane[0])
    weight = np.minimum(lane[0, on], 1.0)
    for k, row in enumerate(who.lids):
        values[row, on] += weight * (shut[k] - values[row, on])
