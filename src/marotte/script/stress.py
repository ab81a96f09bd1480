"""Where the stress of a word is: a table made from the marked edition of the dictionary, and a rule for what it does not list.

``data/stress.xz`` lists where the marked edition differs from the rule; tools/build_stress_table.py makes it; docs/methods/phones.md
has the counts.
"""

from __future__ import annotations

import lzma
from collections.abc import Mapping, Sequence
from functools import lru_cache
from importlib import resources
from typing import Final

VOWELS: Final = frozenset("AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW".split())  # noqa: SIM905
CONSONANTS: Final = frozenset("B CH D DH F G HH JH K L M N NG P R S SH T TH V W Y Z ZH".split())  # noqa: SIM905
PHONES: Final = VOWELS | CONSONANTS
"""The 39 phones of the dictionary."""
_LONG: Final = frozenset("AA AO AW AY EY IY OW OY UW".split())  # noqa: SIM905


@lru_cache(maxsize=1)
def _stress_table() -> Mapping[str, str]:
    path = resources.files("marotte.script") / "data" / "stress.xz"
    if not path.is_file():
        return {}
    text = lzma.decompress(path.read_bytes()).decode()
    pairs = (line.split(" ") for line in text.splitlines() if line and not line.startswith("#"))
    return {pair[0]: pair[1] for pair in pairs}


def default_stress(phones: Sequence[str]) -> str:
    """Return stress digits, one per vowel, by rule: what is used for a word that the table does not list.

    Two syllables: the first, unless its vowel is AH and the second's is not weak. More: the last but one if it is heavy (long
    vowel, diphthong or two consonants after it) and not AH; else the one before. Every full vowel two or more away from the
    main stress gets a second stress. A rule of ours after the Latin rule of English stress; it finds the main stress of 79 %
    of the dictionary's longer words, and the table corrects the others.
    """
    at = [i for i, p in enumerate(phones) if p in VOWELS]
    n = len(at)
    if n < 2:
        return "1" * n
    name = [phones[i] for i in at]

    def weak(k: int) -> bool:
        return name[k] == "AH" or (k == n - 1 and name[k] in {"ER", "IH", "IY"})

    def heavy(k: int) -> bool:
        after = at[k + 1] if k + 1 < n else len(phones)
        return name[k] in _LONG or after - at[k] - 1 >= 2

    if n == 2:
        main = 1 if name[0] == "AH" and not weak(1) else 0
    elif name[n - 2] != "AH" and (heavy(n - 2) or name[n - 3] == "AH"):
        main = n - 2
    else:
        main = n - 3
    return "".join("1" if k == main else _second(name, k, main) for k in range(n))


def _second(name: Sequence[str], k: int, main: int) -> str:
    near = name[k] in {"IY", "IH", "UH"} and (k > main or abs(k - main) == 1)
    if name[k] in {"AH", "ER"} or k == main - 1 or near:
        return "0"
    return "0" if k == len(name) - 1 and name[k] in {"IY", "OW", "IH"} else "2"


def stress_pattern(word: str, phones: Sequence[str]) -> str:
    """Return the stress digits of a word's vowels, from the table where it lists the word, else by rule."""
    pattern = _stress_table().get(word, "")
    return pattern if len(pattern) == sum(p in VOWELS for p in phones) else default_stress(phones)
