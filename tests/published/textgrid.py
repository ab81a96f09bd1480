"""Reading the hand-made labels of the shared recordings."""

from __future__ import annotations

import re
from pathlib import Path

SAMPA_VOWELS = {
    "V",
    "@",
    "@:",
    "E",
    "i:",
    "u:",
    "I",
    "O",
    "ai",
    "@_r",
    "A",
    "{",
    "U",
    "o:",
    "a:",
    "ei",
    "oi",
    "au",
    "@u",
    "i@",
}
"""Vowel signs of the phoneme tier."""


def tier(path: Path, name: str) -> list[tuple[float, float, str]]:
    """Return (start s, stop s, label) of the labelled intervals of one tier."""
    text = path.read_text(encoding="latin-1")
    for block in re.split(r"item \[\d+\]:", text)[1:]:
        found = re.search(r'name = "(.*?)"', block)
        if found and found[1] == name:
            intervals = re.findall(
                r'xmin = ([\d.]+)\s+xmax = ([\d.]+)\s+text = "(.*?)"', block.split("intervals: size")[-1]
            )
            return [(float(a), float(b), label) for a, b, label in intervals if label]
    raise KeyError(name)
