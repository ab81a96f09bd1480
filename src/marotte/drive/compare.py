"""What was reached against what was asked, over one window: the largest error, and how well each delay explains the rest."""

from __future__ import annotations

import numpy as np

from marotte.basis.contracts.common import F32, F64, I64
from marotte.drive.compiled import entry, inside
from marotte.drive.plan import FITS

STANDS = 0.1
"""What moves by less than this share of what is asked stands still in that window (a rule of this project)."""


@entry
def compare(
    asked: F32, reached: F32, before: int, thin: int, moves: float, error: F64, worst: I64, lag: F64, asked2: F64
) -> None:
    """Fill the errors of all series of a window.

    Args:
        asked: (at least n, at least before + samples).
        reached: (n, samples).
        before: samples of the asked series that lie before the first reached one; at least as many as there are delays.
        thin: delays are tried on every so many samples only.
        moves: an asked series that spans less than this share of its largest (of 0.01 at least) stands still.
        error: (n,) to fill: largest |asked - reached|.
        worst: (n,) to fill: the first sample where it stands.
        lag: (n, delays) to fill: squared error, less its mean, against the asked series 0, 1, 2... samples late; 0 where
            that stands still. What is asked and does not arrive, as of a servo that friction holds, counts in full at every delay:
            it says nothing about how late it is.
        asked2: (n,) to fill: squared way of the asked series from its mean at the same samples; 0 where it stands still.
    """
    samples = reached.shape[1]
    late, total, mean = np.empty(before + samples), np.empty(lag.shape[1]), np.empty(lag.shape[1])
    for n in range(len(reached)):
        most, at, low, high, size = -1.0, 0, np.inf, -np.inf, 0.0
        least, last = np.inf, -np.inf
        for k in range(before):
            size = max(size, abs(np.float64(asked[n, k])))
        for k in range(samples):
            now, there = np.float64(asked[n, before + k]), np.float64(reached[n, k])
            off = abs(now - there)
            if off > most:
                most, at = off, k
            low, high = min(low, now), max(high, now)
            least, last = min(least, there), max(last, there)
        size = max(size, -low, high)
        error[n], worst[n] = most, at
        if high - low < moves * max(size, 1e-2):
            lag[n, :] = 0.0
            asked2[n] = 0.0
        else:
            asked2[n] = _spread(asked, n, before, samples, thin)
            if last - least < STANDS * (high - low):
                lag[n, :] = asked2[n]
            else:
                _delays(asked, reached, n, before, thin, late, total, mean, lag)


@inside
def _delays(
    asked: F32, reached: F32, n: int, before: int, thin: int, late: F64, total: F64, mean: F64, lag: F64
) -> None:
    """Fill a row of ``lag``; late, total and mean are scratch.

    Without the mean a standing error, such as a sag under a load, would pass for a delay wherever little moves.
    """
    samples, lags = reached.shape[1], lag.shape[1]
    last = before + samples - 1
    for k in range(last + 1):  # backwards, so that later delays stand further on
        late[last - k] = np.float64(asked[n, k])
    total[:] = 0.0
    mean[:] = 0.0
    # the delays inside: their terms stand side by side, and each sum is still taken in the order of time
    for k in range(0, samples, thin):
        now, first = np.float64(reached[n, k]), (samples - 1 - k) & FITS
        for d in range(lags):
            off = now - late[first + d]
            total[d] += off * off
            mean[d] += off
    count = (samples + thin - 1) // thin
    for d in range(lags):
        lag[n, d] = max(total[d] - mean[d] * mean[d] / count, 0.0)


@inside
def _spread(asked: F32, n: int, before: int, samples: int, thin: int) -> float:
    """Return the squared way of an asked series from its mean."""
    total, square = 0.0, 0.0
    for k in range(before, before + samples, thin):
        total += np.float64(asked[n, k])
    middle = total / ((samples + thin - 1) // thin)
    for k in range(before, before + samples, thin):
        square += (np.float64(asked[n, k]) - middle) ** 2
    return square
