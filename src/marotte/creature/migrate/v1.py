"""Version 0, a draft without version and stock edition, to version 1."""

from __future__ import annotations

from marotte.creature.shelf import EDITIONS
from marotte.creature.tree import Tree


def step(tree: Tree) -> list[str]:
    """Write the version and, where absent, the newest stock edition."""
    notes = ["marotte: 1 was written at the top (the file had no version)"]
    if "marotte" in tree.data:
        tree.data["marotte"] = 1
    else:
        tree.data.insert(0, "marotte", 1)
    if "stock" not in tree.data:
        tree.data.insert(1, "stock", EDITIONS[-1])
        notes.append(f"stock: {EDITIONS[-1]} was written (the file named no edition)")
    return notes
