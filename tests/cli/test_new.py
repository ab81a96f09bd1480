"""``marotte new``: every kind is a creature that reads and checks, and nothing is ever overwritten."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from marotte.cli.commands.new import KINDS
from marotte.creature.load import load

Run = Callable[..., object]


@pytest.mark.parametrize("kind", KINDS)
def test_a_new_creature_of_every_kind_reads_without_a_fault(kind: str, tmp_path: Path, marotte: Run) -> None:
    folder = tmp_path / "grey_hen"
    ran = marotte("new", folder, "--kind", kind)
    assert ran.code == 0
    assert f"marotte check {folder}" in ran.out
    creature = load(folder)
    assert creature.name == "Grey hen"
    assert creature.brief.cue == "GREY HEN"
    assert creature.script_text is not None
    assert "GREY HEN\n" in creature.script_text
    assert "@" not in (folder / "creature.yaml").read_text(encoding="utf-8")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["grey_hen"]


@pytest.mark.parametrize("kind", KINDS)
def test_a_new_creature_gets_a_verdict_at_once_and_none_of_it_is_a_failure_of_mechs(
    kind: str, tmp_path: Path, marotte: Run
) -> None:
    marotte("new", tmp_path / "a hen", "--kind", kind)
    ran = marotte("check", tmp_path / "a hen", "--all")
    assert ran.code in (0, 1)
    assert ran.out.startswith("A hen\n")
    assert "performs" in ran.out
    assert "cannot be joined" not in ran.out
    assert "not understood" not in ran.out


@pytest.mark.parametrize("name", ["", "   ", "...", "123", "a" * 61, "bad\nname", "x\x00y"])
def test_a_name_that_is_none_is_refused_and_nothing_is_made(
    name: str, tmp_path: Path, marotte: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = marotte("new", name)
    assert ran.code == 2
    assert "cannot be a creature's name" in ran.err
    assert list(tmp_path.iterdir()) == []


def test_what_is_there_already_stays_as_it_is(tmp_path: Path, marotte: Run) -> None:
    (tmp_path / "hen").mkdir()
    (tmp_path / "hen" / "mine.txt").write_text("mine")
    ran = marotte("new", tmp_path / "hen")
    assert ran.code == 2
    assert "there already" in ran.err
    assert [path.name for path in (tmp_path / "hen").iterdir()] == ["mine.txt"]


def test_a_missing_place_is_said_and_not_made(tmp_path: Path, marotte: Run) -> None:
    ran = marotte("new", tmp_path / "no" / "hen")
    assert ran.code == 2
    assert "there is no folder" in ran.err
    assert list(tmp_path.iterdir()) == []


def test_names_with_quotes_and_other_scripts_are_written_so_that_they_read_back(tmp_path: Path, marotte: Run) -> None:
    for name in ('the "old" hen', "krähe", "O'Hen # 2", "yes: no"):
        assert marotte("new", tmp_path / name).code == 0
        assert load(tmp_path / name).name.casefold() == name.casefold()
