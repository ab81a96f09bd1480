"""The answer: all findings warm, one edit, a fresh process; and sizing."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from benchmarks.creatures import TANSY, regulated
from benchmarks.rows import Row, memory_mb, promise, wall
from marotte.basis.contracts.finding import Edit
from marotte.creature.edit import value_at
from marotte.creature.load import load
from marotte.desk.session import Session
from marotte.verdict.cells import Cache
from marotte.verdict.check import check, examine

EDITED = (
    "/functions/ear_lift/mech/horn",
    "/functions/jaw/mech/rod",
    "/functions/lid_upper/mech/arm",
    "/functions/ear_lift/mech/arm_at_neutral",
    "/functions/jaw/mech/ground",
    "/functions/lid_lower/mech/rod",
    "/functions/jaw/mech/arm_at_neutral",
    "/functions/lip_upper/mech/horn",
    "/functions/brow_inner/mech/rod",
)
"""Horns, rods, arms, grounds and clockings, in the mouth, at the eyes and at the ears."""


def rows() -> Iterator[Row]:
    """Measure the whole way, on the largest example."""
    creature = load(TANSY)
    check(creature)
    count = len(creature.functions)
    yield promise(f"findings, warm process, cold cache, {count} functions", wall(lambda: check(creature), 3), "s", 0.6)
    cache = Cache()
    examine(creature, cache)
    yield promise("findings again, nothing changed", wall(lambda: examine(creature, cache), 3), "s", 0.1)
    with TemporaryDirectory() as made:
        for what, folder in (
            ("regulated leads, no skull", regulated(Path(made) / "bare", skull=False)),
            ("regulated leads and a skull", regulated(Path(made) / "skull")),
            ("one supply without regulators, a skull", TANSY),
        ):
            yield promise(f"linkage edit, {count} functions, {what}", edit_s(folder), "s", 0.1)
    fresh = wall(_fresh, 3)
    yield promise("marotte check --json, fresh process", fresh, "s", 3.0)
    for minutes, pages in ((3, 5), (30, 330)):
        peak = memory_mb("check", str(pages))
        yield promise(f"check, peak memory, {count} functions, {minutes} min", peak, "MB", 400.0)


def edit_s(folder: Path, rounds: int = 3) -> float:
    """Return the median [s] over a mix of linkage edits through the session, each to a new value; the first round is not counted."""
    session = Session(folder)
    assert session.verdict
    taken = []
    for k in range(rounds + 1):
        for path in EDITED:
            now = value_at(session.tree, path)
            number, unit = now.split()
            edit = Edit(path=path, from_=now, to=f"{float(number) + 0.01:.2f} {unit}")
            start = time.perf_counter()
            session.edit([edit])
            if k:
                taken.append(time.perf_counter() - start)
    return median(taken)


def _fresh() -> None:
    code = "import sys; from marotte.cli.main import main; sys.exit(main(['check', sys.argv[1], '--json']))"
    done = subprocess.run([sys.executable, "-c", code, str(TANSY)], capture_output=True, text=True, check=False)
    json.loads(done.stdout)
