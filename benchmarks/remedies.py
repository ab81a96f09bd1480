"""What helps: the remedies of each finding that wants one, and a plan; of the largest example, and of it with a bad hatch and few hours."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.creatures import TANSY
from benchmarks.rows import Row, promise, seconds
from marotte.creature.load import build, open_tree
from marotte.creature.tree import Tree
from marotte.verdict.cells import Cache
from marotte.verdict.check import Examined, examine
from marotte.verdict.remedies import remedies, wants_remedy
from marotte.verdict.remedies.plan import plan

WORSE = (("hatch: [cap, nape]", "hatch: face"), ("hours: 900 h", "hours: 580 h"))
"""A head that opens at the face alone, and a shop that has less time."""


def rows() -> Iterator[Row]:
    """Measure the dearest finding of each, and the plan; by this process's own clock."""
    with TemporaryDirectory() as made:
        worse = Path(made) / "tansy"
        shutil.copytree(TANSY, worse)
        file = worse / "creature.yaml"
        text = file.read_text(encoding="utf-8")
        for written, becomes in WORSE:
            assert written in text, written
            text = text.replace(written, becomes)
        file.write_text(text, encoding="utf-8")
        for what, folder in (("as shipped", TANSY), ("opens at the face, 580 h", worse)):
            name, taken = dearest(folder)
            yield promise(f"remedies of one finding, {what}", taken, "s", 2.0, f"the dearest: {name}")
    tree = open_tree(TANSY)
    yield promise("plan", seconds(lambda: plan(tree, TANSY, Cache()), 1), "s", 30.0)


def dearest(folder: Path) -> tuple[str, float]:
    """Return the finding whose remedies take longest, and how long [s]."""
    tree, cache = open_tree(folder), Cache()
    standing = examine(build(tree, folder), cache)
    wanted = [item.id for item in standing.verdict.findings if wants_remedy(item)]
    remedies(tree, folder, standing, wanted[0], Cache())  # kernels are read from the disk once
    taken = {name: _of(tree, folder, standing, name, cache) for name in wanted}
    name = max(taken, key=lambda one: taken[one])
    return name, taken[name]


def _of(tree: Tree, folder: Path, standing: Examined, name: str, cache: Cache) -> float:
    """Once: a second time its full checks would be known."""
    return seconds(lambda: remedies(tree, folder, standing, name, cache), 1)
