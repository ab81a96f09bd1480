"""Directions read: which of them are the creature's, when each falls, and what it asks for: a look, a deed, a blink, a mood, stillness.

Notes, parentheticals and the brief's business are the creature's own and are told where they are not understood; prose (prose.py) that
asks for nothing is no fault.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from marotte.basis.contracts.common import Told
from marotte.basis.contracts.script import Direction, Spoken
from marotte.basis.frames import Vec
from marotte.basis.ticks import TICKS_PER_SECOND, clock, ticks
from marotte.creature.schema.brief import Brief
from marotte.script.business import FORMS, Deed, nearest_form, understood
from marotte.script.doings import LAND, chained, in_order, looks_at
from marotte.script.gaze import FLICK, FRAME, NOT, Look, looks_in
from marotte.script.lids import Blink
from marotte.script.life import SETTLE, STILL, Still
from marotte.script.moods import BEFORE, mood_of, plain
from marotte.script.prose import of_action

SILENT: Final = re.compile(
    r"^(a )?((short|long) )?(beat|pause|silence)$|^continuing$|^cont'?d$|^(v\.?o|o\.?s|o\.?c)\.?$|^pre-?lap$|^off$"
)
"""Parentheticals that ask for time or say where the voice comes from, not for a move."""
_MIXED: Final = frozenset({"turns head", "head up", "head down", "eyes wide"})
"""Forms that a look already does when both are read from the same words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One thing that is asked, at its time."""

    text: str
    at: int
    line: int
    kind: str
    file_line: int
    headed: bool
    """Whether it stands at the head of a line that it colours."""
    spoken: bool = False
    """Whether it stands within what is said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """One piece of business at its time."""

    deed: Deed
    at: int
    line: int
    count: int
    text: str


@dataclass(slots=True)
class Reading:
    """What all directions together ask for."""

    looks: list[Look] = field(default_factory=list)
    done: list[Done] = field(default_factory=list)
    blinks: list[Blink] = field(default_factory=list)
    stills: list[Still] = field(default_factory=list)
    moods: list[tuple[int, int, str]] = field(default_factory=list)
    told: list[Told] = field(default_factory=list)


def read(
    directions: Sequence[Direction], lines: tuple[Spoken, ...], brief: Brief, targets: Mapping[str, Vec], end: int
) -> Reading:
    """Return what the directions and the brief's business ask for."""
    out = Reading()
    starts = {line.line: line.start for line in lines}
    began, busy = -1, 0
    names = tuple(sorted(targets))
    for piece in _pieces(directions, lines, brief, names, end):
        # what follows a stillness waits for its end, where its line leaves the time
        written = piece.at
        if began < written < busy <= starts.get(piece.line, end) - FLICK and not piece.spoken:
            piece = replace(piece, at=busy)
        before = len(out.stills)
        _read(piece, brief, names, out)
        if len(out.stills) > before:
            began = written
        busy = max((still.stop for still in out.stills), default=0)
    _cut_short(out, lines)
    return out


def _pieces(
    directions: Sequence[Direction],
    lines: tuple[Spoken, ...],
    brief: Brief,
    names: tuple[str, ...],
    end: int,
) -> list[Piece]:
    own = [Direction(kind="brief", text=item.do, line=max(item.line, 1)) for item in brief.business]
    at_line = {line.line: line for line in lines}
    out: list[Piece] = []
    heads: dict[int, list[Direction]] = {}
    for direction in (*directions, *own):
        line = at_line.get(direction.line)
        if direction.kind == "action":
            continue
        if line is not None and 0 < direction.word < len(line.word_spans):
            at = max(line.start, line.word_spans[direction.word][0] - FLICK)
            out += [replace(piece, spoken=True) for piece in _chain(direction, direction.text, at, names, False)]
        elif line is not None and 0 < len(line.word_spans) <= direction.word and direction.tick >= 0:
            out += _chain(direction, direction.text, max(direction.tick, line.stop), names, False)
        elif direction.tick >= 0 and (line is None or direction.tick < line.start):
            out += _chain(direction, direction.text, direction.tick, names, False)
        else:
            heads.setdefault(direction.line, []).append(direction)
    for direction, text, place in of_action(directions, brief.cue or ""):
        if direction.tick >= 0:
            at = direction.tick + in_order(direction.text, names)[0][place]
            out += _chain(direction, text, min(at, end), names, False)
        else:
            heads.setdefault(direction.line, []).append(replace(direction, text=text))
    for number, some in heads.items():
        out += _at_head(some, number, lines, brief, names, end)
    return sorted(out, key=lambda piece: (piece.at, piece.line))


def _chain(direction: Direction, text: str, at: int, names: tuple[str, ...], headed: bool) -> list[Piece]:
    return [_piece(direction, piece, at + off, headed) for piece, off in chained(text, names)[0]]


