"""Expanded blocks -> records, or every fault with its place, what was found, what is allowed, and the nearest word."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import NoneType, UnionType
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin

from pydantic import ValidationError

from marotte.basis.faults import Fault, nearest, short
from marotte.basis.given import Place
from marotte.creature.origin import Block, Origin, origin_of
from marotte.creature.schema.base import Record
from marotte.creature.schema.file import CreatureFile
from marotte.creature.schema.quantities import Ledger
from marotte.creature.tree import join_pointer

OWN_CODES: Final = frozenset(("unit", "number", "bounds", "missing", "choice", "wrong_kind", "unknown_key"))
"""Error types raised by our own annotations, whose contexts carry allowed and try_."""
_DECIMAL: Final = re.compile(r"[0-9]+ *[A-Za-z%°]*\Z")
"""What is left of 14,5 mm between braces."""
KINDS: Final[dict[Any, str]] = {bool: "true or false", int: "a whole number", float: "a quantity with its unit"}
"""What stands in a field of a plain type, in words; any other is a text."""
WRITTEN_ONLY: Final = ("sides", "left", "right", "like")
"""Keys that expansion takes out; offered as nearest words all the same."""


def validate(root: Block) -> tuple[CreatureFile | None, Ledger, list[Fault]]:
    """Return the file's record, its ledger and its faults; the record is None where there are any."""
    ledger = Ledger()
    try:
        return CreatureFile.model_validate(root, context=ledger), ledger, []
    except ValidationError as error:
        faults: dict[tuple[str, str], Fault] = {}
        for detail in (detail for detail in error.errors(include_url=False) if not _stands_in(detail, root)):
            fault = _fault(detail, root)
            faults.setdefault((str(fault.place), fault.code if fault.code == "missing" else ""), fault)
        return None, ledger, list(faults.values())


def _stands_in(detail: Any, root: Block) -> bool:
    """Whether a quantity at fault is not written but stands in for what is not (power_off for neutral), which is told beside it."""
    *above, last = detail["loc"] or ("",)
    node: Any = root
    for item in above:
        node = node[item] if isinstance(node, Mapping) and item in node else node
    quantity = detail["type"] in OWN_CODES - {"missing"} and origin_of(detail.get("input")) is not None
    return quantity and isinstance(node, Block) and last not in node.keys_at


def _fault(detail: Any, root: Block) -> Fault:
    loc, kind, context = _without_labels(tuple(detail["loc"])), str(detail["type"]), detail.get("ctx") or {}
    key_fault = bool(loc) and loc[-1] == "[key]"
    place, path, found = _where(root, loc[:-1] if key_fault else loc, at_key=kind == "extra_forbidden" or key_fault)
    if kind == "missing" and isinstance(loc[-1], int):
        wanted, written = _wanted(loc[:-1]), _as_written(detail.get("input"))
        what = f"{written}: {wanted} is wanted here"
        return Fault(code="wrong_kind", what=what, place=place, path=path, found=written, allowed=wanted)
    if kind == "missing":
        name = str(loc[-1])
        return Fault(
            code="missing",
            what=f"{name} is missing here",
            place=place,
            path=path,
            try_=f"write {name}: with {_wanted(loc)}",
        )
    if kind == "extra_forbidden":
        words = _keys(loc[:-1])
        if _DECIMAL.match(str(loc[-1])) and detail.get("input") is None:
            what = f"{short(loc[-1])} stands alone here: a comma parts two entries"
            return Fault(
                code="number", what=what, place=place, path=path, allowed="a decimal with a point",
                try_=f"write the number before it and this one as one: 14.{loc[-1]!s}",
            )  # fmt: skip
        return Fault(
            code="unknown_key", what=f"{short(loc[-1])} is not part of this block", place=place, path=path,
            allowed=_listed(words), try_=nearest(str(loc[-1]), words),
        )  # fmt: skip
    if kind in OWN_CODES:
        shown = found if kind not in ("missing", "unknown_key") else ""
        what = str(context.get("what") or detail["msg"])
        what = f"{shown}: {what}" if shown and shown not in what else what
        return Fault(
            code=kind, what=what, place=place, path=path, found=shown,
            allowed=str(context.get("allowed", "")), try_=str(context.get("try_", "")),
        )  # fmt: skip
    return _plain(kind, context, str(detail["msg"]), loc, place, path, found, detail.get("input"))


