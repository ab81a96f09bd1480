"""Older versions of the file, brought up to this release's: one step a version, on the tree, comments kept.

``read`` migrates in memory and says so; only ``marotte upgrade`` (or the first save) changes the file, after a copy.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from marotte.basis.faults import BadInput, Fault, short
from marotte.creature.migrate import v1
from marotte.creature.schema.file import FILE_VERSION
from marotte.creature.tree import Tree, place_of

STEPS: Final[tuple[Callable[[Tree], list[str]], ...]] = (v1.step,)
"""STEPS[n] takes a tree of version n to version n + 1 and returns what it changed, in sentences."""


def version_of(tree: Tree) -> int:
    """Return the version of a tree; a draft without one is version 0.

    Raises:
        BadInput: not a version, or one of a newer release.
    """
    written = tree.data.get("marotte", 0)
    place = place_of(tree, ("marotte",))
    if isinstance(written, bool) or not isinstance(written, int) or written < 0:
        what = f"marotte: {short(written)} is not a version"
        raise BadInput(
            [
                Fault(
                    code="version",
                    what=what,
                    place=place,
                    path="/marotte",
                    allowed=f"a whole number, {FILE_VERSION} now",
                )
            ]
        )
    if written > FILE_VERSION:
        what = f"this file is of version {short(written)}; this release knows versions up to {FILE_VERSION}"
        raise BadInput(
            [Fault(code="version", what=what, place=place, path="/marotte", try_="use a newer release of Marotte")]
        )
    return int(written)


def migrate(tree: Tree) -> list[str]:
    """Bring a tree up to this release's version, in place; return what was changed, in sentences."""
    notes: list[str] = []
    for step in STEPS[version_of(tree) :]:
        notes.extend(step(tree))
    return notes
