"""Mouth shapes blended over time by dominance (Cohen and Massaro 1993, *Modeling coarticulation in synthetic visual speech*).

Each sound pulls the mouth towards its shape with a weight that falls off from its centre, D(t) = a exp(-theta |t - t_s|^c),
and the mouth is the weighted mean of the pulls, F(t) = sum D T / sum D. Averaging alone leaves the mouth ajar at a *p*:
contacts are laid on afterwards (closures.py).
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

import numpy as np

from marotte.basis.compiled import compiled
from marotte.basis.contracts.common import F64, I64
from marotte.basis.ticks import SERIES_EVERY, TICKS_PER_SECOND

PER_MS: Final = 1000.0 / TICKS_PER_SECOND
"""Milliseconds in a tick: thetas are written per millisecond, as in the paper."""

DOMINANCE: Final[tuple[tuple[float, float, float], ...]] = (
    # jaw alpha, lip alpha, theta per ms; a rule of this project, no source: what the sound itself needs pulls hard,
    # what it leaves free (the jaw in a k, the lips in a t) hardly pulls and follows its neighbours
    (0.50, 0.50, 0.020),  # neutral
    (0.90, 1.00, 0.035),  # pbm
    (0.70, 1.00, 0.030),  # fv
    (0.60, 0.35, 0.025),  # th
    (0.50, 0.20, 0.025),  # td
    (0.25, 0.15, 0.020),  # kg
    (0.90, 0.90, 0.025),  # chjsh
    (1.00, 0.50, 0.025),  # sz
    (0.35, 0.20, 0.025),  # nl
    (0.40, 0.70, 0.020),  # r
    (1.00, 0.80, 0.020),  # aa
    (1.00, 0.80, 0.020),  # e
    (0.90, 0.90, 0.020),  # i
    (1.00, 1.00, 0.020),  # o
    (0.90, 1.00, 0.020),  # u
)
"""Per mouth shape: pull on the jaw, pull on the lips, fall-off. The index is the shape's number."""
UNSTRESSED: Final = 0.6
"""Share of a vowel's pull that is left without stress (a rule of this project)."""
REACH: Final = 480
"""Ticks (0.4 s) beyond which a sound no longer pulls: exp(-0.02 x 400) is 0.0003."""
SMOOTH: Final = 6
"""Half-width in samples of the raised cosine (25 ms) that rounds the corner which |t| has at each centre."""


def dominance(off_ms: float, alpha: float, theta_before: float, theta_after: float, power: float = 1.0) -> float:
    """Return D at a time from the centre [ms]; ``theta_before`` holds for negative times."""
    theta = theta_before if off_ms < 0 else theta_after
    return alpha * math.exp(-theta * abs(off_ms) ** power)


def blend(at_ms: float, centres_ms: F64, alphas: F64, thetas: F64, targets: F64) -> float:
    """Return F at one time, as the paper writes it: the plain form that the kernel is tested against."""
    pulls = np.array([dominance(at_ms - c, a, t, t) for c, a, t in zip(centres_ms, alphas, thetas, strict=True)])
    return float(pulls @ np.asarray(targets, dtype=np.float64) / pulls.sum())


def blend_series(first: int, samples: int, centres: I64, alphas: F64, thetas: F64, targets: F64, lip: I64) -> F64:
    """Return (functions, samples) of blended targets from sample ``first`` of the 240 Hz series; read-only.

    ``centres`` (s,) [ticks], rising; ``alphas`` (s, 2) pull on jaw and lips; ``thetas`` (s,) per ms; ``targets`` (s, functions);
    ``lip`` (functions,) 0 jaw, 1 lips. What was blended is kept: the same sounds at another time are not blended again.
    """
    assert alphas.dtype == thetas.dtype == targets.dtype == np.float64
    if not samples or not centres.size:
        return np.zeros((targets.shape[1], samples))
    parts = (np.asarray(centres - first * SERIES_EVERY, np.int64), alphas, thetas, targets, np.asarray(lip, np.int64))
    return _blended(samples, targets.shape[1], *(part.tobytes() for part in parts))


@lru_cache(maxsize=64)  # about 0.2 MB a line
def _blended(
    samples: int, functions: int, centres: bytes, alphas: bytes, thetas: bytes, targets: bytes, lip: bytes
) -> F64:
    out = np.zeros((functions, samples))
    _blend(
        SERIES_EVERY, np.frombuffer(centres, np.int64).copy(), np.frombuffer(alphas).reshape(-1, 2).copy(),
        np.frombuffer(thetas) * PER_MS, np.frombuffer(targets).reshape(-1, functions).copy(), np.frombuffer(lip, np.int64).copy(),
        _WINDOW, out,
    )  # fmt: skip
    out.flags.writeable = False
    return out


def _raised_cosine() -> F64:
    weights = 1.0 + np.cos(np.pi * np.arange(-SMOOTH, SMOOTH + 1) / (SMOOTH + 1))
    return np.asarray(weights / weights.sum(), np.float64)


_WINDOW: Final = _raised_cosine()


@compiled()
def _blend(
    every: int,
    centres: I64,
    alphas: F64,
    thetas: F64,
    targets: F64,
    lip: I64,
    window: F64,
    out: F64,
) -> None:
    functions, samples = out.shape
    wide = (window.shape[0] - 1) // 2
    raw = np.zeros((functions, samples + 2 * wide))
    low = 0
    for i in range(samples + 2 * wide):
        t = (i - wide) * every
        while low < centres.shape[0] - 1 and centres[low] < t - REACH:
            low += 1
        total0 = 0.0
        total1 = 0.0
        s = low
        while s < centres.shape[0]:
            if centres[s] > t + REACH:
                break
            fall = math.exp(-thetas[s] * abs(t - centres[s]))
            d0 = alphas[s, 0] * fall
            d1 = alphas[s, 1] * fall
            total0 += d0
            total1 += d1
            for f in range(functions):
                raw[f, i] += (d1 if lip[f] else d0) * targets[s, f]
            s += 1
        for f in range(functions):
            total = total1 if lip[f] else total0
            raw[f, i] = raw[f, i] / total if total > 0 else 0.0
    for f in range(functions):
        for i in range(samples):
            value = 0.0
            for k in range(window.shape[0]):
                value += window[k] * raw[f, i + k]
            out[f, i] = value
