"""The score of a part: everything that is asked and when, before it is known what the creature can move.

Made from the spoken lines, the directions and the brief alone, so an edit of the build leaves it as it is. Whatever is drawn is
drawn from the seed and the number of the line, so an edit of one line leaves the others as they were.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final, Literal

from marotte.basis.contracts.common import Told
from marotte.basis.contracts.script import Beat, Direction, Spoken
from marotte.basis.draws import stream
from marotte.basis.frames import Vec
from marotte.basis.ticks import SERIES_EVERY, TICKS_PER_SECOND, on_series, ticks
from marotte.creature.schema.brief import Brief
from marotte.script.directions import Done, Reading, read
from marotte.script.drawn import uniform
from marotte.script.gaze import (
    ANYWHERE,
    FLICK,
    FRAME,
    HEAD_JOINS_TURN,
    HEAD_SHARE,
    THOUGHT_OF,
    Look,
    angles,
    aside,
    blink_turn,
    head_ticks,
)
from marotte.script.lids import WHOLE, Blink, chosen
from marotte.script.life import SETTLED, Breath, Shift, Still, breaths, shifts
from marotte.script.moods import MoodChange, kept_still, mood_changes
from marotte.script.mouthed import mouthed
from marotte.script.speech import Mouthing

OFF: Final = ticks(0.75)
"""How long the eyes are off in a thinking beat [ticks]; a rule of this project."""
TAIL: Final = ticks(2.0)
"""How long the part goes on after its last line [ticks]; a rule of this project."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """What is asked and when."""

    lines: tuple[Spoken, ...]
    style: Literal["flap", "hits", "lips"]
    voice: Literal["own", "playback", "other"]
    mouthings: tuple[Mouthing, ...]
    moods: tuple[MoodChange, ...]
    looks: tuple[Look, ...]
    targets: dict[str, Vec]
    """Every target that a look names [m]."""
    blinks: tuple[Blink, ...]
    breaths: tuple[Breath, ...]
    done: tuple[Done, ...]
    stills: tuple[Still, ...]
    shifts: tuple[Shift, ...]
    idle: float
    """Size of a shift as a share of travel."""
    idle_by_mood: dict[str, float]
    scenes: tuple[Beat, ...]
    seed: int
    stop: int
    told: tuple[Told, ...]


def score(
    lines: tuple[Spoken, ...], directions: tuple[Direction, ...], brief: Brief, seed: int, stop: int | None = None
) -> Score:
    """Return the score of a part.

    ``lines`` in order of time; ``directions`` in the order of the script; ``stop`` is the length of the part [ticks], by
    default two seconds after the last line.
    """
    end = max((line.stop for line in lines), default=0) + TAIL if stop is None else stop
    end = on_series(max(end, SERIES_EVERY))
    targets: dict[str, Vec] = {name: target.at for name, target in sorted(brief.looks.items())}
    asked = read(directions, lines, brief, targets, end)
    end = max(end, on_series(_done_by(asked) + SERIES_EVERY))
    moods = [(0, line.line, line.mood) for line in lines if line.mood] + asked.moods
    looks = _spaced(sorted(asked.looks, key=lambda look: (look.at, look.line, look.count)), seed, asked.told)
    targets.update({look.target: ANYWHERE[look.target] for look in looks if look.target not in targets})
    changes = mood_changes(lines, sorted(moods, key=lambda m: m[0]))
    changes = kept_still(changes, [(still.start, still.stop) for still in asked.stills])
    thoughts = _thoughts(lines, changes, looks, asked, targets, brief, seed)
    looks = sorted(
        [*looks, *(look for pair in thoughts for look in pair)], key=lambda look: (look.at, look.line, look.count)
    )
    stills = sorted([*asked.stills, *_settled(looks, targets)], key=lambda s: (s.start, s.what, s.line, s.count))
    blinks = [*asked.blinks, *_punctuation(lines, changes, looks, targets, seed)]
    blinks += [Blink(at=off.at + OFF // 3, line=off.line, why="thought") for off, _ in thoughts]
    mouths = {line.line: mouthed(line, brief.speech) for line in lines}
    spoken = {number: spans for number, (_, spans) in mouths.items()}
    return Score(
        lines=lines, style=brief.speech, voice=brief.voice, mouthings=tuple(part for part, _ in mouths.values()),
        moods=changes, looks=tuple(looks), targets=targets, blinks=chosen(blinks, brief.life.blinks, seed),
        breaths=breaths(lines, spoken, brief.life.breath, end, seed), done=tuple(sorted(asked.done, key=lambda d: (d.at, d.line, d.count))),
        stills=tuple(stills), shifts=shifts(lines, end, tuple(stills), seed), idle=brief.life.idle,
        idle_by_mood=dict(brief.life.idle_by_mood), scenes=_scenes(lines, end),
        seed=seed, stop=end, told=tuple(asked.told),
    )  # fmt: skip


def _done_by(asked: Reading) -> int:
    """Return when all that is written is done [ticks]: the part goes on so long."""
    ends = [look.at + ticks(2.0) for look in asked.looks] + [item.at + item.deed.ticks for item in asked.done]
    ends += [blink.at + WHOLE + 2 * FRAME for blink in asked.blinks] + [still.stop for still in asked.stills]
    return max(ends, default=0)


def _spaced(looks: list[Look], seed: int, told: list[Told]) -> list[Look]:
    """Drop a look that the next one follows before it could land (and tell it) or that goes where the eyes are already, and draw when
    head and body follow.
    """
    out: list[Look] = []
    for look in looks:
        if out and look.target == out[-1].target:
            continue
        if out and look.at - out[-1].at < 2 * FLICK:
            lost = out.pop()
            gap = (look.at - lost.at) / TICKS_PER_SECOND
            what = f"line {lost.line}: the look to {lost.target!r} is passed over: {gap:.1f} s later the eyes go to {look.target!r}"
            told.append(Told(code="look.passed", line=lost.line, sentence=what))
        head, body = _frames_after(seed, look.line, look.count)
        out.append(replace(look, head_after=head * FRAME, body_after=body * FRAME))
    return out


@lru_cache(maxsize=4096)
def _frames_after(seed: int, line: int, count: int) -> tuple[int, int]:
    """Return by how many frames the head follows the eyes, and the body the head."""
    draw = stream(seed, "head_after", line, count)
    return 2 + int(draw.integers(0, 3)), 2 + int(draw.integers(0, 3))


def _thoughts(
    lines: Sequence[Spoken], changes: Sequence[MoodChange], looks: Sequence[Look], asked: Reading, targets: dict[str, Vec],
    brief: Brief, seed: int,
) -> list[tuple[Look, Look]]:  # fmt: skip
    """Return the thinking beats: eyes off, a small hold with a blink, eyes back, and then the line.

    Before a line with another mood, or after a silence, where nothing that is written happens in that time; about half of them. The
    place that the eyes go to is put among the targets.
    """
    if brief.life.thinking_beat <= 0:
        return []
    turns = {change.line for change in changes if change.name}
    busy = [(look.at - FLICK, look.at + OFF) for look in looks] + [(s.start, s.stop) for s in asked.stills]
    busy += [(item.at, item.at + item.deed.ticks) for item in asked.done]
    out: list[tuple[Look, Look]] = []
    for place, line in enumerate(lines):
        before = lines[place - 1].stop if place else 0
        back = line.start - max(ticks(brief.life.thinking_beat), FLICK + FRAME)
        off = back - OFF
        if (
            off - before < ticks(0.4)
            or not (line.line in turns or off - before > ticks(1.5))
            or uniform(seed, "thought", line.line) < 0.5
        ):
            continue
        if any(a < back + FLICK and off - FLICK < b for a, b in busy):
            continue
        now = next((look.target for look in reversed(looks) if look.at < off), "ahead")
        home = targets.setdefault(now, ANYWHERE["ahead"])
        name = f"{THOUGHT_OF}{line.line}"
        targets[name] = aside(home, uniform(seed, "thought", line.line, 1) - 0.5)
        count = sum(1 for look in looks if look.line == line.line)
        out.append(
            (
                Look(target=name, at=off, line=line.line, count=count, head_after=0, eyes_only=True),
                Look(target=now, at=back, line=line.line, count=count + 1, head_after=0, eyes_only=True),
            )
        )
    return out


def _settled(looks: Sequence[Look], targets: dict[str, Vec]) -> list[Still]:
    out: list[Still] = []
    before = 0.0
    for place, look in enumerate(looks):
        if look.eyes_only:
            continue
        turn = angles(targets[look.target])[0]
        head = HEAD_SHARE * max(0.0, abs(turn - before) - HEAD_JOINS_TURN)
        landed = look.at + max(FLICK, look.head_after + head_ticks(head))
        stop = landed + SETTLED
        if place + 1 < len(looks):
            stop = min(stop, looks[place + 1].at)
        if stop > look.at:
            out.append(Still(start=look.at, stop=stop, line=look.line, count=look.count, what="eyes"))
        before = turn
    return out


def _punctuation(
    lines: Sequence[Spoken], changes: Sequence[MoodChange], looks: Sequence[Look], targets: dict[str, Vec], seed: int
) -> list[Blink]:
    out: list[Blink] = []
    now: Vec = ANYWHERE["front"]
    for look in looks:
        if not look.eyes_only and blink_turn(now, targets[look.target]):
            out.append(Blink(at=look.at, line=look.line, why="turn"))
        now = targets[look.target]
    thoughts = {change.line for change in changes if change.name}
    for place, line in enumerate(lines):
        gap = line.start - (lines[place - 1].stop if place else 0)
        draw = ticks(0.12 * uniform(seed, "blink_at", line.line))
        at = line.start - ticks(0.38) - draw
        if at <= 0 or gap < ticks(0.5):
            continue
        out.append(Blink(at=at, line=line.line, why="thought" if line.line in thoughts or gap > ticks(2.5) else "line"))
    return out


def _scenes(lines: Sequence[Spoken], end: int) -> tuple[Beat, ...]:
    out: list[Beat] = []
    starts = [line for place, line in enumerate(lines) if place == 0 or line.scene != lines[place - 1].scene]
    for place, line in enumerate(starts):
        stop = starts[place + 1].start if place + 1 < len(starts) else end
        out.append(
            Beat(kind="scene", what=line.scene, start=0 if place == 0 else line.start, stop=stop, line=line.line)
        )
    return tuple(out)
