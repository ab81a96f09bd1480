"""The creature's lines on one axis of time: the whole way from a script file and its recordings.

``cast`` finds the lines of a cue in a screenplay; ``line`` times one of them, from 0, and is all that an edited line costs;
``lay_out`` puts the timed lines one after the other; ``listen`` finds them in recordings; ``lines`` is all of it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from marotte.basis.contracts.common import Told
from marotte.creature.schema.brief import Brief
from marotte.script import fountain
from marotte.script.casting import Ask, Entry, cast
from marotte.script.layout import Part, SceneSpan, lay_out
from marotte.script.phones import check_says
from marotte.script.recordings import Heard, hear_all
from marotte.script.utter import TimedLine, line, lower_says, wanted, word_phones

__all__ = [
    "Ask",
    "Entry",
    "Heard",
    "Part",
    "SceneSpan",
    "TimedLine",
    "cast",
    "lay_out",
    "line",
    "lines",
    "listen",
    "lower_says",
    "word_phones",
]


def listen(
    recordings: Mapping[str, Path],
    entries: Sequence[Entry],
    says: Mapping[str, str],
    folder: Path | None = None,
    progress: Callable[[str], None] | None = None,
) -> Heard:
    """Return which lines the recordings hold, and when in them each phone is spoken.

    Takes seconds the first time; what was found is kept in ``folder`` (None: the user's cache folder) by content.

    Args:
        recordings: stem -> file, ``creature.recordings``.
        entries: from ``cast``.
        says: the file's own words, through ``lower_says``.
        progress: called with a recording's name before it is heard.
    """
    if not recordings or not entries:
        return Heard(lines={})
    asked = {k + 1: wanted(k + 1, entry.ask, says) for k, entry in enumerate(entries)}
    return hear_all(recordings, {n: want for n, want in asked.items() if want.words}, folder, progress)


def lines(
    script_text: str | None,
    script_name: str,
    brief: Brief,
    recordings: Mapping[str, Path] | None = None,
    folder: Path | None = None,
    progress: Callable[[str], None] | None = None,
) -> Part:
    """Return the creature's part: times from the recordings where they hold a line, else by rule.

    Never raises on what a script or a recording may hold: see ``faults`` and ``told``.
    """
    if script_text is None:
        return Part()
    play = fountain.read(script_text, script_name)
    entries, faults = cast(play, brief)
    says = lower_says(brief.says)
    heard = listen(recordings or {}, entries, says, folder, progress)
    timed = tuple(line(entry.ask, says, heard.lines.get(k + 1)) for k, entry in enumerate(entries))
    part = lay_out(play, brief, entries, timed)
    told = tuple(Told(code="says", sentence=text, ref=ref) for text, ref in check_says(brief.says))
    return Part(
        lines=part.lines, scenes=part.scenes, directions=part.directions, stop=part.stop, told=told + heard.told + part.told,
        faults=play.faults + faults + heard.faults,
    )  # fmt: skip
