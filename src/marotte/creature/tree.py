"""creature.yaml as a tree that keeps comments, order and places; guards against hostile files; atomic save.

YAML is read with ruamel.yaml in round-trip mode (docs/decisions/0003-the-file.md). Before anything is composed, the stream of
parse events is walked once, so that aliases, tags, deep nesting and floods of nodes are refused before they cost memory.
"""

from __future__ import annotations

import contextlib
import io
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from marotte.basis.faults import BadInput, BadRequest, CannotSave, Fault, short
from marotte.basis.given import Place

FILE_NAME: Final = "creature.yaml"
MOST_BYTES: Final = 2_000_000
"""A creature of 64 functions with all its poses takes about 60 kB."""
DEEPEST: Final = 16
MOST_NODES: Final = 60_000


@dataclass(frozen=True, slots=True)
class Tree:
    """The written file: its data with comments and places."""

    data: CommentedMap
    name: str
    """File name as shown in messages."""
    newline: str = "\n"
    """How its lines end; a save keeps it."""


def _yaml() -> YAML:
    yaml = YAML()
    yaml.preserve_quotes = True
    yaml.width = 200
    yaml.indent(mapping=2, sequence=4, offset=2)
    yaml.allow_duplicate_keys = False
    return yaml


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
        _guard(text, shown)
        data = _yaml().load(text)
    except MarkedYAMLError as error:
        raise BadInput([_yaml_fault(error, shown)]) from None
    except (YAMLError, ValueError, RecursionError, OverflowError) as error:
        what = f"this is not YAML that can be read: {short(str(error).splitlines()[0] if str(error) else type(error).__name__)}"
        raise BadInput([_fault("yaml", shown, what)]) from None
    if data is None:
        raise BadInput([_fault("missing", shown, f"{shown} is empty")])
    if not isinstance(data, CommentedMap):
        raise BadInput([_fault("wrong_kind", shown, f"{shown} is not a block of keys at its top")])
    return Tree(data, shown, newline)


def _guard(text: str, shown: str) -> None:
    depth = nodes = documents = 0
    for event in _yaml().parse(io.StringIO(text)):
        place = Place(file=shown, line=event.start_mark.line + 1, column=event.start_mark.column + 1)
        if isinstance(event, DocumentStartEvent):
            documents += 1
            if documents > 1:
                raise BadInput(
                    [Fault(code="yaml", what="a second document starts here", place=place, allowed="one document")]
                )
        if isinstance(event, AliasEvent) or getattr(event, "anchor", None):
            advice = "write the values out, or use like: for servos and sides: for pairs"
            raise BadInput(
                [Fault(code="alias", what="anchors and aliases are not part of this file", place=place, try_=advice)]
            )
        if isinstance(event, (ScalarEvent, MappingStartEvent, SequenceStartEvent)):
            nodes += 1
            if event.tag is not None and str(event.tag) not in ("", "!") and not _implied(event):
                what = f"the tag {short(event.tag)} is not part of this file"
                raise BadInput([Fault(code="alias", what=what, place=place, try_="leave the tag out")])
        if isinstance(event, (MappingStartEvent, SequenceStartEvent)):
            depth += 1
        elif isinstance(event, (MappingEndEvent, SequenceEndEvent)):
            depth -= 1
        if depth > DEEPEST:
            what = "blocks stand inside blocks too deep"
            raise BadInput([Fault(code="too_deep", what=what, place=place, allowed=f"{DEEPEST} levels")])
        if nodes > MOST_NODES:
            raise BadInput([Fault(code="too_big", what="too many values", place=place, allowed=f"{MOST_NODES}")])


def _implied(event: Any) -> bool:
    implicit = event.implicit
    return bool(implicit[0] if isinstance(implicit, tuple) else implicit)


def _yaml_fault(error: MarkedYAMLError, shown: str) -> Fault:
    mark = error.problem_mark or error.context_mark
    place = Place(file=shown, line=(mark.line if mark else 0) + 1, column=(mark.column if mark else 0) + 1)
    problem = (error.problem or "not YAML").split("\n")[0]
    if "duplicate key" in problem:
        name = short(problem.split('"')[1]) if '"' in problem else "a key"
        return Fault(
            code="duplicate", what=f"{name} stands twice in this block", place=place, try_="keep one of the two"
        )
    return Fault(code="yaml", what=f"this is not YAML: {short(problem, 120)}", place=place, try_=_mend(error, problem))


def _mend(error: MarkedYAMLError, problem: str) -> str:
    """Return what to do about a mistake in the YAML, in words of someone who has never heard of it."""
    opened = f" opened in line {error.context_mark.line + 1}" if error.context_mark else ""
    for part, advice in (
        ("found character '\\t'", "use spaces, not tabs, to set in"),
        ("expected ',' or '}'", f"close the brace{opened} with }}, or put a comma between its entries"),
        ("expected ',' or ']'", f"close the bracket{opened} with ], or put a comma between its entries"),
        ("could not find expected ':'", "a name wants a colon and a space after it, in this line or the one above"),
        (
            "mapping values are not allowed",
            "lines of one block begin in the same column, and a line has one name with a colon",
        ),
        ("expected <block end>", "lines of one block begin in the same column"),
        ("unexpected end of stream", f"close the quotation mark{opened}"),
        ("cannot start any token", "put the text in quotation marks"),
    ):
        if part in problem:
            return advice
    return ""


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
    _yaml().dump(tree.data, out)
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
