"""Time is a whole number of ticks of 1/1200 s.

1200 is a common multiple of 24, 25, 30, 50, 60, 100, 240 and 300 Hz, so frames of film and video, servo frames and the
stored series all fall on whole ticks, and no time is ever compared as a float.
"""

from __future__ import annotations

TICKS_PER_SECOND = 1200
TICK_S = 1.0 / TICKS_PER_SECOND
SERIES_EVERY = 5
"""Ticks between two samples of a stored series: 240 Hz."""
SERIES_HZ = TICKS_PER_SECOND // SERIES_EVERY


def ticks(seconds: float) -> int:
    """Return the tick nearest to a time [s]; halves go up, so that the result never depends on the parity."""
    return int(seconds * TICKS_PER_SECOND + 0.5) if seconds >= 0 else -int(-seconds * TICKS_PER_SECOND + 0.5)


def seconds(tick: int) -> float:
    """Return the time [s] of a tick."""
    return tick / TICKS_PER_SECOND


def on_series(tick: int) -> int:
    """Return the last tick of the stored series at or before a tick."""
    return tick - tick % SERIES_EVERY


def clock(tick: int) -> str:
    """Return a time of the show as people say it, ``0:41.3`` or ``1:02:03.0``.

    >>> clock(49_560)
    '0:41.3'
    """
    tenths = (abs(tick) * 10 + TICKS_PER_SECOND // 2) // TICKS_PER_SECOND
    sign = "-" if tick < 0 and tenths else ""
    whole, tenth = divmod(tenths, 10)
    minutes, second = divmod(whole, 60)
    hours, minute = divmod(minutes, 60)
    if hours:
        return f"{sign}{hours}:{minute:02d}:{second:02d}.{tenth}"
    return f"{sign}{minute}:{second:02d}.{tenth}"
