"""What a screenplay is made of: scenes, speeches, action, notes; each knows its line in the file."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, TypeAlias

from marotte.basis.faults import Fault

_UNSEEN: Final = frozenset({"vo", "os", "oc", "offscreen", "voiceover", "offstage"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A ``[[note]]``."""

    text: str
    file_line: int
    at: int
    """Letters of the speech's text that come before it; 0 in action."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Aside:
    """A parenthetical; it colours what follows it in the speech."""

    text: str
    file_line: int
    at: int
    """Letters of the speech's text that come before it; 0 at its start."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Speech:
    """What one character says in one go."""

    cue: str
    """The name, without extensions: "TANSY"."""
    extensions: tuple[str, ...]
    """("V.O.", "CONT'D")."""
    text: str
    """Lines joined by a space, emphasis marks kept, notes and parentheticals taken out."""
    asides: tuple[Aside, ...]
    notes: tuple[Note, ...]
    file_line: int
    """Line of the cue."""
    text_line: int
    """Line of the first words."""
    dual: bool
    """Spoken at the same time as the speech before it."""
    lyrics: bool

    @property
    def off_screen(self) -> bool:
        """Whether the speaker is heard and not seen (voice-over or off screen)."""
        return any(re.sub(r"[^a-z]", "", word.lower()) in _UNSEEN for word in self.extensions)


@dataclass(frozen=True, slots=True, kw_only=True)
class Action:
    """What is seen."""

    text: str
    notes: tuple[Note, ...]
    file_line: int


Element: TypeAlias = Speech | Action


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """A scene and what is in it, in the order of the file."""

    heading: str
    number: str
    section: str
    """The nearest section above it ("Act One"), empty without one."""
    synopsis: str
    file_line: int
    elements: tuple[Element, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Screenplay:
    """A whole script."""

    title: dict[str, str]
    scenes: tuple[Scene, ...]
    """What stands before the first heading is a scene with an empty heading."""
    faults: tuple[Fault, ...] = ()

    def cues(self) -> tuple[str, ...]:
        """Return every cue name, in the order of first speech."""
        names = dict.fromkeys(e.cue for s in self.scenes for e in s.elements if isinstance(e, Speech))
        return tuple(names)


_EMPHASIS = re.compile(r"(?<!\\)(\*{1,3}|_)(?=\S)(.+?)(?<=\S)(?<!\\)\1")


def plain(text: str) -> str:
    """Return a text without its emphasis marks; an escaped mark stays as itself.

    >>> plain(r"_Never_ the **black** one, 2 \\* 3")
    'Never the black one, 2 * 3'
    """
    while True:
        out = _EMPHASIS.sub(r"\2", text)
        if out == text:
            return re.sub(r"\\([*_])", r"\1", out)
        text = out
