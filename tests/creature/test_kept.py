"""An edit builds again what it touched: the rest are the same objects, and the creature is that of a fresh build."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from marotte.basis.contracts.finding import ABSENT, Edit
from marotte.basis.digest import digest
from marotte.basis.faults import BadInput
from marotte.creature.creature import Creature
from marotte.creature.edit import apply, value_at
from marotte.creature.kept import Kept
from marotte.creature.load import build
from marotte.creature.tree import Tree, parse_text
from tests.creature.conftest import SMALL


def edited(tree: Tree, path: str, to: Any) -> None:
    apply(tree, [Edit(path=path, from_=value_at(tree, path), to=to)])


def content(creature: Creature) -> dict[str, Any]:
    """Return everything of a creature, with the refs of its records and where they stand."""
    out = {field.name: getattr(creature, field.name) for field in fields(Creature) if field.compare}
    out["places"] = [creature.place(ref) for function in creature.functions.values() for ref in sorted(function.refs())]
    out["refs"] = {name: sorted(function.refs()) for name, function in creature.functions.items()}
    out["order"] = {name: list(creature.functions) for name in ("functions",)}
    return out


EDITS: list[tuple[str, Any]] = [
    ("/functions/jaw/mech/horn", "11 mm"),
    ("/functions/jaw/mech/horn", "14 mm"),
    ("/functions/jaw/neutral", "0 deg"),
    ("/functions/lid_upper/sides", "left"),
    ("/functions/lid_upper/sides", "both"),
    ("/functions/source", "measured"),
    ("/servos/jaw_servo/like", "standard"),
    ("/functions/lid_upper/means/model", "micro_fast"),
    ("/skins/cheek/sculpted_at/jaw", "8 deg"),
    ("/masses/paint_and_glue", "300 g"),
    ("/supply/leads/face/awg", 26),
    ("/functions/source", ABSENT),
    ("/masses/paint_and_glue", ABSENT),
]


def test_after_any_edit_the_creature_is_that_of_a_fresh_build() -> None:
    tree, kept = parse_text(SMALL), Kept()
    build(tree, None, kept)
    for path, to in EDITS:
        edited(tree, path, to)
        assert content(build(tree, None, kept)) == content(build(tree, None)), path


def test_what_is_not_touched_is_the_same_object() -> None:
    tree, kept = parse_text(SMALL), Kept()
    before = build(tree, None, kept)
    edited(tree, "/functions/jaw/mech/horn", "11 mm")
    after = build(tree, None, kept)
    assert after.functions["jaw"] is not before.functions["jaw"]
    assert after.mechs["jaw"].record.horn == pytest.approx(0.011)  # type: ignore[union-attr]
    for name in set(before.functions) - {"jaw"}:
        assert after.functions[name] is before.functions[name]
        assert after.mechs[name] is before.mechs[name]
    for name, skin in before.skins.items():
        assert after.skins[name] is skin
    assert after.poses is before.poses
    assert after.points is before.points


def test_the_order_of_keys_counts_as_written() -> None:
    tree, kept = parse_text(SMALL), Kept()
    first = list(build(tree, None, kept).functions)
    written = value_at(tree, "/functions/jaw")
    edited(tree, "/functions/jaw", ABSENT)
    edited(tree, "/functions/jaw", written)
    after = list(build(tree, None, kept).functions)
    assert after == list(build(tree, None).functions) != first


def test_a_fault_is_found_each_time_and_leaves_nothing_behind() -> None:
    tree, kept = parse_text(SMALL), Kept()
    before = build(tree, None, kept)
    for _ in range(2):
        for path, wrong in (
            ("/functions/lid_upper/sides", "upper"),
            ("/functions/jaw/mech/horn", "14 furlong"),
            ("/functions/jaw/means/model", "no_such"),
            ("/skins/cheek/holds/jaw", None),
        ):
            right = value_at(tree, path)
            edited(tree, path, wrong)
            with pytest.raises(BadInput) as kept_says:
                build(tree, None, kept)
            with pytest.raises(BadInput) as fresh_says:
                build(tree, None)
            assert str(kept_says.value) == str(fresh_says.value)
            edited(tree, path, right)
    assert content(build(tree, None, kept)) == content(before)


def test_a_number_written_otherwise_is_read_again() -> None:
    """22 and 22.0 are equal to Python, and not to the file: the gauge of a wire is a whole number."""
    tree, kept = parse_text(SMALL), Kept()
    build(tree, None, kept)
    edited(tree, "/supply/leads/face/awg", 22)
    build(tree, None, kept)
    edited(tree, "/supply/leads/face/awg", 22.5)
    with pytest.raises(BadInput):
        build(tree, None, kept)


def test_a_recording_that_changed_is_hashed_again(tmp_path: Path) -> None:
    tree, kept = parse_text(SMALL), Kept()
    voice = tmp_path / "voice"
    voice.mkdir()
    (voice / "01.wav").write_bytes(b"one")
    first = build(tree, tmp_path, kept).recordings["01"]
    assert build(tree, tmp_path, kept).recordings["01"] == first
    (voice / "01.wav").write_bytes(b"three")
    second = build(tree, tmp_path, kept).recordings["01"]
    assert digest(second) != digest(first)
    assert second == build(tree, tmp_path).recordings["01"]
