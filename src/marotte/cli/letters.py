"""Letters that steer a terminal instead of being shown on it, made visible.

A file may come from anybody, and what stands in it is printed: a name with an escape sequence could colour, move, wipe or
retype what the terminal shows, and one with a change of direction could make a line read otherwise than it is.
"""

from __future__ import annotations

import re
from typing import Final

_STEERING: Final = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
"""All control characters (C0, C1: ISO/IEC 6429) but line end and tabulator, line and paragraph separator, and marks of direction."""


def visible(text: str) -> str:
    r"""Return a text with every letter that steers a terminal written out.

    >>> print(visible("\x1b[31mred\x07, \u202egnol, na\u00efve"))
    \x1b[31mred\x07, \u202egnol, naïve
    """
    return _STEERING.sub(lambda found: _written(found[0]), text)


def visible_json(text: str) -> str:
    r"""Return JSON with every such letter escaped, as JSON has it; ends of lines between values stay.

    >>> print(visible_json('{"name": "\x7f\x9b31m"}'))
    {"name": "\u007f\u009b31m"}
    """
    return _STEERING.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def _written(letter: str) -> str:
    return f"\\x{ord(letter):02x}" if ord(letter) < 256 else f"\\u{ord(letter):04x}"
