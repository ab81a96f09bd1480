"""Numbers as they are written -> as they are said: money, times, dates, units, fractions, telephone numbers."""

from __future__ import annotations

import re
from typing import Final

from marotte.script import numbers
from marotte.script.pieces import WORD, edges, fold

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


def figures(core: str, following: list[str], before: str) -> tuple[list[str], int]:
    """Return the words of a piece that has digits in it, and how many following pieces went into it.

    Args:
        core: the piece without the punctuation around it.
        following: the next pieces as written (a month, a unit, "million" may belong to it).
        before: the word said before it.
    """
    low = core.lower().replace("−", "-")
    after = following[0] if following else ""
    if (match := re.fullmatch(r"([£$€¥])([\d,]+)(?:\.(\d{1,2}))?([a-z]*)", low)) and match[4] in ("", *_SCALES):
        return _money(match, edges(after)[0].lower())
    if match := re.fullmatch(r"#(\d+)", low):
        return ["number", *_whole(match[1])], 0
    if match := re.fullmatch(r"(\d{1,2}):(\d{2})(?::\d{2})?(a\.?m\.?|p\.?m\.?)?", low):
        return _clock(match), 0
    if match := re.fullmatch(r"(\d+)(?:st|nd|rd|th)", low):
        return numbers.ordinal(int(match[1])) if len(match[1]) <= numbers.LONGEST else numbers.digits(match[1]), 0
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
        front, _ = figures(match[1], [], before)
        back, _ = figures(match[2] + match[3], [], before)
        return [*front, "to", *back], 0
    month_before, month_after = before in _MONTH, fold(edges(after)[0]).lower() in _MONTH
    if re.fullmatch(r"\d{1,2}", low) and 1 <= int(low) <= 31 and (month_before or month_after):
        return (["the"] if month_after and before != "the" else []) + numbers.ordinal(int(low)) + (
            ["of"] if month_after else []
        ), 0
    if match := re.fullmatch(r"([+-]?)([\d,]*)(?:\.(\d+))?([^\d.,]*)", low):
        unit = edges(after)[0].lower()
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
    if len(text) == 4 and 1100 <= int(text) <= 2099:
        return numbers.year(int(text))
    return numbers.whole(text)


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
        out += [w for w in WORD.findall(fold(unit)) if w.strip("'")]
    return out


def _whole_number(text: str) -> list[str]:
    return numbers.whole(text.replace(",", ""))


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
    out = [*_whole_number(whole), name if whole.lstrip("0") == "1" else plural]
    if part and int(part):
        pence = int(part.ljust(2, "0"))
        if not whole.strip("0"):
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
