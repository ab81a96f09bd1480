"""Curves laid on rows of the series in place: speech, contacts, eyes. Kernels: arrays and numbers only."""

from __future__ import annotations

import math
from typing import Final

from marotte.basis.compiled import compiled
from marotte.basis.contracts.common import F64

KNEE: Final = 0.93
"""Share of an eye's reach from which it slows down into its limit (a rule of this project)."""


@compiled()
def say(row: F64, speech: F64, rest: float, speaks: F64, left: float) -> None:
    """Lay speech on a function of the mouth: of what else is asked a share is left while it speaks (``speaks`` 0 to 1)."""
    for i in range(row.shape[0]):
        row[i] = row[i] * (1.0 - (1.0 - left) * speaks[i]) + (rest + speech[i])


@compiled()
def touch(row: F64, first: F64, second: F64, target: float) -> None:
    """Draw a function to a contact.

    Neighbours lie in two lanes: between two contacts both keep the mouth from opening, and smoothly so.
    """
    for i in range(row.shape[0]):
        held = 1.0 - (1.0 - first[i]) * (1.0 - second[i])
        if held != 0.0:
            row[i] += held * (target - row[i])


@compiled()
def aim(row: F64, wanted: F64, toe: float, on: F64, low: float, high: float) -> None:
    """Draw an eye to where it looks by ``on`` (0 to 1), kept inside its reach."""
    for i in range(row.shape[0]):
        row[i] += on[i] * (eased(wanted[i] + toe, low, high) - row[i])


@compiled()
def eased(angle: float, low: float, high: float) -> float:
    """Return an angle kept inside a reach: as it is up to the knee, then slowing into the limit instead of hitting it."""
    if angle > KNEE * high:
        limit = high
    elif angle < KNEE * low:
        limit = low
    else:
        return angle
    if limit == 0.0:
        return 0.0
    room = (1.0 - KNEE) * abs(limit)
    past = abs(angle) - KNEE * abs(limit)
    return math.copysign(1.0, limit) * (KNEE * abs(limit) + room * (1.0 - math.exp(-past / room)))
