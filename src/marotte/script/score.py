"""The score of a part: everything that is asked and when, before it is known what the creature can move.

Made from the spoken lines, the directions and the brief alone, so an edit of the build leaves it as it is. Whatever is drawn is
drawn from the seed and the number of the line, so an edit of one line leaves the others as they were.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from marotte.basis.contracts.common import Told
from marotte.basis.contracts.script import Beat, Direction, Spoken
from marotte.basis.draws import stream
from marotte.basis.frames import Vec
from marotte.basis.ticks import SERIES_EVERY, on_series, ticks
from marotte.creature.schema.brief import Brief
from marotte.script.business import Deed, nearest_form, understood
from marotte.script.gaze import (
    ANYWHERE,
    FLICK,
    FRAME,
    HEAD_JOINS_TURN,
    HEAD_SHARE,
    Look,
    angles,
    blink_turn,
    head_ticks,
    look_in,
)  # fmt: skip
from marotte.script.lids import Blink, chosen
from marotte.script.life import SETTLED, STILL, Breath, Shift, Still, breaths, shifts
from marotte.script.moods import MoodChange, mood_changes, mood_of, plain
from marotte.script.speech import Mouthing, mouthing

TAIL: Final = ticks(2.0)
"""How long the part goes on after its last line [ticks]; a rule of this project."""
LAND: Final = ticks(0.45)
"""How long before its line a look starts that is written before it [ticks], so that it has landed when the line begins."""
SILENT: Final = frozenset(
    {"beat", "a beat", "pause", "a pause", "long pause", "short pause", "silence", "continuing", "cont'd"}
)
"""Parentheticals that ask for time, not for a move."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """One piece of business at its time."""

    deed: Deed
    at: int
    line: int
    count: int
    text: str


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
    told: list[Told] = []
    end = max((line.stop for line in lines), default=0) + TAIL if stop is None else stop
    end = on_series(max(end, SERIES_EVERY))
    written = (*directions, *_of_brief(brief))
    targets: dict[str, Vec] = {name: target.at for name, target in sorted(brief.looks.items())}
    moods = _line_moods(lines, brief, targets)
    looks: list[Look] = []
    done: list[Done] = []
    blinks: list[Blink] = []
    stills: list[Still] = []
    for direction, at in _timed(written, lines, brief, end):
        _read(direction, at, brief, targets, moods, looks, done, blinks, stills, told)
    looks.sort(key=lambda look: (look.at, look.line, look.count))
    looks = _spaced(looks, seed)
    targets.update({look.target: ANYWHERE[look.target] for look in looks if look.target not in targets})
    changes = mood_changes(lines, moods)
    stills += _settled(looks, targets)
    stills.sort(key=lambda s: (s.start, s.what, s.line, s.count))
    blinks += _punctuation(lines, changes, looks, targets, seed)
    return Score(
        lines=lines, style=brief.speech, voice=brief.voice, mouthings=tuple(mouthing(line, brief.speech) for line in lines),
        moods=changes, looks=tuple(looks), targets=targets, blinks=chosen(blinks, brief.life.blinks, seed),
        breaths=breaths(lines, brief.life.breath, end, seed), done=tuple(sorted(done, key=lambda d: (d.at, d.line, d.count))),
        stills=tuple(stills), shifts=shifts(lines, end, tuple(stills), seed), idle=brief.life.idle, scenes=_scenes(lines, end),
        seed=seed, stop=end, told=tuple(told),
    )  # fmt: skip


def _of_brief(brief: Brief) -> tuple[Direction, ...]:
    return tuple(Direction(kind="brief", text=item.do, line=max(item.line, 1)) for item in brief.business)


def _timed(
    written: Sequence[Direction], lines: tuple[Spoken, ...], brief: Brief, end: int
) -> list[tuple[Direction, int]]:
    """Return each direction with its tick: at its word, or spread over the silence before its line, the last just before it."""
    at_line = {line.line: place for place, line in enumerate(lines)}
    before: dict[int, list[Direction]] = {}
    out: list[tuple[Direction, int]] = []
    for direction in written:
        line = lines[at_line[direction.line]] if direction.line in at_line else None
        if line is not None and 0 < direction.word < len(line.word_spans):
            out.append((direction, max(0, line.word_spans[direction.word][0] - FLICK)))
        else:
            before.setdefault(direction.line if line else (lines[-1].line + 1 if lines else 1), []).append(direction)
    for number in sorted(before):
        some = before[number]
        place = at_line.get(number)
        low = 0 if place == 0 or not lines else lines[(place or len(lines)) - 1].stop + ticks(0.25)
        if place is None:
            high = min(end, low + ticks(1.5) * len(some))
        else:
            high = max(low, lines[place].start - ticks(brief.life.thinking_beat) - LAND)
        # what is about this line itself comes last before it, in its own order; what is told before it fills the silence
        out += [(direction, low + (high - low) * (k + 1) // len(some)) for k, direction in enumerate(some)]
    return sorted(out, key=lambda pair: pair[1])


def _read(
    direction: Direction, at: int, brief: Brief, targets: dict[str, Vec], moods: dict[int, str], looks: list[Look],
    done: list[Done], blinks: list[Blink], stills: list[Still], told: list[Told],
) -> None:  # fmt: skip
    """Read one direction into what it asks for."""
    line = direction.line
    for piece in re.split(r"[;.]| then ", direction.text):
        text = plain(piece)
        if not text or text in SILENT:
            continue
        got = False
        if direction.kind == "parenthetical":
            mood = mood_of(text, brief.moods)
            if mood:
                moods.setdefault(line, mood)
                got = True
        target, missed = look_in(text, targets)
        if target:
            count = sum(1 for look in looks if look.line == line)
            looks.append(Look(target=target, at=at, line=line, count=count, head_after=2 * FRAME))
            got = True
        deed = understood(text)
        if (
            deed
            and not (target and deed.form in ("turns head", "head up", "head down"))
            and (direction.kind != "action" or _is_ours(direction))
        ):
            got = True
            _put(deed, direction, text, at, done, blinks, stills)
        if got or direction.kind == "action":
            continue
        if direction.kind == "parenthetical" and not missed and _as_name(text) in _mood_names(moods):
            continue
        told.append(_not_understood(direction, text, missed, targets, brief))


def _is_ours(direction: Direction) -> bool:
    return len(direction.text.split()) <= 12  # a short action is a stage direction; a long one is prose about the scene


def _put(
    deed: Deed, direction: Direction, text: str, at: int, done: list[Done], blinks: list[Blink], stills: list[Still]
) -> None:
    line = direction.line
    if deed.form == "blinks":
        blinks += [Blink(at=at + 400 * k, line=line, why="written") for k in range(deed.times)]
    elif deed.form == "keeps still":
        count = sum(1 for still in stills if still.line == line)
        stills.append(Still(start=at, stop=at + STILL, line=line, count=count, what="life"))
    else:
        count = sum(1 for item in done if item.line == line)
        done.append(Done(deed=deed, at=at, line=line, count=count, text=text))


def _not_understood(direction: Direction, text: str, missed: str, targets: Iterable[str], brief: Brief) -> Told:
    where = f"line {direction.file_line} of the script" if direction.file_line else f"business of line {direction.line}"
    if missed:
        known = ", ".join(sorted(targets)) or "none"
        return Told(
            code="look.no_target", line=direction.line,
            sentence=f"{where}: {text!r} looks at {missed!r}, which brief.looks does not name; it names: {known}",
        )  # fmt: skip
    return Told(
        code="business.not_understood", line=direction.line,
        sentence=f"{where}: {text!r} is not understood and not played; nearest that is: {nearest_form(text)!r}"
        + ("" if direction.kind != "parenthetical" or text in map(plain, brief.moods) else ", or name it under brief.moods"),
    )  # fmt: skip


def _line_moods(lines: tuple[Spoken, ...], brief: Brief, targets: dict[str, Vec]) -> dict[int, str]:
    """Return the mood of each line that has one: by ``brief.moods``, else the words themselves as a name."""
    out: dict[int, str] = {}
    for line in lines:
        text = plain(line.mood)
        if not text or text in SILENT:
            continue
        mood = mood_of(text, brief.moods)
        if not mood and not look_in(text, targets)[0] and understood(text) is None:
            mood = _as_name(text)
        if mood:
            out[line.line] = mood
    return out


def _mood_names(moods: dict[int, str]) -> frozenset[str]:
    return frozenset(moods.values())


def _as_name(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", plain(text)).strip("_")


def _spaced(looks: list[Look], seed: int) -> list[Look]:
    """Drop a look that leaves before the one ahead of it could land (the later one wins), and draw when the head follows."""
    out: list[Look] = []
    for look in looks:
        if out and look.at - out[-1].at < 2 * FLICK:
            out.pop()
        frames = 2 + int(stream(seed, "head_after", look.line, look.count).integers(0, 3))
        out.append(replace(look, head_after=frames * FRAME))
    return out


def _settled(looks: Sequence[Look], targets: dict[str, Vec]) -> list[Still]:
    out: list[Still] = []
    before = 0.0
    for place, look in enumerate(looks):
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
        if blink_turn(now, targets[look.target]):
            out.append(Blink(at=look.at, line=look.line, why="turn"))
        now = targets[look.target]
    thoughts = {change.line for change in changes if change.name}
    for place, line in enumerate(lines):
        gap = line.start - (lines[place - 1].stop if place else 0)
        draw = ticks(0.12 * stream(seed, "blink_at", line.line).random())
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
