"""The lines of a Fountain script after its title page -> scenes."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Final

from marotte.script.screenplay import Action, Aside, Element, Note, Scene, Speech, plain

MARK: Final = "\ufdd0"
"""A code point that Unicode keeps out of text: note number n stands in the lines as MARK n MARK."""
HOLE: Final = "\ufdd1"
"""Stands for a cut that leaves its line empty: such a line is no blank line."""
_HEADING = re.compile(r"(?:INT\.?/EXT|INT/EXT|EXT\.?/INT|I/E|INT|EXT|EST)[. ]", re.IGNORECASE)
_NUMBER = re.compile(r"\s*#([\w.\-]+)#\s*$")
_CENTRED = re.compile(r"\s*>(.*)<\s*$")
_PAGE_BREAK = re.compile(r"={3,}\s*$")
_EXTENSION = re.compile(r"\(([^()]*)\)")
_SPACES = re.compile(r"  +")
_MARKED = re.compile(f"{MARK}[0-9]+{MARK}")


@dataclass(slots=True)
class _Draft:
    heading: str = ""
    number: str = ""
    section: str = ""
    synopsis: str = ""
    file_line: int = 1
    elements: list[Element] = field(default_factory=list)


def is_transition(line: str) -> bool:
    """Tell whether a line is a transition by its form: capitals, ending in ``TO:``."""
    return line.endswith("TO:") and line == line.upper()


class Body:
    """One pass over the lines after the title page."""

    def __init__(self, lines: list[str], first: int, notes: list[tuple[str, int]]) -> None:
        self.notes = notes
        # a line that a cut left empty is no line at all: it neither ends a speech nor starts a paragraph
        numbered = ((i + 1, line, line.replace(HOLE, "")) for i, line in enumerate(lines) if i >= first)
        self.lines = [(number, kept) for number, line, kept in numbered if kept.strip() or HOLE not in line]
        self.drafts = [_Draft(file_line=first + 1)]
        self.sections: list[str] = []

    def scenes(self) -> tuple[Scene, ...]:
        """Read all lines; return the scenes that hold something."""
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
        if line.startswith(">") or (alone and is_transition(line)):
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
        pieces = raw.split(MARK)
        for k, piece in enumerate(pieces):
            if k % 2:
                text, at = self.notes[int(piece)]
                found.append(Note(text=text, file_line=at or line, at=before + len(_SPACES.sub(" ", out).strip())))
            else:
                out += piece
        return _SPACES.sub(" ", out), found

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
            line = centred[1].strip() if centred else line.removeprefix("!").removeprefix("~")
            if line:
                texts.append(plain(line.strip()))
        self.drafts[-1].elements.append(
            Action(text=" ".join(texts), notes=self._notes_of(lines), file_line=lines[0][0])
        )
