"""A direction taken apart: what is done at once, what one after the other, and how long the one keeps the next waiting.

"then" parts what is done in order; "and", a comma and a stop part doings that begin together, but for looks: two of them are never
at once, so the second waits until the first has landed and been held.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from marotte.basis.ticks import ticks
from marotte.script.business import FORMS, understood
from marotte.script.gaze import FLICK, VERBS, looks_in
from marotte.script.life import SETTLED

LOOKED: Final = ticks(0.5) + SETTLED
"""What a look takes before another thing is begun that comes "then" [ticks]: to land, and to be held (a rule of this project)."""
LAND: Final = ticks(0.45)
"""How long before its line a look starts that is written at its head [ticks], so that it has landed when the line begins."""
_THEN: Final = re.compile(r",?\s+(?:and\s+)?then\s+|,?\s+before\s+(?=\w+ing\b)", re.IGNORECASE)
LETTER: Final = ticks(60.0) / (55 * 60)
"""Ticks that a letter of action takes: a page a minute, 55 lines of 60 letters (common practice, no source)."""
SENTENCE: Final = re.compile(r"[^.;!?]+")
_BEGINS: Final = re.compile(r"\s*then\b", re.IGNORECASE)
_STOP: Final = re.compile(r"[.;!?]+(?:\s|$)")
_JOINT: Final = re.compile(r"(,?\s+and\s+|,\s+)", re.IGNORECASE)


@lru_cache(maxsize=4096)
def chained(text: str, names: tuple[str, ...]) -> tuple[tuple[tuple[str, int], ...], int]:
    """Return the pieces of a direction, each with when it begins [ticks from the first], and when the last is done.

    ``names`` are the targets that a look may name.

    >>> chained("looks at the letter, then blinks twice", ("letter",))
    ((('looks at the letter', 0), ('blinks twice', 1200)), 1900)
    """
    out: list[tuple[str, int]] = []
    now = done = looked = 0
    for text_, after in _pieces(text, names):
        now = done if after else now
        looks = len(looks_in(text_, names)[0])
        start = max(now, looked) if looks else now
        out.append((text_, start))
        looked = start + LOOKED * looks if looks else looked
        done = max(done, start + _takes(text_, looks))
    return tuple(out), done


def lasts(texts: Sequence[str], names: tuple[str, ...]) -> int:
    """Return how long some directions one after the other take until the last thing in them begins [ticks]."""
    return sum(chained(text, names)[1] for text in texts[:-1]) + max(
        _begun(text, names) for text in texts[-1:] or ("",)
    )


def _begun(text: str, names: tuple[str, ...]) -> int:
    """Return when the last thing in a direction begins [ticks]."""
    pieces, _ = chained(text, names)
    return max((at + LOOKED * max(len(looks_in(piece, names)[0]) - 1, 0) for piece, at in pieces), default=0)


@lru_cache(maxsize=4096)
def in_order(text: str, names: tuple[str, ...]) -> tuple[tuple[int, ...], int, int]:
    """Return when each sentence of an action begins, when the last thing in it does, and when all is done [ticks].

    A sentence is done when it is read, but no look before the one ahead of it has landed and been held.
    """
    starts: list[int] = []
    last = looked = done = 0
    for found in SENTENCE.finditer(text):
        sentence = found.group().strip()
        pieces, takes = chained(sentence, names)
        at = round(found.start() * LETTER)
        if any(looks_in(piece, names)[0] for piece, _ in pieces):
            at = max(at, looked)
            looked = at + takes
        starts.append(at)
        last = max(last, at + _begun(sentence, names))
        done = max(done, at + takes if takes else 0)
    return tuple(starts), last, done


def looks_at(count: int, at: int) -> list[int]:
    """Return when each of some looks of one piece leaves [ticks]."""
    return [at + LOOKED * k for k in range(count)]


def _takes(text: str, looks: int) -> int:
    """Return how long a piece keeps what comes "then" waiting [ticks]: a held doing only until it is there."""
    deed = understood(text)
    takes = LOOKED * looks
    if deed is not None and deed.form == "blinks":
        takes = max(takes, 400 * deed.times - 100)
    elif deed is not None and FORMS[deed.form].run in ("pulse", "shake"):
        takes = max(takes, deed.ticks)
    elif deed is not None and FORMS[deed.form].run == "hold":
        takes = max(takes, ticks(FORMS[deed.form].go * deed.pace + deed.seconds) + SETTLED // 2)
    return max(takes, 2 * FLICK) if takes else 0


def _pieces(text: str, names: tuple[str, ...]) -> list[tuple[str, bool]]:
    """Return (piece, whether it comes after the one before it)."""
    out: list[tuple[str, bool]] = []
    for sentence in _STOP.split(text):
        looked = False
        for k, part in enumerate(_THEN.split(sentence)):
            for j, piece in enumerate(_joined(part, names)):
                written = piece
                if looked and not _does(piece, names) and looks_in(f"looks {piece}", names)[0]:
                    written = f"looks {piece}"  # "looks at the letter, then the door"
                looked = bool(looks_in(written, names)[0])
                after = k > 0 or bool(_BEGINS.match(sentence))
                out.append((written, after and j == 0))
    return out


def _joined(part: str, names: tuple[str, ...]) -> list[str]:
    """Return what "and" and commas part into doings; what is no doing of its own stays with its neighbour."""
    bits = _JOINT.split(part)
    out: list[str] = []
    front = ""
    for k in range(0, len(bits), 2):
        bit = bits[k]
        joint = bits[k - 1] if k else ""
        if _does(bit, names):
            out.append(front + (joint if front else "") + bit)
            front = ""
        elif out:
            out[-1] += joint + bit
        else:
            front += joint + bit
    if front:
        out.append(front)
    return [piece for bit in out if (piece := bit.strip(" \t\n.,;:!()[]"))]


def _does(text: str, names: tuple[str, ...]) -> bool:
    return understood(text) is not None or (
        any(word in VERBS for word in re.findall(r"[\w'-]+", text.lower())) or bool(looks_in(text, names)[0])
    )
