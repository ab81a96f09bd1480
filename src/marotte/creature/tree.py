"""creature.yaml as a tree that keeps comments, order and places; guards against hostile files; atomic save.

YAML is read with ruamel.yaml in round-trip mode (docs/decisions/0003-the-file.md), after ``guard`` has walked it.
"""

from __future__ import annotations

import contextlib
import io
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from ruamel.yaml.comments import CommentedMap
from ruamel.yaml.error import MarkedYAMLError, YAMLError

from marotte.basis.faults import BadInput, BadRequest, CannotSave, Fault
from marotte.basis.given import Place
from marotte.creature.guard import guard, no_value, not_yaml, plain_yaml

FILE_NAME: Final = "creature.yaml"
MOST_BYTES: Final = 2_000_000
"""A creature of 64 functions with all its poses takes about 60 kB."""


@dataclass(frozen=True, slots=True)
class Tree:
    """The written file: its data with comments and places."""

    data: CommentedMap
    name: str
    """File name as shown in messages."""
    newline: str = "\n"
    """How its lines end; a save keeps it."""


def read_text(path: Path, shown: str, most_bytes: int = MOST_BYTES) -> str:
    """Return the text of a file of the creature folder, its lines ended as here.

    Raises:
        BadInput: not there, not a file, too big, not UTF-8.
    """
    return _plain_lines(_as_it_is(path, shown, most_bytes))


def _plain_lines(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _as_it_is(path: Path, shown: str, most_bytes: int = MOST_BYTES) -> str:
    if path.is_dir():
        raise BadInput([_fault("not_a_file", shown, f"{shown} is a folder; a file is wanted")])
    if path.exists() and not path.is_file():  # a pipe or a device would be read without end
        raise BadInput([_fault("not_a_file", shown, f"{shown} is not a plain file")])
    try:
        with path.open("rb") as handle:
            raw = handle.read(most_bytes + 1)
    except FileNotFoundError:
        raise BadInput([_fault("no_folder", shown, f"there is no {shown}")]) from None
    except OSError as error:
        raise BadInput([_fault("cannot_read", shown, f"{shown} cannot be read: {error.strerror or error}")]) from None
    if len(raw) > most_bytes:
        allowed = f"at most {most_bytes // 1000} kB"
        raise BadInput([_fault("too_big", shown, f"{shown} is larger than any creature needs", allowed=allowed)])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        column = error.start - raw.rfind(b"\n", 0, error.start)
        what, try_ = f"byte 0x{raw[error.start]:02x} is not UTF-8 text", "save it again as UTF-8"
        if sum(byte < 32 and byte not in b"\n\r\t\f\v" for byte in raw[:20_000]) > len(raw[:20_000]) // 100:
            what = "this is not text: it looks like a program, a picture or a document of a word processor"
            try_ = "export it as plain text, in UTF-8"
        place = Place(file=shown, line=line, column=column)
        raise BadInput([Fault(code="encoding", what=what, place=place, allowed="UTF-8", try_=try_)]) from None
    return text


def _fault(code: str, shown: str, what: str, *, allowed: str = "") -> Fault:
    return Fault(code=code, what=what, place=Place(file=shown, line=1, column=1), allowed=allowed)


def read(path: Path, shown: str = FILE_NAME) -> Tree:
    """Return the tree of a file.

    Raises:
        BadInput: what ``read_text`` and ``parse_text`` raise.
    """
    return parse_text(_as_it_is(path, shown), shown)


def parse_text(text: str, shown: str = FILE_NAME) -> Tree:
    """Return the tree of a text.

    Raises:
        BadInput: not YAML, or YAML beyond what a creature file may use.
    """
    newline = "\r\n" if "\r\n" in text else "\n"
    text = _plain_lines(text)
    try:
        guard(text, shown)
        data = plain_yaml().load(text)
    except MarkedYAMLError as error:
        raise BadInput([not_yaml(error, shown)]) from None
    except (YAMLError, ValueError, LookupError, RecursionError, ArithmeticError) as error:
        raise BadInput([no_value(text, shown, error)]) from None
    if data is None:
        raise BadInput([_fault("missing", shown, f"{shown} is empty")])
    if not isinstance(data, CommentedMap):
        raise BadInput([_fault("wrong_kind", shown, f"{shown} is not a block of keys at its top")])
    return Tree(data, shown, newline)


def place_of(tree: Tree, path: tuple[str | int, ...], *, key: bool = False) -> Place:
    """Return where a node of the tree stands (or its key); a missing node is placed at its nearest parent."""
    node: Any = tree.data
    line, column = 0, 0
    for depth, item in enumerate(path):
        try:
            last = depth == len(path) - 1
            if isinstance(node, CommentedMap):
                line, column = node.lc.key(item) if key and last else node.lc.value(item)
            else:
                line, column = node.lc.item(item)
            node = node[item]
        except (KeyError, IndexError, TypeError, AttributeError):
            break
    return Place(file=tree.name, line=line + 1, column=column + 1)


def dump(tree: Tree) -> str:
    """Return the text of a tree: comments, quotes, order and the ends of lines as they were."""
    out = io.StringIO()
    plain_yaml().dump(tree.data, out)
    return out.getvalue().replace("\n", tree.newline)


def save_text(path: Path, text: str) -> None:
    """Write a file so that a failure at any moment leaves either the old or the new text: beside, fsync, rename.

    Raises:
        CannotSave: the disk is full, the folder cannot be written, ...; the file is as it was.
    """
    folder = path.parent
    temporary: Path | None = None
    try:
        mode = path.stat().st_mode & 0o777 if path.exists() else 0o644
        descriptor, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".new", dir=folder)
        temporary = Path(name)
        with os.fdopen(descriptor, "w", encoding="utf-8", newline="\n") as handle:
            handle.write(text)
            handle.flush()
            os.fsync(handle.fileno())
        temporary.chmod(mode)
        temporary.replace(path)
        temporary = None
        _sync_folder(folder)
    except OSError as error:
        raise CannotSave(
            f"{path.name} was not saved ({error.strerror or error}); the file on disk is as it was"
        ) from error
    finally:
        if temporary is not None:
            with contextlib.suppress(OSError):
                temporary.unlink()


def _sync_folder(folder: Path) -> None:
    """Make the rename itself last; where a folder cannot be opened for that (some systems), the rename still stands."""
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def split_pointer(ref: str) -> tuple[str, ...]:
    """Return the parts of a JSON Pointer (RFC 6901).

    Raises:
        BadRequest: it does not start with a slash.
    """
    if ref == "":
        return ()
    if not ref.startswith("/"):
        raise BadRequest(f"{ref!r} is not a path into the file; a path starts with /")
    return tuple(part.replace("~1", "/").replace("~0", "~") for part in ref[1:].split("/"))


def join_pointer(*parts: str | int) -> str:
    """Return the JSON Pointer of some parts."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in parts)
