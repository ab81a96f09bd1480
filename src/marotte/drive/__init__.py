"""The drive: all means of a creature together, servos on one supply, window by window."""

from __future__ import annotations

METHODS: dict[str, int] = {
    "drive/servo": 1,
    "drive/drive": 5,
    "drive/supply": 2,
    "drive/heat": 1,
    "drive/jumps": 2,
}
"""Method name -> method number; each has a page in docs/methods."""
