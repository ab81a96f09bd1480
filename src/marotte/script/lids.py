"""Blinks as punctuation, and lids that follow the eyes.

A blink stands on a change of thought, on a big turn of the head, before a line: few, seeded, never a metronome (common practice,
no source). Two frames down, one shut, three up. Human rates are upper limits: 26 a minute in conversation (Bentivoglio et al.
1997, Mov Disord 12:1028); closing is faster than opening (Sforza et al. 2008, Ophthalmic Physiol Opt 28:345).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from marotte.basis.ticks import TICKS_PER_SECOND, ticks
from marotte.script.drawn import uniform

DOWN: Final = 100
SHUT: Final = 50
UP: Final = 150
"""Phases of a blink [ticks]: 2, 1 and 3 frames at 24 a second (common practice, no source)."""
WHOLE: Final = DOWN + SHUT + UP
HUMAN_MOST: Final = 26.0
"""Blinks a minute in conversation (Bentivoglio 1997): never asked beyond, however a brief is written."""
FOLLOW: Final = 0.7
"""Share of the eye's lift that the upper lid follows (0.6 to 0.8, from memory, not verified)."""
APART: Final = ticks(1.5)
"""Least time between two blinks that nobody wrote [ticks]; a rule of this project."""

Why = Literal["written", "turn", "thought", "line"]
_ORDER: Final[dict[Why, int]] = {"written": 0, "turn": 1, "thought": 2, "line": 3}
_KEEP: Final[dict[Why, float]] = {"written": 1.0, "turn": 1.0, "thought": 0.7, "line": 0.35}
"""Share of the occasions that is taken (a rule of this project)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Blink:
    """One blink: the lids leave at a tick."""

    at: int
    line: int
    why: Why


def chosen(candidates: Sequence[Blink], rate_hz: float, seed: int) -> tuple[Blink, ...]:
    """Return the blinks that are played: what is written always, the rest by weight while the rate allows.

    No minute holds more than ``rate_hz`` times 60 blinks that nobody wrote, and no more than people blink.
    """
    most = min(rate_hz * 60.0, HUMAN_MOST)
    minute = 60 * TICKS_PER_SECOND
    kept: list[Blink] = []
    for blink in sorted(candidates, key=lambda b: (_ORDER[b.why], b.at, b.line)):
        if blink.why == "written":
            if all(abs(blink.at - other.at) >= WHOLE for other in kept):
                kept.append(blink)
            continue
        if any(abs(blink.at - other.at) < APART for other in kept):
            continue
        if uniform(seed, "blink", blink.line) > _KEEP[blink.why]:
            continue  # seeded: not every thought and every line is opened by a blink
        near = sorted([other.at for other in kept if abs(other.at - blink.at) < minute] + [blink.at])
        if _busiest(near, minute) <= most:
            kept.append(blink)
    return tuple(sorted(kept, key=lambda b: (b.at, b.line)))


def _busiest(at: list[int], width: int) -> int:
    return max(sum(1 for other in at[i:] if other - first < width) for i, first in enumerate(at))
