from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.finding import ABSENT, Edit
from marotte.basis.faults import BadRequest, CannotSave
from marotte.creature import tree as tree_module
from marotte.creature.edit import apply, value_at
from marotte.creature.tree import Tree, dump, parse_text, read, save_text
from tests.creature.conftest import SMALL

Write = Callable[..., Path]
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def test_a_file_survives_reading_and_writing_byte_for_byte(write: Write) -> None:
    folder = write()
    assert dump(read(folder / "creature.yaml")) == SMALL


def test_who_reads_during_a_save_reads_the_old_text_whole(write: Write) -> None:
    file = write() / "creature.yaml"
    with file.open(encoding="utf-8") as reading:
        assert reading.read(10) == SMALL[:10]
        save_text(file, "marotte: 1\n")
        assert reading.read() == SMALL[10:]  # the file that was opened is not the one that was written
    assert file.read_text(encoding="utf-8") == "marotte: 1\n"


def test_the_ends_of_lines_survive_a_save(write: Write) -> None:
    file = write() / "creature.yaml"
    written = SMALL.replace("\n", "\r\n").encode()
    file.write_bytes(written)
    tree = read(file)
    apply(tree, [Edit(path="/functions/jaw/mech/horn", from_="14 mm", to="11 mm")])
    save_text(file, dump(tree))
    assert file.read_bytes() == written.replace(b"horn: 14 mm", b"horn: 11 mm")


def test_an_edit_changes_its_own_line_only() -> None:
    tree = parse_text(SMALL)
    apply(tree, [Edit(path="/functions/jaw/mech/horn", from_="14 mm", to="11 mm")])
    changed = [(a, b) for a, b in zip(SMALL.splitlines(), dump(tree).splitlines(), strict=True) if a != b]
    assert len(changed) == 1
    assert changed[0][1] == changed[0][0].replace("14 mm", "11 mm")


def test_an_edit_of_what_was_changed_meanwhile_is_refused_and_changes_nothing() -> None:
    tree = parse_text(SMALL)
    edits = [
        Edit(path="/functions/jaw/mech/horn", from_="14 mm", to="11 mm"),
        Edit(path="/functions/jaw/mech/rod", from_="60 mm", to="61 mm"),
    ]
    with pytest.raises(BadRequest, match="changed meanwhile"):
        apply(tree, edits)
    assert dump(tree) == SMALL


@pytest.mark.parametrize(
    "path", ["/functions/jaws/mech/horn", "functions", "", "/functions/jaw/travel/x", "/name/deeper"]
)
def test_a_path_that_is_not_there_is_refused(path: str) -> None:
    tree = parse_text(SMALL)
    with pytest.raises(BadRequest):
        apply(tree, [Edit(path=path, from_="a", to="b")])
    assert dump(tree) == SMALL


PATHS = st.sampled_from(
    [
        "/functions/jaw/mech/horn", "/functions/jaw/neutral", "/functions/jaw/travel/1", "/functions/jaw/load/mass", "/name",
        "/skins/cheek/strip/backing", "/masses/hair", "/functions/jaw/tells_at", "/servos/jaw_servo/mass", "/x_mine",
    ]
)  # fmt: skip
VALUES = st.sampled_from(["1 mm", "14 mm", 3, 0.5, True, {"value": "2 g", "source": "guess"}, [1, "2 mm"], ABSENT])


@settings(deadline=None, max_examples=25)
@given(st.lists(st.tuples(PATHS, VALUES), max_size=8))
def test_edits_taken_back_in_turn_leave_the_same_content(steps: list[tuple[str, object]]) -> None:
    tree = parse_text(SMALL)
    before = parse_text(SMALL).data
    backs = []
    for path, to in steps:
        if path.endswith("/1") and to is ABSENT:
            continue  # items of lists are changed, not taken out
        backs.append(apply(tree, [Edit(path=path, from_=value_at(tree, path), to=to)]))
        assert value_at(tree, path) == to or value_at(tree, path) is to
    for back in reversed(backs):
        apply(tree, back)
    assert tree.data == before
    assert parse_text(dump(tree)).data == before


@pytest.mark.parametrize("name", ["tansy", "pip", "colm"])
def test_whatever_is_taken_out_and_put_back_stands_where_it_stood(name: str) -> None:
    tree = read(EXAMPLES / name / "creature.yaml")
    before = dump(tree)
    paths = [f"/{section}" for section in tree.data]
    for _ in range(3):
        paths += [f"{path}/{key}" for path in paths for key in (_keys(tree, path)) if f"{path}/{key}" not in paths]
    for path in paths:
        back = apply(tree, [Edit(path=path, from_=value_at(tree, path), to=ABSENT)])
        assert value_at(tree, path) is ABSENT
        apply(tree, back)
        assert dump(tree) == before, path


def _keys(tree: Tree, path: str) -> list[str]:
    value = value_at(tree, path)
    return list(value) if isinstance(value, dict) else []


def test_a_failed_save_leaves_the_file_as_it_was(write: Write, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write() / "creature.yaml"

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tree_module.os, "fsync", full)
    with pytest.raises(CannotSave, match="No space left"):
        save_text(path, "name: lost\n")
    assert path.read_text() == SMALL
    assert [item.name for item in path.parent.iterdir()] == ["creature.yaml"]


def test_a_save_keeps_the_mode_of_the_file(write: Write) -> None:
    path = write() / "creature.yaml"
    path.chmod(0o640)
    save_text(path, "name: new\n")
    assert path.read_text() == "name: new\n"
    assert os.stat(path).st_mode & 0o777 == 0o640
