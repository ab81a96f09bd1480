"""Numbers as words, the British way: ``105`` is "one hundred and five".

Our own 60 lines: the usual library is LGPL, and the permissive one takes 1.7 s to import (docs/decisions/0010-fountain.md).
tests/published/test_number_words.py holds these against that second one.
"""

from __future__ import annotations

from typing import Final

_ONES: Final = (  # noqa: SIM905
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen"
).split()
_TENS: Final = "_ _ twenty thirty forty fifty sixty seventy eighty ninety".split()  # noqa: SIM905
_GROUPS: Final = ("", "thousand", "million", "billion", "trillion")
_ORDINALS: Final = {
    "one": "first", "two": "second", "three": "third", "five": "fifth", "eight": "eighth", "nine": "ninth", "twelve": "twelfth",
}  # fmt: skip
LONGEST: Final = 15
MOST: Final = 10**LONGEST - 1
"""The largest number that is read as one; a longer one is read digit by digit."""


def cardinal(number: int) -> list[str]:
    """Return the words of a whole number from 0 to ``MOST``.

    >>> " ".join(cardinal(1205))
    'one thousand two hundred and five'
    """
    if number == 0:
        return ["zero"]
    out: list[str] = []
    for power in range(len(_GROUPS) - 1, -1, -1):
        group = number // 1000**power % 1000
        if not group:
            continue
        words = _below_thousand(group)
        if power == 0 and out and group < 100:
            words = ["and", *words]
        out += words + ([_GROUPS[power]] if power else [])
    return out


def whole(text: str) -> list[str]:
    """Return the words of a whole number as written, its digits alone; one that is longer than ``MOST`` is read digit by digit.

    >>> " ".join(whole("40")), " ".join(whole("1" * 17))[:15]
    ('forty', 'one one one one')
    """
    return cardinal(int(text)) if text and len(text) <= LONGEST else digits(text)


def _below_thousand(number: int) -> list[str]:
    hundreds, rest = divmod(number, 100)
    out = [_ONES[hundreds], "hundred"] if hundreds else []
    if rest:
        out += (["and"] if hundreds else []) + _below_hundred(rest)
    return out


def _below_hundred(number: int) -> list[str]:
    if number < 20:
        return [_ONES[number]]
    tens, ones = divmod(number, 10)
    return [_TENS[tens]] + ([_ONES[ones]] if ones else [])


def ordinal(number: int) -> list[str]:
    """Return the words of an ordinal.

    >>> " ".join(ordinal(21))
    'twenty first'
    """
    *front, last = cardinal(number)
    if last in _ORDINALS:
        return [*front, _ORDINALS[last]]
    if last.endswith("y"):
        return [*front, f"{last[:-1]}ieth"]
    return [*front, f"{last}th"]


def digits(text: str) -> list[str]:
    """Return digits one by one, nought as "oh" as in telephone numbers."""
    return ["oh" if c == "0" else _ONES[int(c)] for c in text if c.isdecimal()]


def decimal(before: str, part: str) -> list[str]:
    """Return a decimal number: the whole part as a number, the rest digit by digit."""
    front = whole(before) if before else []
    return [*front, "point", *("zero" if c == "0" else _ONES[int(c)] for c in part)]


def year(number: int) -> list[str]:
    """Return a year from 1100 to 2099 as it is said: 1987 in pairs, 2005 as a number.

    >>> " ".join(year(1906)), " ".join(year(2005)), " ".join(year(2024))
    ('nineteen oh six', 'two thousand and five', 'twenty twenty four')
    """
    century, rest = divmod(number, 100)
    if 2000 <= number < 2010:
        return cardinal(number)
    if rest == 0:
        return [*_below_hundred(century), "hundred"] if century % 10 else cardinal(number)
    return [*_below_hundred(century), *(["oh", _ONES[rest]] if rest < 10 else _below_hundred(rest))]


def plural(words: list[str]) -> list[str]:
    """Return the words with the last in the plural: "nineteen eighties"."""
    last = words[-1]
    if last.endswith("y"):
        return [*words[:-1], f"{last[:-1]}ies"]
    return [*words[:-1], f"{last}{'es' if last.endswith('x') else 's'}"]
