"""What is written -> what is said: words in order, numbers and abbreviations spoken out, pauses from the punctuation.

The rules stand in docs/methods/phones.md. What has no reading is left out and told.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from marotte.script.pieces import WORD, Break, edges
from marotte.script.reading import ROMAN, is_abbreviation, read_piece, spelled


@dataclass(frozen=True, slots=True, kw_only=True)
class SaidWord:
    """One word as it is said."""

    word: str
    """Lower case, letters and apostrophes only: what a dictionary is asked for."""
    written: str
    """As the script has it where one written word is one said word, else the said word."""
    emphasis: bool
    """Set in emphasis marks or in capitals by the writer."""
    pause: Break = ""
    at: int = 0
    """Letters of the text before the written word."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Utterance:
    """A whole line as it is said."""

    words: tuple[SaidWord, ...]
    skipped: tuple[str, ...] = ()
    """Written pieces with no reading."""


_MARKS = re.compile(r"\\[*_]|\*{1,3}|_")
_PIECE = re.compile(r"(?:(?!--|—)\S)+(?:--+|—+)?|--+|—+")


def spoken(text: str) -> Utterance:
    """Return the words of a line as they are said, with the pauses that its punctuation asks for.

    Args:
        text: dialogue with its Fountain emphasis marks.
    """
    clean, loud, places = _without_marks(text)
    said: list[SaidWord] = []
    skipped: list[str] = []
    pieces = [(m.start(), m[0]) for m in _PIECE.finditer(_spaced(clean))]
    shouted = _all_capitals(clean)
    i = 0
    while i < len(pieces):
        at, piece = pieces[i]
        core, pause = edges(piece)
        last_piece = i + 1 == len(pieces)
        following = [p for _, p in pieces[i + 1 : i + 3]]
        before = said[-1].word if said else ""
        read, used = read_piece(core, piece, following, before)
        words = [w for word in read if (w := "".join(WORD.findall(word))).strip("'")]
        if used:  # the reading took following pieces with it: their punctuation ends it
            pause = edges(pieces[i + used][1])[1]
        elif pause == "stop" and not last_piece and is_abbreviation(core, piece, following[0]):
            pause = ""
        if not words:
            if any(c.isalnum() for c in piece):
                skipped.append(piece)
            if pause and said and _rank(pause) > _rank(said[-1].pause):
                said[-1] = _with_pause(said[-1], pause)
            i += 1 + used
            continue
        emphasis = any(loud[at : at + len(piece)]) or (not shouted and _capitals(core))
        single = len(words) == 1 and used == 0 and "-" not in core
        for k, word in enumerate(words):
            last = k == len(words) - 1
            said.append(
                SaidWord(
                    word=word,
                    written=core if single else word,
                    emphasis=emphasis,
                    pause=pause if last else "",
                    at=places[at],
                )
            )
        i += 1 + used
    return Utterance(words=tuple(said), skipped=tuple(skipped))


def _rank(pause: Break) -> int:
    return ("", "comma", "colon", "dash", "stop").index(pause)


def _with_pause(word: SaidWord, pause: Break) -> SaidWord:
    return SaidWord(word=word.word, written=word.written, emphasis=word.emphasis, pause=pause, at=word.at)


def _without_marks(text: str) -> tuple[str, list[bool], list[int]]:
    """Return the text without emphasis marks, which letters they set off, and each letter's place in the given text."""
    out = list(text)
    loud = [False] * len(text)
    open_at: dict[str, int] = {}
    for match in _MARKS.finditer(text):
        mark = match[0]
        if mark.startswith("\\"):
            out[match.start()] = " "
            continue
        for k in range(match.start(), match.end()):
            out[k] = "\0"
        if mark in open_at:
            start = open_at.pop(mark)
            loud[start : match.start()] = [True] * (match.start() - start)
        else:
            open_at[mark] = match.end()
    kept = [k for k, c in enumerate(out) if c != "\0"]
    return "".join(out[k] for k in kept), [loud[k] for k in kept], kept


def _spaced(text: str) -> str:
    """Take the typographic forms to the plain ones and part words that a dash or dots join; no letter changes its place."""
    text = text.replace("’", "'").replace("‘", "'").replace("‐", "-").replace("‑", "-")
    text = re.sub(r"(?<=[^\W\d])–(?=[^\W\d])", "—", text)
    return re.sub(r"(?<=\w)\.\.\.(?=\w)", "…  ", text)


def _all_capitals(text: str) -> bool:
    letters = [c for c in text if c.isalpha()]
    return len(letters) > 1 and all(c.isupper() for c in letters)


def _capitals(core: str) -> bool:
    """Tell whether a word is shouted: capitals, with a vowel among them, and not initials."""
    letters = [c for c in core if c.isalpha()]
    if len(letters) < 2 or core in ROMAN or "." in core or any(c.isdigit() for c in core):
        return False
    return all(c.isupper() for c in letters) and not spelled(core)
