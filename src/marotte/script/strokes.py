"""The one curve of a mouth that is played by openings: strokes strung together at the speed that jaw or hand has."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from marotte.basis.ticks import TICKS_PER_SECOND, ticks
from marotte.script.syllables import Phrase

RISE: Final = ticks(0.100)
"""Least time into and out of the ride of ``hits`` [ticks]; a rule of this project."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """One opening of the one curve: there at ``peak``, kept until ``leave``."""

    peak: int
    leave: int
    amount: float


def strung(strokes: list[Stroke], ride: float, full_s: float, span: Phrase) -> list[tuple[int, float]]:
    """Return keys of a curve over a phrase that meets each stroke, comes back to ``ride`` between, and is shut after the phrase.

    ``full_s`` is the time from shut to wide open [s]: where two strokes leave no room for the way down and up, the curve turns
    higher instead of going faster.
    """
    full = full_s * TICKS_PER_SECOND
    keys: list[tuple[int, float]] = []
    ease = max(round(ride * full), RISE)  # into and out of the ride: nothing hurries there
    if not strokes:
        return []
    first = strokes[0]
    rise = round((first.amount - ride) * full)
    if ride and first.peak - rise > span.start:
        keys += [(span.start - ease, 0.0), (span.start, ride), (first.peak - rise, ride)]
    else:
        keys.append((first.peak - round(first.amount * full), 0.0))
    for stroke, after in zip(strokes, [*strokes[1:], None], strict=True):
        keys.append((stroke.peak, stroke.amount))
        if after is None:
            leave = min(max(stroke.leave, stroke.peak), max(span.stop, stroke.peak))
            down = leave + round((stroke.amount - ride) * full)
            keys.append((leave, stroke.amount))
            if ride and down < span.stop:
                keys += [(down, ride), (span.stop, ride), (span.stop + ease, 0.0)]
            else:
                keys.append((leave + round(stroke.amount * full), 0.0))
            break
        room = after.peak - stroke.peak
        low = max(ride, 0.5 * (stroke.amount + after.amount - room / full))
        if low >= min(stroke.amount, after.amount):
            continue
        down, up = round((stroke.amount - low) * full), round((after.amount - low) * full)
        leave = max(stroke.peak, min(stroke.leave, after.peak - up - down))
        turn = min(leave + down, after.peak)
        keys += [(leave, stroke.amount), (turn, low), (max(turn, after.peak - up), low)]
    return keys


def joined(keys: list[tuple[int, float]], more: list[tuple[int, float]]) -> None:
    """Join the curve of the next phrase; where it starts before the last one has shut, it takes over from there."""
    if keys and more and more[0][0] < keys[-1][0]:
        more = [pair for pair in more if pair[0] > keys[-1][0]]
    keys.extend(more)
