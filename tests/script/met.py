"""Whether a motion meets a hit, as the verdict judges it."""

from __future__ import annotations

from marotte.basis.contracts.common import Motion
from marotte.basis.contracts.script import Hit
from marotte.verdict.hits import came_off


def met(hit: Hit, motion: Motion) -> bool:
    """Return whether the motion meets the hit."""
    return bool(came_off(motion, [hit])[0])
