"""What is written -> what is said: words in order, numbers and abbreviations spoken out, pauses from the punctuation.

The rules stand in docs/methods/phones.md. What has no reading is left out and told.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from marotte.script import numbers

Break: TypeAlias = Literal["", "comma", "dash", "colon", "stop"]
"""What follows a word: nothing; a short pause; a longer one; the end of a sentence."""


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
_MONTHS: Final = ("january february march april may june july august september october november december").split()  # noqa: SIM905
_MONTH: Final = {**{m: m for m in _MONTHS}, **{m[:3]: m for m in _MONTHS if m != "may"}, "sept": "september"}
_UNITS: Final = {
    "mm": "millimetre", "cm": "centimetre", "m": "metre", "km": "kilometre", "kg": "kilogram", "g": "gram", "mg": "milligram",
    "lb": "pound", "lbs": "pound", "oz": "ounce", "ft": "foot", "in": "inch", "mph": "miles per hour", "l": "litre", "ml": "millilitre",
    "hz": "hertz", "v": "volt", "w": "watt", "°c": "degrees celsius", "°f": "degrees fahrenheit", "°": "degree", "%": "percent",
    "s": "second", "h": "hour", "min": "minute", "p": "pence", "k": "thousand", "bn": "billion",
}  # fmt: skip
_SPACED_UNITS: Final = frozenset(_UNITS) - frozenset("in p k v w s h l g min".split())  # noqa: SIM905
"""Units that are read as such with a space before them: ``2 m``, but not ``5 in the morning``."""
_NO_PLURAL: Final = frozenset(
    {"percent", "pence", "thousand", "billion", "hertz", "miles per hour", "degrees celsius", "degrees fahrenheit"}
)
_MONEY: Final = {"£": ("pound", "pence"), "$": ("dollar", "cents"), "€": ("euro", "cents"), "¥": ("yen", "")}
_SCALES: Final = ("thousand", "million", "billion", "trillion", "k", "m", "bn")
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
_ROMAN: Final = {
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

_MARKS = re.compile(r"\\[*_]|\*{1,3}|_")
_PIECE = re.compile(r"(?:(?!--|—)\S)+(?:--+|—+)?|--+|—+")
_EDGE_FRONT = "\"'“”‘’«»([{<¿¡…-–—*_.,;:!?"
_EDGE_BACK = '"“”«»)]}>…-–—,;:!?.'
_CLOCK = re.compile(r"(\d{1,2})[:.](\d{2})(?:[ap]\.?m\.?)?")
_WORD = re.compile(r"[a-z']+")


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
        core, pause = _edges(piece)
        last_piece = i + 1 == len(pieces)
        following = [p for _, p in pieces[i + 1 : i + 3]]
        before = said[-1].word if said else ""
        read, used = _read(core, piece, following, before)
        words = [w for word in read if (w := "".join(_WORD.findall(word))).strip("'")]
        if used:  # the reading took following pieces with it: their punctuation ends it
            pause = _edges(pieces[i + used][1])[1]
        elif pause == "stop" and not last_piece and _is_abbreviation(core, piece, following[0]):
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


def _is_abbreviation(core: str, piece: str, after: str) -> bool:
    """Tell whether the full stop behind a piece belongs to it and ends no sentence."""
    low = core.lower()
    if not piece.rstrip("\"')”’").endswith(".") or piece.rstrip("\"')”’").endswith(".."):
        return False
    if low in _TITLES or (low == "no" and after[:1].isdigit()) or (low == "st" and after[:1].isupper()):
        return True
    dotted = low in _SHORT or re.fullmatch(r"(?:[a-z]\.)+[a-z]", low) is not None or low in {"st", "dr"}
    return dotted and not after[:1].isupper()


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
    if len(letters) < 2 or core in _ROMAN or "." in core or any(c.isdigit() for c in core):
        return False
    return all(c.isupper() for c in letters) and not _spelled(core)


def _spelled(core: str) -> bool:
    """Tell whether a word is said letter by letter: two to five capitals without a vowel."""
    return (
        2 <= len(core) <= 5 and core.isascii() and core.isalpha() and core.isupper() and not set(core) & set("AEIOUY")
    )


def _edges(piece: str) -> tuple[str, Break]:
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


def _read(core: str, piece: str, following: list[str], before: str) -> tuple[list[str], int]:
    """Return the words of one piece and how many following pieces went into it."""
    if not core:
        symbol = piece.strip("\"'“”()")
        return (_SYMBOLS[symbol].split(), 0) if symbol in _SYMBOLS else ([], 0)
    for sign, fraction in _FRACTIONS.items():
        if core.endswith(sign):
            front = core[: -len(sign)]
            return (
                [*numbers.cardinal(int(front)), "and", *fraction.split()] if front.isdecimal() else fraction.split()
            ), 0
    if any(c.isdigit() for c in core):
        return _with_digits(core, piece, following, before)
    if core in _SYMBOLS:
        return _SYMBOLS[core].split(), 0
    if core in _ROMAN and before in _COUNTED:
        return numbers.cardinal(_ROMAN[core]), 0
    if core in _ROMAN and core not in {"V", "X"} and before in _RULED:
        return ["the", *numbers.ordinal(_ROMAN[core])], 0
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
    if _spelled(core) and core not in {"HMM", "MMM", "SHH", "PSST", "PFFT", "BRR", "GRR", "TSK", "HM", "MM", "SH"}:
        return list(low)
    if re.fullmatch(r"(?:[A-Za-z]\.)+[A-Za-z]?", core) and len(core) > 2:
        return [c for c in low if c.isalpha()]
    if "." in low and re.fullmatch(r"[a-z0-9.-]+\.[a-z]{2,4}", low):  # an address
        return [w for part in low.replace(".", " dot ").split() for w in _WORD.findall(part)]
    out: list[str] = []
    for part in re.split(r"[-–—/…_.,;:!?()\"]+", low):
        out += [w.strip() for w in _WORD.findall(part.replace("&", " and "))]
    return [w for w in out if any(c.isalpha() for c in w)]


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


def _with_digits(core: str, piece: str, following: list[str], before: str) -> tuple[list[str], int]:
    low = core.lower().replace("−", "-")
    after = following[0] if following else ""
    if (match := re.fullmatch(r"([£$€¥])([\d,]+)(?:\.(\d{1,2}))?([a-z]*)", low)) and match[4] in ("", *_SCALES):
        return _money(match, _edges(after)[0].lower())
    if match := re.fullmatch(r"#(\d+)", low):
        return ["number", *_whole(match[1])], 0
    if match := re.fullmatch(r"(\d{1,2}):(\d{2})(?::\d{2})?(a\.?m\.?|p\.?m\.?)?", low):
        return _clock(match), 0
    if match := re.fullmatch(r"(\d+)(?:st|nd|rd|th)", low):
        return numbers.ordinal(int(match[1])) if len(match[1]) < 15 else numbers.digits(match[1]), 0
    if match := re.fullmatch(r"'?(\d{2}|\d{4})'?s", low):
        value = int(match[1])
        return numbers.plural(numbers.year(value) if 1100 <= value <= 2099 else numbers.cardinal(value)), 0
    if match := re.fullmatch(r"(\d{4})-(\d{2})-(\d{2})", low):
        month, day = int(match[2]), int(match[3])
        if 1 <= month <= 12 and 1 <= day <= 31:
            return [_MONTHS[month - 1], *numbers.ordinal(day), *_whole(match[1])], 0
    if match := re.fullmatch(r"(\d{1,2})/(\d{1,2})/(\d{2,4})", low):
        return [*numbers.cardinal(int(match[1])), *numbers.cardinal(int(match[2])), *_whole(match[3])], 0
    if match := re.fullmatch(r"(\d{1,3})/(\d{1,3})", low):
        return _fraction(int(match[1]), int(match[2])), 0
    if re.fullmatch(r"\+?\d[\d-]*-\d{3,}", low) or (re.fullmatch(r"0\d+", low)):
        return numbers.digits(low), 0
    if match := re.fullmatch(r"([\d.,]+)[-–]([\d.,]+)(.*)", low):
        front, _ = _with_digits(match[1], match[1], [], before)
        back, _ = _with_digits(match[2] + match[3], match[2], [], before)
        return [*front, "to", *back], 0
    month_before, month_after = before in _MONTH, fold(_edges(after)[0]).lower() in _MONTH
    if re.fullmatch(r"\d{1,2}", low) and 1 <= int(low) <= 31 and (month_before or month_after):
        return (["the"] if month_after and before != "the" else []) + numbers.ordinal(int(low)) + (
            ["of"] if month_after else []
        ), 0
    if match := re.fullmatch(r"([+-]?)([\d,]*)(?:\.(\d+))?([^\d.,]*)", low):
        unit = _edges(after)[0].lower()
        words = _number(match, unit if not match[4] and unit in _SPACED_UNITS else match[4].strip())
        return words, int(not match[4] and unit in _SPACED_UNITS)
    # letters and digits mixed: R2D2, 12B, A4
    out: list[str] = []
    for part in re.findall(r"\d+|[^\W\d]+", fold(low)):
        out += _whole(part) if part.isdigit() else ([part] if len(part) > 2 else list(part))
    return [w for w in out if w.isalpha()], 0


def _whole(text: str) -> list[str]:
    text = text.replace(",", "")
    if not text:
        return []
    value = int(text) if len(text) < 16 else -1
    if len(text) == 4 and 1100 <= value <= 2099:
        return numbers.year(value)
    return numbers.cardinal(value) if 0 <= value <= numbers.MOST else numbers.digits(text)


def _number(match: re.Match[str], unit: str) -> list[str]:
    sign, whole, part = match[1], match[2], match[3]
    out = ["minus"] if sign == "-" else ["plus"] if sign == "+" else []
    if part:
        out += numbers.decimal(whole.replace(",", ""), part)
    elif "," in whole or unit:
        out += _whole_number(whole)
    else:
        out += _whole(whole)
    if unit in _UNITS:
        name = _UNITS[unit]
        one = out == ["one"]
        if one or name in _NO_PLURAL:
            out += name.split()
        else:
            out += ["feet" if name == "foot" else "inches" if name == "inch" else f"{name}s"]
    elif unit:
        out += [w for w in _WORD.findall(fold(unit)) if w.strip("'")]
    return out


def _whole_number(text: str) -> list[str]:
    text = text.replace(",", "")
    return numbers.cardinal(int(text)) if text and len(text) < 16 else numbers.digits(text)


def _money(match: re.Match[str], after: str) -> tuple[list[str], int]:
    name, small = _MONEY[match[1]]
    whole, part, scale = match[2].replace(",", ""), match[3], match[4]
    scale = {"k": "thousand", "m": "million", "bn": "billion"}.get(scale, scale)
    used = 0
    if not scale and after in _SCALES[:4]:
        scale, used = after, 1
    plural = name if name == "yen" else f"{name}s"
    if scale:
        front = numbers.decimal(whole, part) if part else _whole_number(whole)
        return [*front, scale, plural], used
    out = [*_whole_number(whole), name if int(whole or 0) == 1 else plural]
    if part and int(part):
        pence = int(part.ljust(2, "0"))
        if int(whole or 0) == 0:
            return [*numbers.cardinal(pence), small], 0
        out += numbers.cardinal(pence)
    return out, 0


def _clock(match: re.Match[str]) -> list[str]:
    hour, minute = int(match[1]), int(match[2])
    out = numbers.cardinal(hour)
    half = (match[3] or "").replace(".", "")
    if minute == 0:
        out += [] if half else ["o'clock"] if hour <= 12 else ["hundred"]
    else:
        out += (["oh"] if minute < 10 else []) + numbers.cardinal(minute)
    return out + list(half)


def _fraction(top: int, bottom: int) -> list[str]:
    names = {2: ["half"], 4: ["quarter"]}
    if bottom == 0 or bottom > 20:
        return [*numbers.cardinal(top), "over", *numbers.cardinal(bottom)]
    below = names.get(bottom, numbers.ordinal(bottom))
    if top != 1:
        below = ["halves"] if bottom == 2 else [*below[:-1], f"{below[-1]}s"]
    return [*numbers.cardinal(top), *below]
