"""Edits of the written tree: tested, applied, inverted. Comments, quotes and order stay with what is not touched."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from ruamel.yaml.comments import CommentedMap, CommentedSeq

from marotte.basis.contracts.finding import ABSENT, Edit
from marotte.basis.faults import BadRequest, short, shown_path
from marotte.basis.given import Ref
from marotte.creature.tree import Tree, split_pointer


def value_at(tree: Tree, ref: Ref) -> Any:
    """Return what is written at a ref, in plain values, or ABSENT."""
    try:
        holder, key = _holder(tree, ref)
    except BadRequest:
        return ABSENT
    if isinstance(holder, list):
        return plain(holder[key]) if 0 <= key < len(holder) else ABSENT
    return plain(holder[key]) if key in holder else ABSENT


def plain(node: Any) -> Any:
    """Return a node of the tree as plain dict, list, str, int, float, bool or None."""
    if isinstance(node, dict):
        return {str(name): plain(value) for name, value in node.items()}
    if isinstance(node, list):
        return [plain(item) for item in node]
    if isinstance(node, bool) or node is None:
        return node
    for kind in (int, float, str):
        if isinstance(node, kind):
            return kind(node)
    return str(node)


def writing(tree: Tree, ref: Ref, to: Any) -> Edit:
    """Return the edit that writes a value at a ref, whatever is there now, with the blocks around it where they are not written."""
    parts = ref.strip("/").split("/")
    for depth in range(len(parts) - 1, 0, -1):
        holder = "/" + "/".join(parts[:depth])
        if value_at(tree, holder) is not ABSENT:
            path = "/" + "/".join(parts[: depth + 1])
            for name in reversed(parts[depth + 1 :]):
                to = {name: to}
            return Edit(path=path, from_=value_at(tree, path), to=to)
    return Edit(path=ref, from_=ABSENT, to=to)


def apply(tree: Tree, edits: Iterable[Edit]) -> tuple[Edit, ...]:
    """Apply edits to a tree in place, all or none; return the edits that take them back, in order of application.

    Raises:
        BadRequest: a path that is not there, or a value that is no longer what the edit expects.
    """
    undo: list[Edit] = []
    try:
        for edit in edits:
            undo.insert(0, _apply_one(tree, edit))
    except BadRequest:
        for back in undo:
            _apply_one(tree, back)
        raise
    return tuple(undo)


def _apply_one(tree: Tree, edit: Edit) -> Edit:
    holder, key = _holder(tree, edit.path)
    now = value_at(tree, edit.path)
    expected = edit.from_ if edit.from_ is ABSENT else plain(edit.from_)
    if now is not expected and (
        now is ABSENT or expected is ABSENT or now != expected or type(now) is not type(expected)
    ):
        found = "nothing" if now is ABSENT else short(now)
        wanted = "nothing" if expected is ABSENT else short(expected)
        raise BadRequest(f"{shown_path(edit.path)} holds {found}, not {wanted}: it was changed meanwhile")
    original = holder[key] if now is not ABSENT else ABSENT
    if isinstance(holder, CommentedSeq):
        if now is ABSENT or edit.to is ABSENT:
            raise BadRequest(f"{shown_path(edit.path)}: write the whole list instead of adding or taking out one item")
        holder[key] = _node(edit.to)
    elif edit.to is ABSENT:
        if now is not ABSENT:
            place = list(holder).index(key)
            del holder[key]
            return Edit(path=edit.path, from_=ABSENT, to=original, at=place)
    elif now is ABSENT and edit.at is not None:
        holder.insert(edit.at, key, _node(edit.to))
    else:
        holder[key] = _node(edit.to)
    return Edit(path=edit.path, from_=edit.to, to=original)


def _holder(tree: Tree, ref: Ref) -> tuple[Any, Any]:
    """Return the block or list that holds a ref, and the key or index in it."""
    parts = split_pointer(ref)
    if not parts:
        raise BadRequest("the whole file cannot be edited as one value")
    node: Any = tree.data
    for depth, part in enumerate(parts[:-1]):
        try:
            node = node[int(part)] if isinstance(node, list) else node[part]
        except (KeyError, IndexError, TypeError, ValueError):
            raise BadRequest(f"{shown_path('/'.join(parts[: depth + 1]))} is not in the file") from None
    last = parts[-1]
    if isinstance(node, list):
        if not last.isdigit():
            raise BadRequest(f"{shown_path(ref)} is not an item of a list")
        return node, int(last)
    if not isinstance(node, dict):
        raise BadRequest(f"{shown_path(ref)} is not in the file")
    return node, last


def _node(value: Any) -> Any:
    """Return a value as a node of the YAML library; blocks and lists in flow style, as short ones are written."""
    if isinstance(value, (CommentedMap, CommentedSeq)):
        return value  # an original, on its way back
    if isinstance(value, dict):
        block = CommentedMap({str(name): _node(item) for name, item in value.items()})
        block.fa.set_flow_style()
        return block
    if isinstance(value, (list, tuple)):
        row = CommentedSeq([_node(item) for item in value])
        row.fa.set_flow_style()
        return row
    return value
