"""A creature without what is wrong in its file, so that everything else can still be looked at.

Never the creature that was meant: whoever shows what comes of it shows the faults with it, and says what was left out.
"""

from __future__ import annotations

import copy
from collections.abc import MutableMapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from marotte.basis.faults import BadInput, Fault
from marotte.creature.creature import Creature
from marotte.creature.load import build
from marotte.creature.tree import Tree

ENTRIES: Final = ("functions", "mechs", "servos", "skins", "masses", "controls", "hand_plan", "performers", "points")
"""Sections of which a whole entry is left out: half of one would be another function, not the same one with less."""
WHOLE: Final = ("audience", "worn", "show", "limits", "shop", "hand_plan")
"""Sections that are left out as a whole where the fault is not in one of their entries."""
ROUNDS: Final = 12
"""What is left out may be named elsewhere, and that again."""


@dataclass(frozen=True, slots=True)
class Rest:
    """What can be looked at all the same."""

    creature: Creature
    left_out: tuple[str, ...]
    """Pointers, in the order in which they went; poses and lines of the brief that only name them are not among them."""


def without_faults(tree: Tree, folder: Path | None, faults: tuple[Fault, ...]) -> Rest | None:
    """Return the creature without what is wrong, or None where nothing that moves is left, or too much hangs on it."""
    left = replace(tree, data=copy.deepcopy(tree.data))
    gone: list[str] = []
    for _ in range(ROUNDS):
        paths = sorted({path for fault in faults if (path := _unit(fault.path)) is not None})
        if len(paths) < len({fault.path for fault in faults if _unit(fault.path) is None}) or not paths:
            return None
        dropped = [path for path in paths if _drop(left.data, path)]
        if not dropped:
            return None
        gone += paths
        if not left.data.get("functions"):
            return None
        try:
            named = tuple(path for path in dict.fromkeys(gone) if not path.startswith(("/poses", "/brief")))
            return Rest(build(left, folder), named or tuple(gone))
        except BadInput as error:
            faults = error.faults
    return None


def _unit(path: str) -> str | None:
    """Return the pointer of what is left out for a fault at a pointer; None where nothing can be."""
    parts = path.strip("/").split("/")
    if parts[0] in ENTRIES and len(parts) >= 2:
        return "/" + "/".join(parts[:2])
    if parts[:2] == ["supply", "leads"] and len(parts) >= 3:
        return path if parts[-1] == "fed_by" else "/" + "/".join(parts[:3])
    if parts[:2] == ["build", "skull"] and len(parts) >= 3:
        return "/" + "/".join(parts[:3])
    if parts[0] in WHOLE:
        return "/" + parts[0]
    return path if parts[0] in ("poses", "brief") and len(parts) >= 3 else None


def _drop(data: MutableMapping[str, Any], path: str) -> bool:
    """Take what stands at a pointer out of the tree; return whether anything stood there."""
    *above, last = (part.replace("~1", "/").replace("~0", "~") for part in path.strip("/").split("/"))
    block: Any = data
    for name in above:
        if not isinstance(block, MutableMapping) or name not in block:
            return False
        block = block[name]
    if not isinstance(block, MutableMapping) or last not in block:
        return False
    if (
        last == "fed_by"
    ):  # a tree that comes back to itself, or hangs nowhere: that lead then hangs at the battery itself
        block[last] = "battery"
        return True
    del block[last]
    return True
