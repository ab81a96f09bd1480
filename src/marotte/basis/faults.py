"""Errors that help a person at a bench.

::

    MarotteError
    ├── BadInput          the creature folder cannot be read as written: carries every Fault found
    ├── BadRequest        the command or the caller asked for what is not there
    └── CannotSave        nothing was lost; the file on disk is as it was

Every code stands in ``CODES``; docs/reference/faults.md is made from that list.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Final

from marotte.basis.given import Place, Ref

CODES: Final[dict[str, str]] = {
    "no_folder": "The creature folder, or a file in it, is not there.",
    "not_a_file": "A folder stands where a file should be, or the other way round.",
    "cannot_read": "The file cannot be opened.",
    "too_big": "The file is larger than any creature needs.",
    "encoding": "The file is not UTF-8 text.",
    "yaml": "The file is not YAML.",
    "too_deep": "Blocks stand inside blocks too deep.",
    "alias": "Anchors, aliases, merges and tags of YAML are not part of this file.",
    "duplicate": "The same key stands twice in one block.",
    "version": "The file is of a version that this release does not know.",
    "unknown_key": "A key that is not part of this block.",
    "missing": "A key that this block needs.",
    "wrong_kind": "A value of another kind was expected here.",
    "unit": "The unit is not one that this field takes.",
    "number": "This is not a number that this field takes.",
    "bounds": "The number is outside what this field allows.",
    "choice": "The word is not one of those that are allowed here.",
    "no_such": "A name that nothing in the file has.",
    "twice": "Two things claim the same place.",
    "unmoved": "A function that nothing moves.",
    "loop": "A tree that comes back to itself.",
    "geometry": "Lengths that cannot go together.",
    "script": "The script cannot be read.",
    "voice": "A recording cannot be used.",
    "measured": "A file of measurements cannot be used.",
    "order": "Numbers that should rise do not.",
}
"""Code -> what it means."""
MOST_BITS: Final = 1024
"""Whole numbers of more are none that a file, a request or a message holds; Python itself writes out no more than 14 times as many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing that is wrong, and what to try."""

    code: str
    what: str
    """A sentence without a full stop: what was found, and what is allowed."""
    place: Place | None = None
    path: Ref = ""
    """Where in the written tree, as a JSON Pointer."""
    found: str = ""
    allowed: str = ""
    try_: str = ""

    def __post_init__(self) -> None:
        if self.code not in CODES:
            raise KeyError(f"fault code {self.code!r} is not in CODES")

    def __str__(self) -> str:
        where = f"{self.place}: " if self.place else ""
        path = f"{shown_path(self.path)}: " if self.path else ""
        text = f"{where}{path}{self.what}"
        if self.allowed and self.allowed not in self.what:
            text += f"; allowed: {self.allowed}"
        if self.try_:
            text += f". Try: {self.try_}"
        return "".join(letter if letter.isprintable() else ascii(letter)[1:-1] for letter in text)


class MarotteError(Exception):
    """The root of every error that this project raises on purpose."""


class BadInput(MarotteError):  # noqa: N818 - it is bad input, and read so
    """The folder cannot be read as written. ``faults`` holds all that was found, in the order of the file."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(sorted(faults, key=_order))
        super().__init__("\n".join(str(fault) for fault in self.faults))


class BadRequest(MarotteError):  # noqa: N818
    """What was asked for is not there: no such finding, no such function."""


class CannotSave(MarotteError):  # noqa: N818
    """The save failed; the file on disk is as it was before."""


def _order(fault: Fault) -> tuple[str, int, int, str]:
    place = fault.place
    return (place.file, place.line, place.column, fault.path) if place else ("", 0, 0, fault.path)


def shown_path(ref: Ref) -> str:
    """Return a pointer as people read it: ``/functions/jaw/mech/horn`` becomes ``functions > jaw > mech > horn``."""
    return " > ".join(short(part.replace("~1", "/").replace("~0", "~")) for part in ref.strip("/").split("/"))


def nearest(word: str, words: Iterable[str]) -> str:
    """Return the allowed word that looks most like one that is not allowed, or an empty string."""
    found = get_close_matches(word, sorted(words), n=1, cutoff=0.6)
    return found[0] if found else ""


def short(value: object, limit: int = 60) -> str:
    """Return a found value as text, cut to a length that fits a message."""
    text = str(value) if not isinstance(value, int) or value.bit_length() < MOST_BITS else "a number without end"
    text = " ".join(text.split()) if text.isprintable() else ascii(text).strip("'")
    return text if len(text) <= limit else text[: limit - 1] + "…"
