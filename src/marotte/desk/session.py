"""One open creature folder: edits and undos answered from the cells, saving without loss.

The tree in memory is the truth; a verdict is always that of the tree as it stands, whatever edits led to it. An edit that
makes the file unreadable is taken back at once and reported, so the tree always builds.
"""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import blake2b
from pathlib import Path

from marotte.basis.contracts.finding import Edit, Verdict
from marotte.basis.faults import BadInput, BadRequest, CannotSave
from marotte.creature.creature import Creature
from marotte.creature.edit import apply
from marotte.creature.kept import Kept
from marotte.creature.load import build, open_tree
from marotte.creature.tree import FILE_NAME, Tree, dump, save_text
from marotte.verdict.cells import Cache
from marotte.verdict.check import Examined, examine


class Session:
    """An open creature. Not thread-safe: one caller at a time."""

    def __init__(self, folder: Path, cache: Cache | None = None) -> None:
        """Open a folder.

        Raises:
            BadInput: the folder cannot be read as written.
        """
        self.folder = folder
        self.cache = cache if cache is not None else Cache()
        self._undo: list[tuple[Edit, ...]] = []
        self._redo: list[tuple[Edit, ...]] = []
        self._open()

    def _open(self) -> None:
        self.tree: Tree = open_tree(self.folder)
        self._built = Kept()
        self.creature: Creature = build(self.tree, self.folder, self._built)
        self._on_disk = _content(self.folder / FILE_NAME)
        self._saved_text = dump(self.tree)
        self._examined: Examined | None = None

    @property
    def examined(self) -> Examined:
        """The verdict of the tree as it stands, with its workings."""
        if self._examined is None:
            self._examined = examine(self.creature, self.cache)
        return self._examined

    @property
    def verdict(self) -> Verdict:
        """The verdict of the tree as it stands."""
        return self.examined.verdict

    @property
    def unsaved(self) -> bool:
        """Whether the tree differs from what was last read or saved."""
        return dump(self.tree) != self._saved_text

    def edit(self, edits: Iterable[Edit]) -> Verdict:
        """Apply edits as one step and return the new verdict.

        Raises:
            BadRequest: a path that is not there, or a value that was changed meanwhile; nothing is changed.
            BadInput: the file would no longer be readable; nothing is changed.
        """
        back = self._apply(tuple(edits))
        self._undo.append(back)
        self._redo.clear()
        return self.verdict

    def undo(self) -> Verdict:
        """Take the last step back.

        Raises:
            BadRequest: there is none.
        """
        self._step(self._undo, self._redo, "undo")
        return self.verdict

    def redo(self) -> Verdict:
        """Do the last step that was taken back once more.

        Raises:
            BadRequest: there is none.
        """
        self._step(self._redo, self._undo, "redo")
        return self.verdict

    def _step(self, source: list[tuple[Edit, ...]], other: list[tuple[Edit, ...]], word: str) -> None:
        if not source:
            raise BadRequest(f"there is nothing to {word}")
        other.append(self._apply(source.pop()))

    def _apply(self, edits: tuple[Edit, ...]) -> tuple[Edit, ...]:
        back = apply(self.tree, edits)
        try:
            self.creature = build(self.tree, self.folder, self._built)
        except BadInput:
            apply(self.tree, back)
            raise
        self._examined = None
        return back

    def save(self) -> None:
        """Write the tree to creature.yaml, atomically.

        Raises:
            CannotSave: the disk refuses, or the file was changed by someone else since it was read; nothing is lost.
        """
        path = self.folder / FILE_NAME
        if _content(path) != self._on_disk:
            raise CannotSave(
                f"{FILE_NAME} was changed on disk since it was read; your changes are kept here, reread or save a copy"
            )
        text = dump(self.tree)
        save_text(path, text)
        self._on_disk = _content(path)
        self._saved_text = text

    def reread(self) -> Verdict:
        """Read the folder again; unsaved edits and the steps to undo are given up.

        Raises:
            BadInput: the folder cannot be read as written; the session stays as it was.
        """
        kept = (self.tree, self._built, self.creature, self._on_disk, self._saved_text, self._examined)
        try:
            self._open()
        except BadInput:
            self.tree, self._built, self.creature, self._on_disk, self._saved_text, self._examined = kept
            raise
        self._undo.clear()
        self._redo.clear()
        return self.verdict


def _content(path: Path) -> bytes:
    try:
        return blake2b(path.read_bytes(), digest_size=16).digest()
    except OSError:
        return b""
