"""What is refused before a creature file is composed: letters that are no text, aliases and tags, floods, numbers without end.

The stream of parse events is walked once, so that none of it costs memory, and so that each has its place: what the YAML library
only finds while it makes numbers and dates of words, it tells without one.
"""

from __future__ import annotations

import io
import re
from typing import Any, Final

from ruamel.yaml import YAML
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

from marotte.basis.faults import BadInput, Fault, short
from marotte.basis.given import Place
from marotte.basis.units import LONGEST

DEEPEST: Final = 16
MOST_NODES: Final = 60_000
NO_TEXT: Final = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Letters outside c-printable of YAML 1.2.2 (section 5.1); a mark of byte order is taken off before."""
NUMBER: Final = re.compile(r"[-+]?(?:0x[0-9a-fA-F_]*|0[bo][0-9_]*|[0-9_]*\.?[0-9_]*(?:[eE][-+]?[0-9]*)?)\Z")
"""What the library makes a number of, where it stands without quotation marks (its resolver of YAML 1.2, or a little more)."""
NUMBERS_BEGIN: Final = frozenset("-+.0123456789")
"""How numbers and dates begin."""


def plain_yaml() -> YAML:
    """Return the reader and writer of creature files."""
    yaml = YAML()
    yaml.preserve_quotes = True
    yaml.width = 200
    yaml.indent(mapping=2, sequence=4, offset=2)
    yaml.allow_duplicate_keys = False
    return yaml


def guard(text: str, shown: str) -> None:
    """Walk a text as YAML, and make nothing of it.

    Raises:
        BadInput: it holds what a creature file may not hold.
        MarkedYAMLError: it is not YAML.
    """
    _only_text(text, shown)
    depth = nodes = documents = 0
    for event in plain_yaml().parse(io.StringIO(text)):
        place = _place(event, shown)
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
        if (
            isinstance(event, ScalarEvent)
            and len(event.value) > LONGEST
            and not event.style
            and NUMBER.match(event.value)
        ):
            raise BadInput([_too_long(event.value, place)])
        if isinstance(event, (MappingStartEvent, SequenceStartEvent)):
            depth += 1
        elif isinstance(event, (MappingEndEvent, SequenceEndEvent)):
            depth -= 1
        if depth > DEEPEST:
            what = "blocks stand inside blocks too deep"
            raise BadInput([Fault(code="too_deep", what=what, place=place, allowed=f"{DEEPEST} levels")])
        if nodes > MOST_NODES:
            raise BadInput([Fault(code="too_big", what="too many values", place=place, allowed=f"{MOST_NODES}")])


def _only_text(text: str, shown: str) -> None:
    found = NO_TEXT.search(text)
    if found is None:
        return
    place = Place(
        file=shown,
        line=text.count("\n", 0, found.start()) + 1,
        column=found.start() - text.rfind("\n", 0, found.start()),
    )
    what = f"a letter that is no text stands here: {ascii(found.group())[1:-1]}"
    raise BadInput(
        [Fault(code="yaml", what=what, place=place, try_="take it out; an editor shows it as a box, or not at all")]
    )


def _too_long(value: str, place: Place) -> Fault:
    what = f"{short(value, 24)}: {len(value)} letters is too long for a number"
    try_ = "in quotation marks it is a text"
    return Fault(
        code="number", what=what, place=place, found=short(value), allowed=f"at most {LONGEST} letters", try_=try_
    )


def no_value(text: str, shown: str, error: Exception) -> Fault:
    """Return the fault of a text that is YAML and that the library can make no values of: the first word that it fails on."""
    for event in plain_yaml().parse(io.StringIO(text)):
        if not isinstance(event, ScalarEvent) or event.style or event.value[:1] not in NUMBERS_BEGIN:
            continue
        try:
            plain_yaml().load(event.value)
        except MarkedYAMLError:
            continue  # not by itself, but where it stands
        except (YAMLError, ValueError, LookupError, ArithmeticError) as own:
            kind, why = (
                ("date", f" ({short(own)})") if ":" in event.value or event.value.count("-") > 1 else ("number", "")
            )
            what = f"{short(event.value)} looks like a {kind} and is none{why}"
            try_ = "in quotation marks it is a text"
            return Fault(code="number", what=what, place=_place(event, shown), found=short(event.value), try_=try_)
    what = f"this is not YAML that can be read: {short(str(error).splitlines()[0] if str(error) else type(error).__name__)}"
    return Fault(code="yaml", what=what, place=Place(file=shown, line=1, column=1))


def _place(event: Any, shown: str) -> Place:
    return Place(file=shown, line=event.start_mark.line + 1, column=event.start_mark.column + 1)


def _implied(event: Any) -> bool:
    implicit = event.implicit
    return bool(implicit[0] if isinstance(implicit, tuple) else implicit)


def not_yaml(error: MarkedYAMLError, shown: str) -> Fault:
    """Return the fault of a text that is not YAML, with what to do about it."""
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
