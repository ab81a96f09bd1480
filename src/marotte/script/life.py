"""What moves without being written: breath before a phrase, breath at rest, small shifts; and stillness, which is asked too."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from marotte.basis.contracts.script import Spoken
from marotte.basis.ticks import ticks
from marotte.script.drawn import uniform

RISE: Final = (ticks(0.30), ticks(0.50))
"""A breath rises 0.3 to 0.5 s before a phrase (common practice, no source)."""
NEXT_BREATH: Final = ticks(2.5)
"""Within a line no breath sooner than this after the last [ticks]: short phrases go on one breath (a rule of this project)."""
SHIFT: Final = ticks(0.8)
"""Time of one idle shift [ticks]; slow enough to read as living, not as a move (a rule of this project)."""
STILL: Final = ticks(2.0)
"""What a written stillness holds [ticks] where nothing says longer (common practice, no source)."""
SETTLE: Final = ticks(0.25)
"""Time in a stillness in which the mechanism may still settle [ticks]; a rule of this project."""
SETTLED: Final = ticks(0.5)
"""Stillness after a look has landed [ticks]; a rule of this project."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Breath:
    """In by ``top``, out by ``stop``; amount as a share of a full breath."""

    start: int
    top: int
    stop: int
    amount: float
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """One small change of how the creature holds itself."""

    at: int
    line: int
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Still:
    """A span in which nothing may move but what speaks."""

    start: int
    stop: int
    line: int
    count: int
    what: str
    """"eyes" after a look, "life" where it is written."""


def breaths(
    lines: tuple[Spoken, ...], spoken: Mapping[int, tuple[tuple[int, int], ...]], rest_hz: float, stop: int, seed: int
) -> tuple[Breath, ...]:
    """Return the breaths of the part: one before each phrase that has room for it, and quiet ones in long silences.

    ``spoken`` gives (start, stop) of the phrases of each line. With a rate of nothing it does not breathe at all.
    """
    if rest_hz <= 0:
        return ()
    spans: list[tuple[int, int, int, int]] = []
    for line in lines:
        spans += [(begin, end, line.line, k) for k, (begin, end) in enumerate(spoken[line.line])]
    out: list[Breath] = []
    free = said = 0
    for start, end, line_no, k in [*spans, (stop, stop, lines[-1].line + 1 if lines else 0, 0)]:
        rest = _at_rest(free, start - RISE[1] - ticks(0.2), rest_hz, line_no, seed)
        out += rest
        ready = max(said, rest[-1].stop if rest else 0)
        before = out[-1].top if out else -NEXT_BREATH
        if start < stop and start - ready >= RISE[0] and (k == 0 or start - before >= NEXT_BREATH):
            rise = min(RISE[0] + int(uniform(seed, "breath", line_no, k) * (RISE[1] - RISE[0])), start - ready)
            amount = min(1.0, 0.6 + (start - said) / 6000)
            out.append(Breath(start=start - rise, top=start, stop=max(start + 1, end), amount=amount, line=line_no))
        elif out and out[-1].top <= start < stop and out[-1].stop <= start and not rest:
            out[-1] = replace(out[-1], stop=end)  # on the same breath
        free = said = max(said, end)
    return tuple(out)


def _at_rest(start: int, stop: int, rest_hz: float, line: int, seed: int) -> list[Breath]:
    out: list[Breath] = []
    at = start + ticks(0.4)
    while True:
        period = ticks((0.85 + 0.3 * uniform(seed, "rest", line, len(out))) / rest_hz)
        if at + period > stop:
            return out
        out.append(Breath(start=at, top=at + period * 2 // 5, stop=at + period * 9 // 10, amount=0.45, line=line))
        at += period


def shifts(lines: tuple[Spoken, ...], stop: int, stills: tuple[Still, ...], seed: int) -> tuple[Shift, ...]:
    """Return when the creature shifts a little: every 3 to 7 s, never into a stillness; drawn line by line."""
    out: list[Shift] = []
    begin = 0
    for line_no, end in [*((line.line, line.stop) for line in lines), (lines[-1].line + 1 if lines else 0, stop)]:
        at = begin
        count = 0
        while True:
            at += ticks(3.0 + 4.0 * uniform(seed, "shift", line_no, count))
            if at + SHIFT > end:
                break
            if not any(still.start < at + SHIFT and at < still.stop for still in stills):
                out.append(Shift(at=at, line=line_no, count=count))
            count += 1
        begin = max(begin, end)
    return tuple(out)