def _at_head(
    some: list[Direction], number: int, lines: tuple[Spoken, ...], brief: Brief, names: tuple[str, ...], end: int
) -> list[Piece]:
    """Return what is written at the head of a line, one thing after the other, the last of them right before the line."""
    pieces: list[Piece] = []
    done = 0
    for direction in some:
        pieces += _chain(direction, direction.text, done, names, True)
        done += chained(direction.text, names)[1]
    place = next((k for k, line in enumerate(lines) if line.line == number), None)
    low = 0 if not lines or place == 0 else lines[(place or len(lines)) - 1].stop + FLICK
    last = max((piece.at for piece in pieces), default=0)
    if place is None:
        high = min(end, low + max(last, ticks(1.5)))
    else:
        high = max(low, lines[place].start - ticks(brief.life.thinking_beat) - LAND)
    room = min(last, high - low)
    return [replace(piece, at=high - room + piece.at * room // max(last, 1)) for piece in pieces]


def _piece(direction: Direction, text: str, at: int, headed: bool) -> Piece:
    return Piece(
        text=text, at=at, line=direction.line, kind=direction.kind, file_line=direction.file_line, headed=headed
    )


def _read(piece: Piece, brief: Brief, names: tuple[str, ...], out: Reading) -> None:
    text, line = piece.text, piece.line
    if SILENT.match(plain(text)):
        return
    got = False
    if piece.kind == "parenthetical":
        mood = mood_of(text, brief.moods)
        if mood:
            out.moods.append((0 if piece.headed else piece.at, line, mood))
            got = True
    found, missed = looks_in(text, names)
    for target, at in zip(found, looks_at(len(found), piece.at), strict=True):
        count = sum(1 for look in out.looks if look.line == line)
        out.looks.append(Look(target=target, at=at, line=line, count=count, head_after=2 * FRAME))
        got = True
    deed = understood(text)
    if deed and not (found and deed.form in _MIXED):
        got = True
        _put(deed, piece, out)
    if not got and (missed or piece.kind != "action"):  # prose may say anything, but a look goes somewhere
        out.told.append(_not_understood(piece, missed, names))


def _put(deed: Deed, piece: Piece, out: Reading) -> None:
    line, at = piece.line, piece.at
    if deed.form == "blinks":
        out.blinks += [Blink(at=at + 400 * k, line=line, why="written") for k in range(deed.times)]
    elif deed.form == "keeps still":
        count = sum(1 for still in out.stills if still.line == line)
        length = ticks(deed.seconds) if deed.seconds else STILL
        out.stills.append(Still(start=at, stop=at + length + SETTLE, line=line, count=count, what="life"))
    else:
        count = sum(1 for item in out.done if item.line == line)
        out.done.append(Done(deed=deed, at=at, line=line, count=count, text=piece.text))
    _held(out)


def _held(out: Reading) -> None:
    """Where one sentence asks for a doing and for stillness, the stillness begins when the doing is there, and holds it."""
    if not (out.stills and out.done and out.stills[-1].start == out.done[-1].at):
        return
    still, item = out.stills[-1], out.done[-1]
    rise = ticks(FORMS[item.deed.form].go * item.deed.pace)
    length = (still.stop - still.start + rise) / TICKS_PER_SECOND
    out.stills[-1] = replace(still, start=still.start + rise, stop=still.stop + rise)
    out.done[-1] = replace(item, deed=replace(item.deed, seconds=max(length, item.deed.seconds)))


def _cut_short(out: Reading, lines: tuple[Spoken, ...]) -> None:
    """End a stillness where the next doing or line begins, and tell it: the script left no more time."""
    doings = [look.at for look in out.looks] + [item.at for item in out.done] + [line.start - BEFORE for line in lines]
    doings.sort()
    for k, still in enumerate(out.stills):
        after = next((at for at in doings if still.start < at < still.stop), None)
        if after is None:
            continue
        out.stills[k] = replace(still, stop=after)
        asked, left = ((stop - still.start - SETTLE) / TICKS_PER_SECOND for stop in (still.stop, after))
        out.told.append(
            Told(
                code="still.short", line=still.line,
                sentence=f"line {still.line}: a stillness of {asked:.1f} s is written at {clock(still.start)}, "
                f"and what comes next leaves it {max(left, 0.0):.1f} s",
            )
        )  # fmt: skip


def _not_understood(piece: Piece, missed: str, names: tuple[str, ...]) -> Told:
    where = f"line {piece.file_line} of the script" if piece.file_line else f"brief > business, line {piece.line}"
    if missed:
        known = ", ".join(names) or "none"
        return Told(
            code="look.no_target", line=piece.line,
            sentence=f"{where}: {piece.text!r} looks at {missed!r}, which brief > looks does not name; it names: {known}",
        )  # fmt: skip
    form, close = nearest_form(piece.text)
    if any(word in NOT for word in plain(piece.text).split()):
        also = "write what is done, not what is not: 'looks away', 'keeps still'"
    else:
        also = f"the nearest form is {form!r}" if close else f"no form is much like it, the nearest is {form!r}"
        if piece.kind == "parenthetical":
            also = f"if it is a mood, name it under brief > moods; {also}"
    return Told(
        code="business.not_understood", line=piece.line, sentence=f"{where}: {piece.text!r} is not understood and not played; {also}"
    )  # fmt: skip
