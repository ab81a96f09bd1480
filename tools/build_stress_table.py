"""Build src/marotte/script/data/stress.xz from a stress-marked edition of the Carnegie Mellon pronouncing dictionary.

    python tools/build_stress_table.py DICTIONARY

DICTIONARY has a word and its phones with stress digits on each line, plain (``PUPPET  P AH1 P AH0 T``) or as entries of a
JavaScript object (``"puppet": "P AH1 P AH0 T",``). Written down are the words of the recogniser's dictionary whose stress the
rule of ``script/phones.py`` gets wrong, and nothing else: word, space, one digit a vowel.
"""

from __future__ import annotations

import lzma
import re
import sys
from pathlib import Path

from marotte.script.phones import VOWELS, default_stress, dictionary

HEADER = """\
# Stress patterns that the rule of script/phones.py does not give, from the Carnegie Mellon pronouncing dictionary.
# Copyright (C) 1993-2015 Carnegie Mellon University. All rights reserved. Redistributed under the terms in NOTICE.
"""


def main() -> None:
    """Read, compare, write, and say how good the rule is."""
    text = Path(sys.argv[1]).read_text(encoding="utf-8")
    lines = [HEADER]
    total = longer = main_right = all_right = 0
    for match in re.finditer(
        r'^\s*"?([^"\s(]+?)"?:?\s+"?([A-Z]+[0-2]?(?: [A-Z]+[0-2]?)*)"?(?: #.*)?,?$', text, re.MULTILINE
    ):
        word = match[1].lower()
        phones = match[2].split()
        bare = tuple(re.sub(r"\d", "", p) for p in phones)
        if dictionary().find(word) != bare:
            continue
        pattern = "".join(p[-1] for p, b in zip(phones, bare, strict=True) if b in VOWELS)
        rule = default_stress(bare)
        total += 1
        if len(pattern) > 1:
            longer += 1
            main_right += rule.find("1") == pattern.find("1")
            all_right += rule == pattern
        if rule != pattern:
            lines.append(f"{word} {pattern}\n")
    out = Path(__file__).parents[1] / "src" / "marotte" / "script" / "data" / "stress.xz"
    out.write_bytes(lzma.compress("".join(lines).encode(), preset=9 | lzma.PRESET_EXTREME))
    sys.stdout.write(
        f"{total} words, {longer} of two syllables and more: the rule finds the main stress of {main_right / longer:.1%}, "
        f"all stresses of {all_right / longer:.1%}\n{len(lines) - 1} corrections, {out.stat().st_size} bytes\n"
    )


if __name__ == "__main__":
    main()