def _plain(
    kind: str,
    context: Mapping[str, Any],
    message: str,
    loc: tuple[Any, ...],
    place: Place,
    path: str,
    found: str,
    block: Any,
) -> Fault:
    """Return the fault of one of the library's own error types."""
    if kind in ("literal_error", "union_tag_invalid"):
        allowed = (
            str(context.get("expected") or context.get("expected_tags") or "").replace(" or ", ", ").replace("'", "")
        )
        tag = str(context.get("tag", "") or found)
        what = f"{short(tag)} is not one of the words allowed here"
        return Fault(
            code="choice",
            what=what,
            place=place,
            path=path,
            found=found,
            allowed=allowed,
            try_=nearest(tag, allowed.split(", ")),
        )
    if kind == "union_tag_not_found":
        kinds = ", ".join(_tags(_at(loc)))
        return Fault(
            code="missing", what="kind is missing here", place=place, path=path, allowed=kinds, try_="write kind: first"
        )
    if kind == "value_error":
        code = "order" if any(word in message for word in ("rise", "least to most", "outside")) else "geometry"
        what = message.removeprefix("Value error, ")
        field = what.split()[0]  # a message about one key of a block begins with it
        allowed = ""
        if isinstance(block, Block) and field in block.keys_at:
            place, path, found = block.keys_at[field].place, block.keys_at[field].ref, _as_written(block[field])
            what = f"{found}: {what}"
            allowed = f"{_as_written(block['travel'])}" if "outside the travel" in what else ""
        return Fault(code=code, what=what, place=place, path=path, found=found, allowed=allowed)
    if kind == "string_pattern_mismatch":
        what = f"{found or short(loc[-2] if len(loc) > 1 else '')} is not a name"
        return Fault(
            code="choice",
            what=what,
            place=place,
            path=path,
            found=found,
            allowed="small letters, digits and _, a letter first, at most 60",
        )
    if kind in ("string_too_long", "string_too_short"):
        length = len(str(block))
        what = f"{found}: a text of {length} letters" if length else "nothing is written here"
        allowed = f"at most {context['max_length']} letters" if length else "a text"
        return Fault(
            code="bounds" if length else "missing", what=what, place=place, path=path, found=found, allowed=allowed
        )
    bounds = {"greater_than": "gt", "greater_than_equal": "ge", "less_than": "lt", "less_than_equal": "le"}
    if kind in bounds:
        words = {"gt": "above", "ge": "at least", "lt": "below", "le": "at most"}
        allowed = f"{words[bounds[kind]]} {context.get(bounds[kind])}"
        return Fault(
            code="bounds",
            what=f"{found}: outside what this field allows",
            place=place,
            path=path,
            found=found,
            allowed=allowed,
        )
    wanted = _wanted(loc)
    found = _as_written(block) if isinstance(block, list) else found
    what = f"{found}: {wanted} is wanted here" if found else f"{wanted} is wanted here"
    return Fault(code="wrong_kind", what=what, place=place, path=path, found=found, allowed=wanted)


def _as_written(value: Any) -> str:
    """Return a value of the file about as it stands there."""
    if isinstance(value, list):
        return f"[{', '.join(_as_written(item) for item in value)}]"
    if isinstance(value, Mapping):
        return short(value.get("value", "a block"))
    return short(value)


