"""Fountain plain text -> scenes, speeches, action and notes, each with its line in the file.

Read as the Fountain syntax page has it (see docs/decisions/0010-fountain.md for why this is our own reader): title page,
scene headings (also forced with ``.``), characters (forced with ``@``), extensions, dual dialogue (``^``), parentheticals,
lyrics (``~``), transitions (``>`` or ``TO:``), centred text, action (forced with ``!``), sections (``#``), synopses (``=``),
page breaks, ``[[notes]]``, ``/* boneyard */`` and emphasis. Nothing here knows which creature is meant.
"""

from __future__ import annotations

import re
from typing import Final

from marotte.basis.faults import Fault
from marotte.basis.given import Place
from marotte.script.fountain_body import HOLE, MARK, Body, is_transition
from marotte.script.screenplay import Action, Aside, Element, Note, Scene, Screenplay, Speech, plain

__all__ = ["Action", "Aside", "Element", "Note", "Scene", "Screenplay", "Speech", "plain", "read"]

LONGEST_SCRIPT: Final = 4_000_000
"""Letters: a 200-page screenplay has about 250,000."""
_TITLE_KEY = re.compile(r"([A-Za-z][\w .\-]{0,40}):(.*)$")
_NOTE = re.compile(r"\[\[(.*?)\]\]", re.DOTALL)
_BONEYARD = re.compile(r"/\*.*?(?:\*/|\Z)", re.DOTALL)
_TWO_BLANKS = re.compile(r"\n[ \t]*\n")


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
    scenes = Body(lines, first, notes).scenes()
    if not any(scene.elements for scene in scenes):
        faults.append(
            Fault(
                code="script", what="the script has no dialogue and no action", place=Place(file=name, line=1, column=1)
            )
        )
    return Screenplay(title=title, scenes=scenes, faults=tuple(faults))


_ODD = re.compile("[\\x00-\\x08\\x0e-\\x1f\\ufffd\\ud800-\\udfff]")


def _unreadable(text: str, name: str) -> Fault | None:
    place = Place(file=name, line=1, column=1)
    if not text.strip():
        try_ = "write the creature's lines in Fountain, or leave `script` out"
        return Fault(code="script", what="the script is empty", place=place, try_=try_)
    if len(text) > LONGEST_SCRIPT:
        what = f"{len(text)} letters is longer than any script"
        return Fault(code="script", what=what, place=place, allowed=f"at most {LONGEST_SCRIPT} letters")
    sample = text[:20_000]
    odd = len(_ODD.findall(sample))
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
        return HOLE + ("\n" + HOLE) * match[0].count("\n")

    return _BONEYARD.sub(hole, text)


def _lift_notes(text: str, name: str, faults: list[Fault]) -> tuple[str, list[tuple[str, int]]]:
    notes: list[tuple[str, int]] = []

    def lift(match: re.Match[str]) -> str:
        if _TWO_BLANKS.search(match[1].replace(HOLE, "x")) and "  \n" not in match[1]:
            return match[0]  # a blank line ends a note, unless two spaces keep it open
        line = text.count("\n", 0, match.start()) + 1
        notes.append((" ".join(match[1].replace(HOLE, " ").split()), line))
        return f"{MARK}{len(notes) - 1}{MARK}" + ("\n" + HOLE) * match[1].count("\n")

    out = _NOTE.sub(lift, text)
    left = out.find("[[")
    if left >= 0:
        place = Place(file=name, line=out.count("\n", 0, left) + 1, column=1)
        faults.append(Fault(code="script", what="a note [[ is never closed", place=place, try_="close it with ]]"))
    return out, notes


def _title_page(lines: list[str]) -> tuple[dict[str, str], int]:
    """Return the title page and the index of the line after it; no title page is ({}, 0)."""
    if not lines or not _TITLE_KEY.match(lines[0]) or is_transition(lines[0].strip()):
        return {}, 0
    title: dict[str, str] = {}
    key = ""
    for i, raw in enumerate(lines):
        line = raw.replace(HOLE, "")
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
