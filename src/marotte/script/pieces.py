"""A written piece between two spaces: its core, the pause that its punctuation asks for, its letters without accents."""

from __future__ import annotations

import re
import unicodedata
from typing import Final, Literal, TypeAlias

Break: TypeAlias = Literal["", "comma", "dash", "colon", "stop"]
"""What follows a word: nothing; a short pause; a longer one; the end of a sentence."""


WORD: Final = re.compile(r"[a-z']+")
_EDGE_FRONT = "\"'“”‘’«»([{<¿¡…-–—*_.,;:!?"
_EDGE_BACK = '"“”«»)]}>…-–—,;:!?.'


def edges(piece: str) -> tuple[str, Break]:
    """Return a piece without the punctuation around it, and the pause that it asks for."""
    back = piece
    while back and back[-1] in _EDGE_BACK + "'":
        back = back[:-1]
    tail = piece[len(back) :]
    core = back.lstrip(_EDGE_FRONT)
    if core[:1].isdigit() and back[: len(back) - len(core)].endswith(("-", "−")):
        core = f"-{core}"
    if piece.lstrip('"“‘([{*_').startswith("'") and core:
        core = "'" + core  # 'tis, 'em
    if tail.startswith("'") and core.lower().endswith(("s", "in", "o", "an", "th")):
        core += "'"  # dogs', nothin', o'
    pause: Break = ""
    if any(c in tail for c in "!?…") or ("." in tail):
        pause = "stop"
    elif any(c in tail for c in "—–") or tail.endswith("-"):
        pause = "dash"
    elif any(c in tail for c in ";:"):
        pause = "colon"
    elif "," in tail or ")" in tail:
        pause = "comma"
    return core, pause


def fold(text: str) -> str:
    """Return a text with its letters without accents, for a dictionary that has none: ``café`` -> ``cafe``."""
    text = (
        text.replace("æ", "ae")
        .replace("Æ", "Ae")
        .replace("œ", "oe")
        .replace("Œ", "Oe")
        .replace("ß", "ss")
        .replace("ø", "o")
        .replace("ł", "l")
    )
    return "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
