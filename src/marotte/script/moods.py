"""Moods: which colours which line, how it eases in, holds and leaves."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from marotte.basis.contracts.script import Spoken
from marotte.basis.ticks import ticks
from marotte.creature.schema.functions import Function

ONSET: Final = ticks(0.40)
"""Time for a mood to come on [ticks]; a rule of this project."""
BEFORE: Final = ticks(0.35)
"""How long before its line a mood starts to come on [ticks]: the thought comes first (common practice, no source)."""
LINGER: Final = ticks(0.80)
"""How long a mood stays after its line when nothing follows at once [ticks]; a rule of this project."""
OFFSET: Final = ticks(0.90)
"""Time for a mood to leave [ticks]; a rule of this project."""
IN_SPEECH: Final = 0.5
"""Share of a mood that is left on the functions of the mouth while it speaks; a rule of this project."""


START_SET: Final[dict[str, dict[str, float]]] = {
    "joy": {"jaw": 0.25, "beak": 0.25, "lip_corner": 0.8, "cheek": 0.5},
    "sadness": {"brow_inner": 0.8, "lid_upper": 0.3, "lip_corner": -0.3},
    "anger": {"brow_inner": -0.9, "brow": -0.7, "lid_upper": -0.7, "lip_lower": -0.3},
    "fear": {"brow_inner": 0.9, "brow": 0.7, "brow_outer": 0.5, "lid_upper": -0.5},
    "disgust": {"lip_upper_left": 0.8, "lip_upper_right": 0.45, "nose": 0.5},
    "surprise": {"brow_inner": 0.9, "brow": 0.9, "brow_outer": 0.9, "lid_upper": -1.0, "jaw": 0.5, "beak": 0.5},
}
"""The six primary expressions of ISO/IEC 14496-2 by part: what is bent, raised, opened is the standard's (secondary copy), how far is
ours. For a creature that writes no mood of that name; its own, by ears, head and eyes, say more."""


def by_part(ways: Mapping[str, float], functions: Sequence[Function], names: Sequence[str]) -> dict[str, float]:
    """Return ways by part (or part and side) as ways by function."""
    out: dict[str, float] = {}
    for name, function in zip(names, functions, strict=True):
        way = ways.get(f"{function.part}_{function.side}", ways.get(function.part))
        if way is not None:
            out[name] = way
    return out


@dataclass(frozen=True, slots=True, kw_only=True)
class MoodChange:
    """From ``at`` to ``by`` the creature goes over into a mood; "" is none."""

    at: int
    by: int
    name: str
    line: int


def plain(text: str) -> str:
    """Return a text in lower case, single-spaced, without brackets and closing stops."""
    return re.sub(r"\s+", " ", text.strip().strip("()[]").strip().lower()).strip(" .,;:!")


def mood_of(text: str, named: Mapping[str, str]) -> str:
    """Return the mood that a parenthetical stands for: by ``brief.moods``, whole or as words within it; else ""."""
    wanted = plain(text)
    table = {plain(key): value for key, value in named.items()}
    if wanted in table:
        return table[wanted]
    for key in sorted(table, key=lambda k: (-len(k), k)):
        if key and re.search(rf"\b{re.escape(key)}\b", wanted):
            return table[key]
    return ""


def mood_changes(lines: tuple[Spoken, ...], asked: Sequence[tuple[int, int, str]]) -> tuple[MoodChange, ...]:
    """Return the changes of mood over the part.

    ``asked`` holds (tick, line, mood) where a mood is called for, in order: one at or before the start of its line holds from
    there, one within it from its word. A line without any has none.
    """
    out: list[MoodChange] = []
    now = ""
    for place, line in enumerate(lines):
        mine = [(max(tick, line.start), name) for tick, number, name in asked if number == line.line]
        turns = mine if mine and mine[0][0] == line.start else [(line.start, ""), *mine]
        earliest = lines[place - 1].stop if place else 0
        for k, (tick, wanted) in enumerate(turns):
            if wanted == now or (k + 1 < len(turns) and turns[k + 1][0] == tick):
                continue
            at = max(earliest if tick == line.start else line.start, tick - BEFORE)
            if not wanted and place:
                at = earliest + LINGER if line.start - earliest > LINGER + OFFSET else earliest
            out.append(MoodChange(at=at, by=at + (ONSET if wanted else OFFSET), name=wanted, line=line.line))
            now = wanted
        following = lines[place + 1] if place + 1 < len(lines) else None
        gap = following.start - line.stop if following else LINGER + OFFSET + ONSET + BEFORE
        if now and gap >= LINGER + OFFSET + BEFORE:
            at = line.stop + LINGER
            out.append(MoodChange(at=at, by=at + OFFSET, name="", line=line.line))
            now = ""
    return _apart(out)


def kept_still(changes: Sequence[MoodChange], stills: Sequence[tuple[int, int]]) -> tuple[MoodChange, ...]:
    """Return the changes with those that would leave a mood in a stillness (start, stop) put off to its end."""
    out: list[MoodChange] = []
    for change in changes:
        held = next((stop for start, stop in stills if change.at < stop and start < change.by), None)
        later = (
            change if change.name or held is None else MoodChange(at=held, by=held + OFFSET, name="", line=change.line)
        )
        out.append(later)
    return _apart(sorted(out, key=lambda c: c.at))


def _apart(changes: list[MoodChange]) -> tuple[MoodChange, ...]:
    """Return changes that do not overlap: one that is overtaken ends where the next begins."""
    out: list[MoodChange] = []
    for change in changes:
        if out and change.at < out[-1].by:
            last = out[-1]
            if change.at <= last.at:
                out.pop()
            else:
                out[-1] = MoodChange(at=last.at, by=change.at, name=last.name, line=last.line)
        out.append(change)
    return tuple(out)
