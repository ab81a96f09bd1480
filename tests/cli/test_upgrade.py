"""``marotte upgrade``: after a copy, comments kept; a file that is up to date is not touched."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from marotte.creature.load import load

Run = Callable[..., object]
DRAFT = """\
# mine
name: Hen  # her name
functions:
  jaw: {part: jaw, travel: [0 deg, 20 deg], means: {kind: screen}}
"""


def test_a_draft_is_brought_up_with_its_comments_and_a_copy_is_kept(tmp_path: Path, marotte: Run) -> None:
    path = tmp_path / "creature.yaml"
    path.write_text(DRAFT, encoding="utf-8")
    ran = marotte("upgrade", tmp_path)
    assert ran.code == 0
    text = path.read_text(encoding="utf-8")
    assert "marotte: 1" in text
    assert "# mine" in text
    assert "# her name" in text
    copies = [p for p in tmp_path.iterdir() if p != path]
    assert [p.read_text(encoding="utf-8") for p in copies] == [DRAFT]
    assert copies[0].name in ran.out
    assert load(tmp_path).name == "Hen"


def test_up_to_date_means_untouched(tmp_path: Path, marotte: Run) -> None:
    marotte("new", tmp_path / "hen")
    before = {p.name: (p.read_bytes(), p.stat().st_mtime_ns) for p in (tmp_path / "hen").iterdir()}
    ran = marotte("upgrade", tmp_path / "hen")
    assert ran.code == 0
    assert "nothing was changed" in ran.out
    assert {p.name: (p.read_bytes(), p.stat().st_mtime_ns) for p in (tmp_path / "hen").iterdir()} == before


@pytest.mark.parametrize(
    "text", ["marotte: 99\nname: X\n", "marotte: 0\nname: X\nfunctions: {jaw: {part: nowhere}}\n", "}{"]
)
def test_what_would_not_be_read_afterwards_is_left_alone(text: str, tmp_path: Path, marotte: Run) -> None:
    (tmp_path / "creature.yaml").write_text(text, encoding="utf-8")
    assert marotte("upgrade", tmp_path).code == 2
    assert [p.name for p in tmp_path.iterdir()] == ["creature.yaml"]
    assert (tmp_path / "creature.yaml").read_text(encoding="utf-8") == text