def _where(root: Block, loc: tuple[Any, ...], *, at_key: bool) -> tuple[Place, str, str]:
    """Return place, path and found text of an error location; union tags in it are passed over."""
    node: Any = root
    origin: Origin = root.origin
    last: Any = None
    for index, item in enumerate(loc):
        if isinstance(node, Mapping) and item in node:
            if at_key and index == len(loc) - 1 and isinstance(node, Block) and item in node.keys_at:
                origin = node.keys_at[item]
                return origin.place, origin.ref, short(item)
            key_origin = node.keys_at.get(item) if isinstance(node, Block) else None
            node = last = node[item]
            origin = origin_of(node) or key_origin or origin
        elif isinstance(node, list) and isinstance(item, int) and item < len(node):
            node = last = node[item]
            origin = origin_of(node) or origin
        elif (
            index == len(loc) - 1
            and isinstance(node, Mapping)
            and isinstance(item, str)
            and not _is_tag(loc[:index], item)
        ):
            return origin.place, origin.ref + join_pointer(item), ""
    if isinstance(last, (Mapping, list)):
        written = last.get("value", "") if isinstance(last, Mapping) else ""
        return origin.place, origin.ref, short(written) if written != "" else ""
    return origin.place, origin.ref, short(last) if last is not None else ""


def _is_tag(loc: tuple[Any, ...], item: str) -> bool:
    return item in _tags(_at(loc))


def _tags(annotation: Any) -> list[str]:
    return [
        str(word)
        for member in _members(annotation)
        if isinstance(member, type) and issubclass(member, Record) and "kind" in member.model_fields
        for word in get_args(member.model_fields["kind"].annotation)
    ]


def _members(annotation: Any) -> list[Any]:
    """Return the alternatives of an annotation, without None and without metadata."""
    if get_origin(annotation) is Annotated:
        return _members(get_args(annotation)[0])
    if get_origin(annotation) in (Union, UnionType):
        return [member for part in get_args(annotation) for member in _members(part)]
    return [] if annotation is NoneType else [annotation]


def _at(loc: tuple[Any, ...]) -> Any:
    """Return the annotation that stands at an error location."""
    annotation: Any = CreatureFile
    for item in loc:
        annotation = _step(annotation, item)
        if annotation is None:
            return None
    return annotation


def _without_labels(loc: tuple[Any, ...]) -> tuple[Any, ...]:
    """Return an error location without the library's names for the alternatives of a field, which nobody has written."""
    out: tuple[Any, ...] = ()
    for item in loc:
        members = _members(_at(out))
        plain = members and not any(_has_keys(member) for member in members)
        if not (plain and isinstance(item, str) and item != "[key]"):
            out = (*out, item)
    return out


def _has_keys(member: Any) -> bool:
    return get_origin(member) in (dict, Mapping) or (isinstance(member, type) and issubclass(member, Record))


def _step(annotation: Any, item: Any) -> Any:
    for member in _members(annotation):
        if isinstance(member, type) and issubclass(member, Record):
            if item in _tags(member):
                return member
            if item in member.model_fields:
                return member.model_fields[item].rebuild_annotation()
        elif get_origin(member) in (dict, Mapping):
            return get_args(member)[1]
        elif get_origin(member) is tuple and isinstance(item, int):
            parts = get_args(member)
            return parts[0] if len(parts) == 2 and parts[1] is Ellipsis else parts[min(item, len(parts) - 1)]
    return None


def _keys(loc: tuple[Any, ...]) -> list[str]:
    keys: set[str] = set()
    for member in _members(_at(loc)):
        if isinstance(member, type) and issubclass(member, Record):
            keys.update(member.model_fields)
            if member.pairable:
                keys.update(WRITTEN_ONLY[:3])
    return sorted(keys | {"notes", "source"})


def _listed(words: list[str]) -> str:
    return ", ".join(words)


def _wanted(loc: tuple[Any, ...]) -> str:
    """Return in words what stands at a location."""
    words = dict.fromkeys(_kind_of(member) for member in _members(_at(loc)))
    return " or ".join(words) or "a text"


def _kind_of(member: Any) -> str:
    if isinstance(member, type) and issubclass(member, Record):
        return "a block of keys"
    if get_origin(member) is dict:
        return "a block of names"
    if get_origin(member) is tuple:
        parts = get_args(member)
        return "a list" if Ellipsis in parts else f"a list of {len(parts)}"
    if get_origin(member) is Literal:
        return "one of " + ", ".join(str(word) for word in get_args(member))
    return KINDS.get(member, "a text")
