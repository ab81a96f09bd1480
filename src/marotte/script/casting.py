"""Which lines of a screenplay are the creature's, how each is to be said, and in which mood."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from marotte.basis.faults import Fault, nearest
from marotte.creature.schema.brief import Brief
from marotte.script.fountain import Screenplay, Speech
from marotte.script.pieces import fold

REST_S: Final[dict[str, float]] = {
    "beat": 1.0,
    "a beat": 1.0,
    "pause": 1.0,
    "a pause": 1.0,
    "long pause": 2.0,
    "a long pause": 2.0,
    "long beat": 2.0,
}
"""Parentheticals that are silences; ours."""
PACE_WORDS: Final[dict[str, float]] = {
    "very slowly": 0.65, "slowly": 0.8, "slow": 0.8, "drawling": 0.8, "quickly": 1.25, "quick": 1.25, "fast": 1.25, "hurriedly": 1.25,
    "rapidly": 1.25, "very fast": 1.5,
}  # fmt: skip
"""Parentheticals that are a pace, as a factor on the brief's, unless ``brief.moods`` has the word for a mood; ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One line of the creature as the screenplay has it: what ``line`` needs, and no more."""

    text: str
    pace: float
    """Syllables a second while speaking [1/s]."""
    rests: tuple[tuple[int, float], ...] = ()
    """(letters of the text before it, silence [s])."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One of the creature's lines with its place in the screenplay."""

    ask: Ask
    mood: str
    scene: int
    speech: Speech


@lru_cache(maxsize=1024)
def same_cue(name: str) -> str:
    """Return a cue name in the form in which two are compared: no accents, no case, single spaces."""
    return " ".join(fold(name).casefold().replace(".", " ").split())


def cast(play: Screenplay, brief: Brief) -> tuple[tuple[Entry, ...], tuple[Fault, ...]]:
    """Return the lines of the brief's cue, in order, or the fault that nobody has that cue."""
    if not play.scenes:
        return (), ()
    cues = play.cues()
    if brief.cue is None:
        try_ = f"cue: {cues[0]}" if cues else ""
        return (), (
            Fault(
                code="missing",
                what="the brief names a script but no cue",
                path="/brief/cue",
                allowed=_some(cues),
                try_=try_,
            ),
        )
    cue = same_cue(brief.cue)
    out: list[Entry] = []
    for s, scene in enumerate(play.scenes):
        for element in scene.elements:
            if not isinstance(element, Speech):
                continue
            if cue in {same_cue(name) for name in _names(element.cue)}:
                out.append(_entry(element, s, brief))
    if out:
        return tuple(out), ()
    near = nearest(cue, [same_cue(name) for name in cues])
    try_ = next((name for name in cues if same_cue(name) == near), "")
    what = f"nobody in the script has the cue {brief.cue!r}"
    return (), (Fault(code="no_such", what=what, path="/brief/cue", found=brief.cue, allowed=_some(cues), try_=try_),)


def _some(cues: Sequence[str]) -> str:
    return ", ".join(sorted(cues)[:12]) + (f" and {len(cues) - 12} more" if len(cues) > 12 else "")


@lru_cache(maxsize=1024)
def _names(cue: str) -> tuple[str, ...]:
    """Return the names of a shared cue: ``TANSY AND PIP``, ``TANSY & PIP``, ``TANSY / PIP``; and the cue as it stands."""
    return (cue, *(re.split(r"\s*(?:/|&|,|\bAND\b)\s*", cue) if re.search(r"/|&|,|\bAND\b", cue) else ()))


def mood_of(text: str, brief: Brief) -> str:
    """Return the mood that a parenthetical asks for, by the brief's list, or an empty string.

    The whole of it counts first, then its parts between commas, semicolons, "and" and "then"; the first that is listed.
    """
    wanted = {" ".join(key.lower().split()): mood for key, mood in brief.moods.items()}
    whole = " ".join(text.lower().split())
    for piece in (whole, *_asks(text)):
        if piece in wanted:
            return wanted[piece]
    return ""


def pace_of(text: str, brief: Brief) -> float:
    """Return the factor on the pace that a parenthetical asks for; 1 where it asks for none.

    >>> pace_of("quietly, slowly", Brief())
    0.8
    """
    for piece in _asks(text):
        if piece in PACE_WORDS and not mood_of(piece, brief):
            return PACE_WORDS[piece]
    return 1.0


def only_time(text: str, brief: Brief) -> bool:
    """Tell whether a parenthetical asks for a silence or a pace and for nothing that is seen."""
    return all(piece in REST_S or (piece in PACE_WORDS and not mood_of(piece, brief)) for piece in _asks(text))


@lru_cache(maxsize=1024)
def _asks(text: str) -> tuple[str, ...]:
    whole = " ".join(text.lower().split()).strip(" .")
    parts = re.split(r"[,;]|\band\b|\bthen\b|\bbut\b", whole)
    return tuple([piece for part in parts if (piece := part.strip(" ."))])


def _entry(speech: Speech, scene: int, brief: Brief) -> Entry:
    moods = [mood_of(aside.text, brief) for aside in speech.asides if aside.at == 0]
    mood = next((m for m in moods if m), "")
    rests = tuple(
        (a.at, REST_S[a.text.lower().strip(" .")])
        for a in speech.asides
        if a.text.lower().strip(" .") in REST_S and a.at > 0
    )
    pace = brief.pace.by_mood.get(mood, brief.pace.syllables)
    for aside in speech.asides:
        pace *= pace_of(aside.text, brief) if aside.at == 0 else 1.0
    return Entry(ask=Ask(text=speech.text, pace=pace, rests=rests), mood=mood, scene=scene, speech=speech)
