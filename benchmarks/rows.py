"""One row of the table, and how a time is taken."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from statistics import median
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What was measured, against what it stands, and whether the answers agree."""

    name: str
    value: float
    unit: str
    against: str = ""
    """What it is held against: a promise, or another engine."""
    ratio: float | None = None
    """Times better than that; below 1: worse."""
    agreement: str = ""

    def plain(self) -> dict[str, Any]:
        """Return the row as JSON has it."""
        return asdict(self)


def seconds(run: Callable[[], object], times: int = 5, best: bool = False) -> float:
    """Return the median (or the best) of some runs [s], by the clock of this process: other work on the machine counts less."""
    taken = []
    for _ in range(times):
        start = time.process_time()
        run()
        taken.append(time.process_time() - start)
    return min(taken) if best else median(taken)


def wall(run: Callable[[], object], times: int = 5) -> float:
    """Return the median of some runs [s] by the clock on the wall."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        taken.append(time.perf_counter() - start)
    return median(taken)


def promise(name: str, value: float, unit: str, most: float, agreement: str = "") -> Row:
    """Return a row that is held against a promise of at most so much."""
    return Row(
        name=name,
        value=value,
        unit=unit,
        against=f"promised at most {most:g} {unit}",
        ratio=most / value,
        agreement=agreement,
    )


def memory_mb(*what: str) -> float:
    """Return the peak resident memory [MB] of a fresh process of ``benchmarks.memory``."""
    command = [sys.executable, "-m", "benchmarks.memory", *what]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return float(done.stdout.split()[-1])
