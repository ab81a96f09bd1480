"""Means that are not servos: they follow what is asked by a law that is stated, not simulated.

Hand, lever and chin follow exactly here (what a hand can do is judged elsewhere); a body carries its part with play;
a screen is late by its delay; air fills and empties no faster than its time allows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from marotte.basis.contracts.common import F32, F64
from marotte.basis.ticks import SERIES_HZ
from marotte.creature.schema.functions import Function
from marotte.creature.schema.means import Air, Body, Means, Screen
from marotte.drive.compiled import entry

Law: TypeAlias = Literal["exact", "play", "delay", "rate"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plain:
    """How one function without a servo follows."""

    function: str
    law: Law
    amount: float = 0.0
    """play: full width [rad or m]; delay: [s]; rate: [rad/s or m/s]."""


def plain_law(name: str, function: Function, means: Means | None) -> Plain:
    """Return the law of a function that no servo moves."""
    if isinstance(means, Body) and means.lag > 0:
        return Plain(function=name, law="play", amount=means.lag)
    if isinstance(means, Screen) and means.delay > 0:
        return Plain(function=name, law="delay", amount=means.delay)
    if isinstance(means, Air) and means.time:
        return Plain(function=name, law="rate", amount=function.span / means.time)
    return Plain(function=name, law="exact")


def follow(plain: Plain, asked: F32) -> F64:
    """Return (samples,) where a function goes when (samples,) is asked of it at 240 Hz; it starts at rest there."""
    series = np.ascontiguousarray(asked, dtype=np.float64)
    if plain.law == "play":
        return np.asarray(_with_play(series, 0.5 * plain.amount))
    if plain.law == "delay":
        back = np.arange(len(series)) - plain.amount * SERIES_HZ
        return np.asarray(np.interp(back, np.arange(len(series)), series))
    if plain.law == "rate":
        return np.asarray(_with_rate(series, plain.amount / SERIES_HZ))
    return np.asarray(series)


@entry
def _with_play(asked: F64, half: float) -> F64:
    out = np.empty_like(asked)
    here = asked[0]
    for k in range(len(asked)):
        here = min(max(here, asked[k] - half), asked[k] + half)
        out[k] = here
    return out


@entry
def _with_rate(asked: F64, step: float) -> F64:
    out = np.empty_like(asked)
    here = asked[0]
    for k in range(len(asked)):
        here += min(max(asked[k] - here, -step), step)
        out[k] = here
    return out
