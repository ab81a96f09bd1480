"""Windows on their way: what is not kept is run in threads while the check goes on with what needs no window.

Each thread gets some windows of one island in one call, so that it does not ask for the interpreter in between. What is
found depends on island, window and command alone, not on who ran what.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from time import perf_counter
from typing import Final, TypeAlias

from marotte.basis.contracts.common import Motion
from marotte.basis.contracts.script import Demand, Window
from marotte.basis.digest import digest
from marotte.drive import METHODS
from marotte.drive.islands import Island
from marotte.drive.windows import WindowResult, cut, cut_rows, run_windows, window
from marotte.verdict.cells import Cache, Cell

METHOD, NUMBER = "drive/drive", METHODS["drive/drive"]
Task: TypeAlias = tuple[int, Window]
"""A window to run, with its place."""
Ran: TypeAlias = tuple[tuple[WindowResult, ...], float]
"""What was found, and the seconds that it took."""
AT_ONCE: Final = 8
"""So many windows are cut and run in one call: half an hour is not laid out as a whole."""


@dataclass(frozen=True, slots=True)
class Running:
    """Islands over all windows of a part, some of them still on their way."""

    parts: tuple[Island, ...]
    cache: Cache
    keys: tuple[bytes, ...]
    """By island, then by window."""
    there: dict[int, Cell[WindowResult]]
    """By place in ``keys``."""
    ahead: tuple[tuple[tuple[int, ...], Future[Ran]], ...]

    def finish(self) -> tuple[Cell[WindowResult], ...]:
        """Wait for what is still on its way; return everything, by island, then by window."""
        done = dict(self.there)
        for places, future in self.ahead:
            results, seconds = future.result()
            for place, result in zip(places, results, strict=True):
                done[place] = self.cache.give(METHOD, self.keys[place], result, seconds / len(places))
        return tuple(done[place] for place in range(len(self.keys)))


def begin(parts: tuple[Island, ...], demand: Cell[Demand], cache: Cache, threads: int) -> Running:
    """Begin to run islands over the windows of a part; what is kept is not run again."""
    motion, spans = demand.value.motion, demand.value.windows
    keys: list[bytes] = []
    there: dict[int, Cell[WindowResult]] = {}
    groups: list[tuple[Island, list[Task]]] = []
    for island in parts:
        missing: list[Task] = []
        for span in spans:
            mark = cache.cell(METHOD, NUMBER, mark_of, island.asked, motion, span)
            key = cache.key_of(METHOD, NUMBER, window, island, mark, span)
            kept = cache.kept(METHOD, key)
            if kept is None:
                missing.append((len(keys), span))
            else:
                there[len(keys)] = kept
            keys.append(key)
        groups += [(island, share) for share in _shares(missing, threads)]
    ahead: list[tuple[tuple[int, ...], Future[Ran]]] = []
    if groups:
        with_threads = ThreadPoolExecutor(max_workers=threads)
        for island, share in groups:
            places = tuple(place for place, _ in share)
            ahead.append((places, with_threads.submit(_ran, island, motion, [span for _, span in share])))
        with_threads.shutdown(wait=False)  # what was handed in still runs to its end
    return Running(parts, cache, tuple(keys), there, tuple(ahead))


def mark_of(names: tuple[str, ...], motion: Motion, span: Window) -> bytes:
    """Return the digest of what a window asks of some functions: that is kept, and cut again where the window is run."""
    return digest(cut_rows(names, motion, None, span))


def _ran(island: Island, motion: Motion, spans: Sequence[Window]) -> Ran:
    start = perf_counter()
    found: list[WindowResult] = []
    for k in range(0, len(spans), AT_ONCE):
        some = spans[k : k + AT_ONCE]
        found += run_windows(island, [cut(island, motion, None, span) for span in some], some)
    return tuple(found), perf_counter() - start


def _shares(tasks: Sequence[Task], threads: int) -> list[list[Task]]:
    """Return windows in as many shares as there are threads, of about the same length together."""
    shares: list[list[Task]] = [[] for _ in range(threads)]
    full = [0] * threads
    for task in sorted(tasks, key=lambda item: (item[1].start - item[1].stop, item[0])):
        least = full.index(min(full))
        shares[least].append(task)
        full[least] += task[1].stop - task[1].start
    return [share for share in shares if share]
