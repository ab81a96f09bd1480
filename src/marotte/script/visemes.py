"""Mouth shapes: the 14 viseme groups of ISO/IEC 14496-2 (and neutral), and which phone takes which.

The numbers are the standard's (``viseme_select``); the names are what ``poses.mouth`` of a creature uses. The table reads
British vowels: its group 13 ("top") and group 10 ("car") are both AA in American ARPAbet, which cannot tell them apart.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

SHAPES: Final[tuple[str, ...]] = (
    "neutral", "pbm", "fv", "th", "td", "kg", "chjsh", "sz", "nl", "r", "aa", "e", "i", "o", "u",
)  # fmt: skip
"""Name of each group; the index is its number in ISO/IEC 14496-2."""

TABULATED: Final[dict[str, int]] = {
    "P": 1, "B": 1, "M": 1, "F": 2, "V": 2, "TH": 3, "DH": 3, "T": 4, "D": 4, "K": 5, "G": 5, "CH": 6, "JH": 6, "SH": 6,
    "S": 7, "Z": 7, "N": 8, "L": 8, "R": 9, "AA": 10, "EH": 11, "IH": 12, "UH": 14,
}  # fmt: skip
"""The 23 phones that the standard's table gives through its symbols and example words."""

CHOSEN: Final[dict[str, tuple[int, ...]]] = {
    "AO": (13,), "ZH": (6,), "NG": (5,), "ER": (9,), "AE": (11,), "AH": (10,), "IY": (12,), "UW": (14,), "W": (14,), "Y": (12,),
    "EY": (11, 12), "AY": (10, 12), "OY": (13, 12), "AW": (10, 14), "OW": (13, 14), "HH": (),
}  # fmt: skip
"""The other 16: a rule of this project, no source. Two groups: a diphthong moves from one to the other. HH has no shape of
its own, it takes the next vowel's. AH without stress is group 11."""

PHONES: Final[frozenset[str]] = frozenset(TABULATED) | frozenset(CHOSEN)
VOWELS: Final[frozenset[str]] = frozenset(
    {"AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"}
)
CLOSED: Final[frozenset[str]] = frozenset({"P", "B", "M"})
"""Lips fully closed (group 1)."""
LIP_TO_TEETH: Final[frozenset[str]] = frozenset({"F", "V"})
"""Lower lip to upper teeth (group 2)."""

CONTACTS: Final[frozenset[str]] = CLOSED | LIP_TO_TEETH

JAW: Final[dict[str, float]] = {
    "neutral": 0.0, "pbm": -1.0, "fv": 0.08, "th": 0.20, "td": 0.16, "kg": 0.28, "chjsh": 0.12, "sz": 0.08, "nl": 0.22,
    "r": 0.25, "aa": 0.95, "e": 0.60, "i": 0.30, "o": 0.70, "u": 0.30,
}  # fmt: skip
"""Way of the jaw or beak from neutral for each shape, where the creature writes none: a rule of this project, in the order of
openness that the standard's table and its example words imply (widest "car", closed "put")."""


@lru_cache(maxsize=256)
def shapes_of(phone: str, stress: int = -1) -> tuple[int, ...]:
    """Return the group or groups that a phone takes, in order; empty for HH (the next vowel's) and for what is no phone.

    >>> [SHAPES[n] for n in shapes_of("AY", 1)]
    ['aa', 'i']
    """
    if phone == "AH" and stress == 0:
        return (11,)
    if phone in TABULATED:
        return (TABULATED[phone],)
    return CHOSEN.get(phone, ())


def sounds_of(shape: str) -> tuple[str, ...]:
    """Return the phones that take one shape and no other, in lower case; none for neutral.

    >>> sounds_of("kg")
    ('g', 'k', 'ng')
    """
    number = SHAPES.index(shape)
    alone = {**{phone: (n,) for phone, n in TABULATED.items()}, **CHOSEN}
    return tuple(sorted(phone.lower() for phone, taken in alone.items() if taken == (number,)))
