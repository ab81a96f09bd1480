"""Mutations of good files: whatever is done to one, it is read, or refused with codes and places; never a traceback."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from marotte.basis.faults import CODES, BadInput
from marotte.creature.load import build
from marotte.creature.tree import dump, parse_text
from marotte.verdict.check import examine, to_json
from tests.bad.corpus import GOOD

ROOT = Path(__file__).resolve().parents[2]
FILES = [path.read_text(encoding="utf-8") for path in sorted((ROOT / "examples").glob("*/creature.yaml"))]
BITS = st.sampled_from(
    [
        "", " ", "\n", "\t", ":", "- ", "{", "}", "[", "]", ",", "#", "'", '"', "|", ">", "&a ", "*a", "!!x ", "%", "@", "?", "\\",
        "0", "-1", "1e9", "1e-9", ".nan", ".inf", "nan", "9**9", "null", "true", "yes", "~", " deg", " mm", " kg", "± 3 %", " ± -1",
        "\x00", "\x85", "\u2028", "\ufeff", "é", "١", "𝟙", "both", "left", "like: mini", "kind: servo", "value: 3", "source: guess",
    ]
)  # fmt: skip
COUNT = int(os.environ.get("MUTATIONS", "30"))
"""Of each kind; a run by hand takes thousands."""
EXAMPLES = settings(deadline=None, max_examples=COUNT, suppress_health_check=[HealthCheck.too_slow])


def read(text: str) -> None:
    """Read a text as a creature file; a refusal must name codes that exist, and places in the file."""
    try:
        build(parse_text(text), None)
    except BadInput as error:
        assert error.faults
        for fault in error.faults:
            assert fault.code in CODES
            assert fault.place is not None, str(fault)
            assert 1 <= fault.place.line <= text.count("\n") + text.count("\r") + 2
            assert fault.place.column >= 1
            assert str(fault).isprintable(), repr(str(fault))
            assert len(str(fault)) < 1000


@EXAMPLES
@given(st.data())
def test_letters_put_in_or_taken_out_are_read_or_refused(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from([GOOD, *FILES]))
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(text) - 1))
        length = data.draw(st.sampled_from([0, 0, 1, 1, 3, 12, 40]))
        text = text[:at] + data.draw(BITS) + text[at + length :]
    read(text)


@EXAMPLES
@given(st.data())
def test_lines_taken_out_doubled_or_swapped_are_read_or_refused(data: st.DataObject) -> None:
    lines = data.draw(st.sampled_from([GOOD, *FILES])).splitlines(keepends=True)
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(lines) - 1))
        other = data.draw(st.integers(0, len(lines) - 1))
        match data.draw(st.sampled_from(["out", "twice", "swap", "in", "move"])):
            case "out":
                lines[at] = ""
            case "twice":
                lines[at] += lines[at]
            case "swap":
                lines[at], lines[other] = lines[other], lines[at]
            case "in":
                lines[at] = "  " + lines[at]
            case _:
                lines[at] = lines[at].lstrip(" ")
    read("".join(lines))


VALUES = st.recursive(
    st.one_of(
        st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=12),
        st.sampled_from(["3 deg", "14 mm", "0 mm", "-5 mm", "jaw", "jaw_left", "both", "40 %", "1 N*m", "0.1 s/60deg", "2026-1"]),
    ),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.sampled_from(["kind", "value", "at", "x"]), inner, max_size=3)),
    max_leaves=5,
)  # fmt: skip


def _places(node: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [path] if path else []
    if isinstance(node, dict):
        for key, value in node.items():
            found += _places(value, (*path, key))
    elif isinstance(node, list):
        for index, value in enumerate(node):
            found += _places(value, (*path, index))
    return found


@EXAMPLES
@given(st.data())
def test_any_value_in_the_place_of_another_is_read_or_refused(data: st.DataObject) -> None:
    tree = parse_text(data.draw(st.sampled_from([GOOD, *FILES])))
    path = data.draw(st.sampled_from(_places(tree.data)))
    holder: Any = tree.data
    for step in path[:-1]:
        holder = holder[step]
    if data.draw(st.booleans()):
        holder[path[-1]] = data.draw(VALUES)
    else:
        del holder[path[-1]]
    try:
        text = dump(tree)
    except Exception:  # what the library cannot write, nobody can send  # noqa: BLE001
        return
    read(text)


@pytest.mark.parametrize("text", [GOOD, *FILES], ids=["good", "colm", "pip", "tansy"])
def test_every_prefix_of_a_file_is_read_or_refused(text: str) -> None:
    for stop in range(0, len(text), max(1, len(text) // 12)):
        read(text[:stop])


NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.])")
ODD_NUMBERS = [
    "0", "-0", "-1", "1e-12", "1e-300", "5e-324", "1e12", "1e300", "1e309", "999999999999999999999", "0x10", "0b1", "1_000", "1e",
    "+5", "1/3", "3,5", "1.2.3", "٣", "½", "٠", "1e5000", "0.0000000001", "1000000", "-1e-9", "00012", "1:30", "12:00:00",
    "2026-01-01",
]  # fmt: skip
NUMBERS = st.one_of(
    st.sampled_from(ODD_NUMBERS),
    st.floats(allow_nan=True, allow_infinity=True).map(repr),
    st.integers(-(10**40), 10**40).map(str),
)
ODD_NAMES = [
    "jäw", "下顎", "فك", "JAW", "jaw.a", "jaw/left", "jaw~1", "__init__", "con", "null", "yes", "1", "jaw_left", "left", "-", "*",
    "default", "stock:servos/mini", "..", "ﬀ", "🐇", "jaw\u200b", "jaẃ", "j a w", "a" * 200, "\u202ejaw", "x\ud7ff", "\u00a0",
]  # fmt: skip
NAMES = st.one_of(st.sampled_from(ODD_NAMES), st.text(min_size=1, max_size=8))
WORD = re.compile(r"\b[a-z][a-z_]{2,}\b")


@EXAMPLES
@given(st.data())
def test_numbers_that_are_huge_tiny_or_none_are_read_or_refused(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from([GOOD, *FILES]))
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.sampled_from(list(NUMBER.finditer(text)) or [re.match("", text)]))
        text = text[: at.start()] + data.draw(NUMBERS) + text[at.end() :]
    read(text)


@EXAMPLES
@given(st.data())
def test_names_in_any_script_here_or_everywhere_are_read_or_refused(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from([GOOD, *FILES]))
    word = data.draw(st.sampled_from(sorted(set(WORD.findall(text)))))
    becomes = data.draw(NAMES)
    everywhere = data.draw(st.booleans())
    read(re.sub(rf"\b{word}\b", lambda _: becomes, text, count=0 if everywhere else 1))


@EXAMPLES
@given(st.data())
def test_two_values_in_one_anothers_place_are_read_or_refused(data: st.DataObject) -> None:
    tree = parse_text(data.draw(st.sampled_from([GOOD, *FILES])))
    paths = [path for path in _places(tree.data) if len(path) > 1]
    one, other = data.draw(st.sampled_from(paths)), data.draw(st.sampled_from(paths))
    if one[: len(other)] == other or other[: len(one)] == one:
        return
    a, b = _holder(tree.data, one), _holder(tree.data, other)
    a[one[-1]], b[other[-1]] = b[other[-1]], a[one[-1]]
    read(dump(tree))


def _holder(node: Any, path: tuple[Any, ...]) -> Any:
    for step in path[:-1]:
        node = node[step]
    return node


@settings(deadline=None, max_examples=COUNT // 2, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_a_creature_with_strange_numbers_that_can_be_read_has_a_verdict_without_a_number_that_is_none(
    data: st.DataObject,
) -> None:
    text = GOOD
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.sampled_from(list(NUMBER.finditer(text))))
        factor = data.draw(st.sampled_from([0.0, 1e-6, 1e-3, 0.1, 0.5, 2.0, 10.0, 1e3, 1e6, -1.0]))
        text = text[: at.start()] + f"{float(at.group()) * factor:.6g}" + text[at.end() :]
    try:
        creature = build(parse_text(text), None)
    except BadInput:
        return
    done = examine(creature)
    json.dumps(to_json(done.verdict, done.workings, done.seconds), allow_nan=False)
    for item in done.verdict.findings:
        assert "nan" not in item.sentence.split(), item.sentence
        assert "defect of this program" not in item.sentence, item.sentence
