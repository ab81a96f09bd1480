"""One written piece -> its words: abbreviations, titles, initials, Roman numbers, symbols, and plain words."""

from __future__ import annotations

import re
from typing import Final

from marotte.script import numbers
from marotte.script.figures import figures
from marotte.script.pieces import WORD, fold

_TITLES: Final = {
    "mr": "mister", "mrs": "missus", "ms": "miz", "dr": "doctor", "prof": "professor", "rev": "reverend", "capt": "captain",
    "lt": "lieutenant", "sgt": "sergeant", "gen": "general", "col": "colonel", "hon": "honourable", "mme": "madame", "messrs": "messrs",
}  # fmt: skip
_SHORT: Final = {
    "jr": "junior", "sr": "senior", "etc": "et cetera", "vs": "versus", "approx": "approximately", "dept": "department",
    "govt": "government", "inc": "incorporated", "ltd": "limited", "co": "company", "ave": "avenue", "rd": "road", "mt": "mount",
    "e.g": "for example", "i.e": "that is", "a.m": "a m", "p.m": "p m", "n.b": "note well", "p.s": "p s", "ok": "okay",
    "jan": "january", "feb": "february", "aug": "august", "sept": "september", "oct": "october", "nov": "november", "dec": "december",
    "approx.": "approximately", "misc": "miscellaneous", "est": "established", "tel": "telephone", "min": "minutes", "sec": "seconds",
}  # fmt: skip
_DOTTED = "co ave rd mt inc jan feb aug oct nov dec min sec est gen col hon tel lt rev sr messrs misc"
_NEEDS_DOT: Final = frozenset(_DOTTED.split())
"""Words of their own, or too short to trust: read as abbreviations only when their full stop is there."""
_FRACTIONS: Final = {"½": "a half", "¼": "a quarter", "¾": "three quarters", "⅓": "a third", "⅔": "two thirds"}
_SYMBOLS: Final = {
    "&": "and",
    "+": "plus",
    "=": "equals",
    "@": "at",
    "#": "number",
    "×": "times",
    "÷": "divided by",
    "%": "percent",
}
ROMAN: Final = {
    "II": 2, "III": 3, "IV": 4, "V": 5, "VI": 6, "VII": 7, "VIII": 8, "IX": 9, "X": 10, "XI": 11, "XII": 12, "XIII": 13, "XIV": 14,
    "XV": 15, "XVI": 16,
}  # fmt: skip
_COUNTED: Final = frozenset("chapter act scene part book volume war page room phase stage number".split())  # noqa: SIM905
_RULED: Final = frozenset(
    [
        "king",
        "queen",
        "pope",
        "emperor",
        "tsar",
        "henry",
        "edward",
        "george",
        "charles",
        "louis",
        "james",
        "william",
        "richard",
        "elizabeth",
        "mary",
    ]
)


def read_piece(core: str, piece: str, following: list[str], before: str) -> tuple[list[str], int]:
    """Return the words of one piece and how many following pieces went into it."""
    if not core:
        symbol = piece.strip("\"'“”()")
        return (_SYMBOLS[symbol].split(), 0) if symbol in _SYMBOLS else ([], 0)
    for sign, fraction in _FRACTIONS.items():
        if core.endswith(sign):
            front = core[: -len(sign)]
            return ([*numbers.whole(front), "and", *fraction.split()] if front.isdecimal() else fraction.split()), 0
    if any(c.isdigit() for c in core):
        return figures(core, following, before)
    if core in _SYMBOLS:
        return _SYMBOLS[core].split(), 0
    if core in ROMAN and before in _COUNTED:
        return numbers.cardinal(ROMAN[core]), 0
    if core in ROMAN and core not in {"V", "X"} and before in _RULED:
        return ["the", *numbers.ordinal(ROMAN[core])], 0
    return _plain_word(core, piece, following), 0


def _plain_word(core: str, piece: str, following: list[str]) -> list[str]:
    low = fold(core).lower()
    tail = piece[piece.find(core) + len(core) :] if core in piece else ""
    dotted = tail.startswith(".") and not tail.startswith("..")
    bare = low.rstrip(".")
    next_capital = bool(following) and following[0][:1].isupper()
    if bare == "st" and dotted:
        return ["saint"] if next_capital else ["street"]
    if bare == "dr" and dotted and not next_capital:
        return ["drive"]
    if bare == "no" and dotted and following and following[0][:1].isdigit():
        return ["number"]
    if bare in _TITLES and (bare not in _NEEDS_DOT or dotted):
        return [_TITLES[bare]]
    if bare in _SHORT and (bare not in _NEEDS_DOT or dotted):
        return _SHORT[bare].split()
    if spelled(core) and core not in {"HMM", "MMM", "SHH", "PSST", "PFFT", "BRR", "GRR", "TSK", "HM", "MM", "SH"}:
        return list(low)
    if re.fullmatch(r"(?:[A-Za-z]\.)+[A-Za-z]?", core) and len(core) > 2:
        return [c for c in low if c.isalpha()]
    if "." in low and re.fullmatch(r"[a-z0-9.-]+\.[a-z]{2,4}", low):  # an address
        return [w for part in low.replace(".", " dot ").split() for w in WORD.findall(part)]
    out: list[str] = []
    for part in re.split(r"[-–—/…_.,;:!?()\"]+", low):
        out += [w.strip() for w in WORD.findall(part.replace("&", " and "))]
    return [w for w in out if any(c.isalpha() for c in w)]


def is_abbreviation(core: str, piece: str, after: str) -> bool:
    """Tell whether the full stop behind a piece belongs to it and ends no sentence."""
    low = core.lower()
    if not piece.rstrip("\"')”’").endswith(".") or piece.rstrip("\"')”’").endswith(".."):
        return False
    if low in _TITLES or (low == "no" and after[:1].isdigit()) or (low == "st" and after[:1].isupper()):
        return True
    dotted = low in _SHORT or re.fullmatch(r"(?:[a-z]\.)+[a-z]", low) is not None or low in {"st", "dr"}
    return dotted and not after[:1].isupper()


def spelled(core: str) -> bool:
    """Tell whether a word is said letter by letter: two to five capitals without a vowel."""
    return (
        2 <= len(core) <= 5 and core.isascii() and core.isalpha() and core.isupper() and not set(core) & set("AEIOUY")
    )
