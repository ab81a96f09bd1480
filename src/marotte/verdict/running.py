"""Windows on their way: what is not kept is run in threads while the check goes on with what needs no window.

Each thread gets some windows of one island in one call, so that it does not ask for the interpreter in between. What is
found depends on island, window and command alone, not on who ran what.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from time import perf_counter
from typing import TypeAlias

from marotte.basis.contracts.common import F64
from marotte.basis.contracts.script import Demand, Window
from marotte.drive import METHODS
from marotte.drive.islands import Island
from marotte.drive.windows import Slice, WindowResult, cut_rows, run_windows, window
from marotte.verdict.cells import Cache, Cell

METHOD, NUMBER = "drive/drive", METHODS["drive/drive"]
Ran: TypeAlias = tuple[tuple[WindowResult, ...], float]
"""What was found, and the seconds that it took."""


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


def begin(parts: tuple[Island, ...], demand: Cell[Demand], gravity: Cell[F64], cache: Cache, threads: int) -> Running:
    """Begin to run islands over the windows of a part; what is kept is not run again."""
    spans = demand.value.windows
    keys: list[bytes] = []
    there: dict[int, Cell[WindowResult]] = {}
    groups: list[tuple[Island, list[tuple[int, Slice, Window]]]] = []
    for island in parts:
        missing: list[tuple[int, Slice, Window]] = []
        for span in spans:
            piece = cache.cell(METHOD, NUMBER, cut_rows, island.asked, demand.value.motion, gravity, span)
            key = cache.key_of(METHOD, NUMBER, window, island, piece, span)
            kept = cache.kept(METHOD, key)
            if kept is None:
                missing.append((len(keys), piece.value, span))
            else:
                there[len(keys)] = kept
            keys.append(key)
        groups += [(island, share) for share in _shares(missing, threads)]
    ahead: list[tuple[tuple[int, ...], Future[Ran]]] = []
    if groups:
        with_threads = ThreadPoolExecutor(max_workers=threads)
        for island, share in groups:
            places = tuple(place for place, _, _ in share)
            ahead.append((places, with_threads.submit(_ran, island, share)))
        with_threads.shutdown(wait=False)  # what was handed in still runs to its end
    return Running(parts, cache, tuple(keys), there, tuple(ahead))


def _ran(island: Island, share: Sequence[tuple[int, Slice, Window]]) -> Ran:
    start = perf_counter()
    found = run_windows(island, [piece for _, piece, _ in share], [span for _, _, span in share])
    return found, perf_counter() - start


def _shares(tasks: Sequence[tuple[int, Slice, Window]], threads: int) -> list[list[tuple[int, Slice, Window]]]:
    """Return windows in as many shares as there are threads, of about the same length together."""
    shares: list[list[tuple[int, Slice, Window]]] = [[] for _ in range(threads)]
    full = [0] * threads
    for task in sorted(tasks, key=lambda item: (item[2].start - item[2].stop, item[0])):
        least = full.index(min(full))
        shares[least].append(task)
        full[least] += task[2].stop - task[2].start
    return [share for share in shares if share]
