"""A Motion in, a Response out: windows in threads, borders checked, results gathered in order."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import chain

from marotte.basis.contracts.common import F64, Motion
from marotte.basis.contracts.drive import Response
from marotte.basis.contracts.script import Window
from marotte.drive.gather import gather
from marotte.drive.islands import Island, islands
from marotte.drive.model import DriveModel
from marotte.drive.upstream import aboves
from marotte.drive.windows import Trace, WindowResult, cut, gravity_series, run_windows, trace_island

AT_ONCE = 8
"""So many windows are run in one call."""


def respond(model: DriveModel, motion: Motion, windows: Sequence[Window], threads: int = 1) -> Response:
    """Return how the whole creature answers a motion; the same bytes for any number of threads.

    Args:
        model: the drive model.
        motion: asked positions at 240 Hz, a row for every function of the model.
        windows: what to run; times outside them hold what is asked.
        threads: how many windows are run side by side.
    """
    gravity = gravity_series(motion)
    parts = islands(model)
    results = _run(parts, motion, gravity, windows, threads)
    over = aboves(model, parts, results)
    if any(one.dropped for one in over):
        parts = islands(model, whole=True)
        results = _run(parts, motion, gravity, windows, threads)
        over = aboves(model, parts, results)
    return gather(model, parts, motion, windows, results, over)


def _run(
    parts: tuple[Island, ...], motion: Motion, gravity: F64, windows: Sequence[Window], threads: int
) -> tuple[tuple[WindowResult, ...], ...]:
    """Return the results by island, then by window."""
    tasks = [(part, windows[k : k + AT_ONCE]) for part in parts for k in range(0, len(windows), AT_ONCE)]

    def run(task: tuple[Island, Sequence[Window]]) -> tuple[WindowResult, ...]:
        part, spans = task
        return run_windows(part, [cut(part, motion, gravity, span) for span in spans], spans)

    if threads > 1:
        with ThreadPoolExecutor(max_workers=threads) as pool:
            flat = list(chain.from_iterable(pool.map(run, tasks)))
    else:
        flat = list(chain.from_iterable(map(run, tasks)))
    count = len(windows)
    return tuple(tuple(flat[i * count : (i + 1) * count]) for i in range(len(parts)))


def trace(model: DriveModel, motion: Motion, span: Window, whole: bool = False) -> tuple[Trace, ...]:
    """Return full traces of one window, one for each island.

    Args:
        model: the drive model.
        motion: what is asked.
        span: the window.
        whole: as the islands were run (``Response.told`` says "joined").
    """
    gravity = gravity_series(motion)
    return tuple(trace_island(part, cut(part, motion, gravity, span), span) for part in islands(model, whole))
