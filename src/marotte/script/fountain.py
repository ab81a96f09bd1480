"""Fountain plain text -> scenes, speeches, action and notes, each with its line in the file.

Read as the Fountain syntax page has it (see docs/decisions/0010-fountain.md for why this is our own reader): title page,
scene headings (also forced with ``.``), characters (forced with ``@``), extensions, dual dialogue (``^``), parentheticals,
lyrics (``~``), transitions (``>`` or ``TO:``), centred text, action (forced with ``!``), sections (``#``), synopses (``=``),
page breaks, ``[[notes]]``, ``/* boneyard */`` and emphasis. Nothing here knows which creature is meant.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Final, TypeAlias

from marotte.basis.faults import Fault
from marotte.basis.given import Place

LONGEST_SCRIPT: Final = 4_000_000
"""Letters: a 200-page screenplay has about 250,000."""
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


_HEADING = re.compile(r"(?:INT\.?/EXT|INT/EXT|EXT\.?/INT|I/E|INT|EXT|EST)[. ]", re.IGNORECASE)
_NUMBER = re.compile(r"\s*#([\w.\-]+)#\s*$")
_CENTRED = re.compile(r"\s*>(.*)<\s*$")
_PAGE_BREAK = re.compile(r"={3,}\s*$")
_TITLE_KEY = re.compile(r"([A-Za-z][\w .\-]{0,40}):(.*)$")
_NOTE = re.compile(r"\[\[(.*?)\]\]", re.DOTALL)
_BONEYARD = re.compile(r"/\*.*?(?:\*/|\Z)", re.DOTALL)
_EXTENSION = re.compile(r"\(([^()]*)\)")
_TWO_BLANKS = re.compile(r"\n[ \t]*\n")
_MARK = "\ufdd0"  # a code point that Unicode keeps out of text: stands for note number n as MARK n MARK
_HOLE = "\ufdd1"  # stands for a cut that leaves its line empty: such a line is no blank line


@dataclass(slots=True)
class _Draft:
    heading: str = ""
    number: str = ""
    section: str = ""
    synopsis: str = ""
    file_line: int = 1
    elements: list[Element] = field(default_factory=list)


def read(text: str, name: str) -> Screenplay:
    """Return a screenplay. Never raises: what is wrong is in ``faults``, and whatever can be read is read.

    Args:
        text: the file.
        name: its name, for the places of faults.
    """
    fault = _unreadable(text, name)
    if fault is not None:
        return Screenplay(title={}, scenes=(), faults=(fault,))
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").replace("\u2028", "\n").expandtabs(4)
    faults: list[Fault] = []
    text = _cut_boneyard(text, name, faults)
    text, notes = _lift_notes(text, name, faults)
    lines = text.split("\n")
    title, first = _title_page(lines)
    scenes = _Body(lines, first, notes).scenes()
    if not any(scene.elements for scene in scenes):
        faults.append(
            Fault(
                code="script", what="the script has no dialogue and no action", place=Place(file=name, line=1, column=1)
            )
        )
    return Screenplay(title=title, scenes=scenes, faults=tuple(faults))


def _unreadable(text: str, name: str) -> Fault | None:
    place = Place(file=name, line=1, column=1)
    if not text.strip():
        try_ = "write the creature's lines in Fountain, or leave `script` out"
        return Fault(code="script", what="the script is empty", place=place, try_=try_)
    if len(text) > LONGEST_SCRIPT:
        what = f"{len(text)} letters is longer than any script"
        return Fault(code="script", what=what, place=place, allowed=f"at most {LONGEST_SCRIPT} letters")
    sample = text[:20_000]
    odd = sum(
        1 for c in sample if (ord(c) < 32 and c not in "\n\r\t\f\v") or c == "\ufffd" or 0xD800 <= ord(c) < 0xE000
    )
    if "\0" in sample or odd > len(sample) // 100:
        what = "this is not text: it looks like a program, a picture or a document of a word processor"
        return Fault(code="script", what=what, place=place, try_="export the screenplay as Fountain plain text")
    return None


def _cut_boneyard(text: str, name: str, faults: list[Fault]) -> str:
    def hole(match: re.Match[str]) -> str:
        if not match[0].endswith("*/") or len(match[0]) < 4:
            place = Place(file=name, line=text.count("\n", 0, match.start()) + 1, column=1)
            what = "a boneyard /* is never closed: all after it is left out"
            faults.append(Fault(code="script", what=what, place=place, try_="close it with */"))
        return _HOLE + ("\n" + _HOLE) * match[0].count("\n")

    return _BONEYARD.sub(hole, text)


def _lift_notes(text: str, name: str, faults: list[Fault]) -> tuple[str, list[tuple[str, int]]]:
    notes: list[tuple[str, int]] = []

    def lift(match: re.Match[str]) -> str:
        if _TWO_BLANKS.search(match[1].replace(_HOLE, "x")) and "  \n" not in match[1]:
            return match[0]  # a blank line ends a note, unless two spaces keep it open
        line = text.count("\n", 0, match.start()) + 1
        notes.append((" ".join(match[1].replace(_HOLE, " ").split()), line))
        return f"{_MARK}{len(notes) - 1}{_MARK}" + ("\n" + _HOLE) * match[1].count("\n")

    out = _NOTE.sub(lift, text)
    left = out.find("[[")
    if left >= 0:
        place = Place(file=name, line=out.count("\n", 0, left) + 1, column=1)
        faults.append(Fault(code="script", what="a note [[ is never closed", place=place, try_="close it with ]]"))
    return out, notes


def _title_page(lines: list[str]) -> tuple[dict[str, str], int]:
    """Return the title page and the index of the line after it; no title page is ({}, 0)."""
    if not lines or not _TITLE_KEY.match(lines[0]) or _is_transition(lines[0].strip()):
        return {}, 0
    title: dict[str, str] = {}
    key = ""
    for i, raw in enumerate(lines):
        line = raw.replace(_HOLE, "")
        if not line.strip():
            return title, i
        match = _TITLE_KEY.match(line)
        if match and not line[0].isspace():
            key = match[1].strip().lower()
            title[key] = match[2].strip()
        elif key and line[0].isspace():
            title[key] = f"{title[key]}\n{line.strip()}".strip()
        else:
            return {}, 0
    return title, len(lines)


def _is_transition(line: str) -> bool:
    return line.endswith("TO:") and line == line.upper()


class _Body:
    """One pass over the lines after the title page."""

    def __init__(self, lines: list[str], first: int, notes: list[tuple[str, int]]) -> None:
        self.notes = notes
        # a line that a cut left empty is no line at all: it neither ends a speech nor starts a paragraph
        numbered = ((i + 1, line, line.replace(_HOLE, "")) for i, line in enumerate(lines) if i >= first)
        self.lines = [(number, kept) for number, line, kept in numbered if kept.strip() or _HOLE not in line]
        self.drafts = [_Draft(file_line=first + 1)]
        self.sections: list[str] = []

    def scenes(self) -> tuple[Scene, ...]:
        i = 0
        while i < len(self.lines):
            i = i + 1 if not self.lines[i][1].strip() else self._paragraph(i)
        kept = [d for d in self.drafts if d.heading or d.elements]
        return tuple(
            Scene(
                heading=d.heading,
                number=d.number,
                section=d.section,
                synopsis=d.synopsis,
                file_line=d.file_line,
                elements=tuple(d.elements),
            )
            for d in kept
        )

    def _paragraph(self, i: int) -> int:
        """Read what begins at line i, where the line before is blank or ended; return the index after it."""
        number, raw = self.lines[i]
        line = _MARKED.sub("", raw).strip()
        if not line:  # a note on its own
            self._action([self.lines[i]])
            return i + 1
        alone = i + 1 >= len(self.lines) or not _MARKED.sub("", self.lines[i + 1][1]).strip()
        if line.startswith("!"):
            return self._take_action(i)
        if _PAGE_BREAK.match(line):
            return i + 1
        if line.startswith("#"):
            depth = len(line) - len(line.lstrip("#"))
            self.sections = [*self.sections[: depth - 1], line.lstrip("#").strip()]
            return i + 1
        if line.startswith("="):
            self.drafts[-1].synopsis = f"{self.drafts[-1].synopsis} {line[1:].strip()}".strip()
            return i + 1
        forced = line.startswith(".") and len(line) > 1 and line[1] != "."
        if forced or (_HEADING.match(line) and alone):
            self._heading(line[1:].strip() if forced else line, number, raw)
            return i + 1
        if _CENTRED.match(line):
            return self._take_action(i)
        if line.startswith(">") or (alone and _is_transition(line)):
            return i + 1
        if not alone and self._is_cue(line):
            return self._speech(i)
        return self._take_action(i)

    def _heading(self, line: str, number: int, raw: str) -> None:
        match = _NUMBER.search(line)
        heading = plain(line[: match.start()] if match else line)
        section = " / ".join(part for part in self.sections if part)
        self.drafts.append(_Draft(heading=heading, number=match[1] if match else "", section=section, file_line=number))
        notes = self._notes_of([(number, raw)])
        if notes:
            self.drafts[-1].elements.append(Action(text="", notes=notes, file_line=number))

    @staticmethod
    def _is_cue(line: str) -> bool:
        if line.startswith("@"):
            return len(line) > 1
        name = _EXTENSION.sub("", line).rstrip("^ ").strip()
        return bool(name) and any(c.isalpha() for c in name) and name == name.upper()

    def _speech(self, i: int) -> int:
        number, raw = self.lines[i]
        line = _MARKED.sub("", raw).strip()
        dual = line.endswith("^")
        line = line.rstrip("^ ").lstrip("@").strip()
        extensions = tuple(found.strip() for found in _EXTENSION.findall(line) if found.strip())
        cue = " ".join(_EXTENSION.sub(" ", line).split())
        text = ""
        asides: list[Aside] = []
        notes = list(self._notes_of([(number, raw)]))
        text_line, lyrics, aside = 0, False, ""
        aside_line = number
        i += 1
        while i < len(self.lines):
            at, raw = self.lines[i]
            if not raw.strip() and not raw.startswith("  "):  # two spaces keep a speech going over a blank line
                break
            here, found = self._lift(raw, len(text) + (1 if text else 0), at)
            notes.extend(found)
            here = here.strip()
            if aside or (here.startswith("(") and not aside):
                aside_line = aside_line if aside else at
                aside = f"{aside} {here}".strip()
                if aside.count("(") <= aside.count(")"):
                    inner, _, rest = aside[1:].rpartition(")")
                    asides.append(Aside(text=plain(inner.strip()), file_line=aside_line, at=len(text)))
                    aside, here = "", rest.strip()
                else:
                    here = ""
            if here.startswith("~"):
                lyrics, here = True, here[1:].strip()
            if here:
                text = f"{text} {here}" if text else here
                text_line = text_line or at
            i += 1
        if aside:
            asides.append(Aside(text=plain(aside.strip("() ")), file_line=aside_line, at=len(text)))
        self.drafts[-1].elements.append(
            Speech(
                cue=cue, extensions=extensions, text=text, asides=tuple(asides), notes=tuple(notes), file_line=number,
                text_line=text_line or number, dual=dual, lyrics=lyrics,
            )
        )  # fmt: skip
        return i

    def _lift(self, raw: str, before: int, line: int) -> tuple[str, list[Note]]:
        """Return a line without its notes, and those notes with the letters before each."""
        found: list[Note] = []
        out = ""
        pieces = raw.split(_MARK)
        for k, piece in enumerate(pieces):
            if k % 2:
                text, at = self.notes[int(piece)]
                found.append(Note(text=text, file_line=at or line, at=before + len(out.strip())))
            else:
                out += piece
        return re.sub(r"  +", " ", out), found

    def _notes_of(self, lines: list[tuple[int, str]]) -> tuple[Note, ...]:
        return tuple(
            Note(text=note.text, file_line=note.file_line, at=0)
            for number, raw in lines
            for note in self._lift(raw, 0, number)[1]
        )

    def _take_action(self, i: int) -> int:
        first = i
        while i < len(self.lines) and self.lines[i][1].strip():
            i += 1
        self._action(self.lines[first:i])
        return i

    def _action(self, lines: list[tuple[int, str]]) -> None:
        texts = []
        for _, raw in lines:
            line = _MARKED.sub("", raw).strip()
            centred = _CENTRED.match(line)
            line = centred[1].strip() if centred else line.removeprefix("!")
            if line:
                texts.append(plain(line.strip()))
        self.drafts[-1].elements.append(
            Action(text=" ".join(texts), notes=self._notes_of(lines), file_line=lines[0][0])
        )


_MARKED = re.compile(f"{_MARK}[0-9]+{_MARK}")
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
