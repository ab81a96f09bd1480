"""Every hostile input gets one clear message with its place, exit code 2, no traceback, and nothing is written."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from marotte.basis.faults import CODES, short
from marotte.cli.main import main
from marotte.creature.load import load
from tests.bad import more
from tests.bad.corpus import CHANGES as FIRST
from tests.bad.corpus import FOLDERS, GOOD, TEXTS, Bad

CHANGES = {**FIRST, **more.NUMBERS, **more.PLACES, **more.ONCE}

CASES = [
    *(pytest.param(name, id=name) for name in TEXTS),
    *(pytest.param(name, id=name) for name in CHANGES),
    *(pytest.param(name, id=name) for name in FOLDERS),
]


def prepared(name: str, folder: Path) -> tuple[Path, Bad]:
    if name in FOLDERS:
        make, bad = FOLDERS[name]
        return make(folder), bad
    if name in TEXTS:
        text, bad = TEXTS[name]
    else:
        written, becomes, bad = CHANGES[name]
        assert GOOD.count(written) >= 1, f"{written!r} is no longer in the good file"
        text = GOOD.replace(written, becomes, 1)
    (folder / "creature.yaml").write_text(text, encoding="utf-8")
    return folder, bad


def seen(folder: Path) -> dict[str, tuple[int, int, int]]:
    """Return what lies below a folder: name -> mode, size, time of change."""
    found = {}
    for path in sorted(folder.rglob("*")):
        stat = os.lstat(path)
        found[str(path.relative_to(folder))] = (stat.st_mode, stat.st_size, stat.st_mtime_ns)
    return found


def test_the_good_file_is_good(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "creature.yaml").write_text(GOOD, encoding="utf-8")
    assert main(["check", str(tmp_path)]) in (0, 1), capsys.readouterr().err


def test_there_are_enough_of_them() -> None:
    assert len(CASES) >= 100
    codes = {bad.code for *_, bad in (*TEXTS.values(), *CHANGES.values(), *FOLDERS.values())}
    assert codes <= set(CODES)
    assert len(codes) >= 17


@pytest.mark.parametrize("name", CASES)
def test_bad_input_is_told_with_its_place_and_nothing_is_written(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, bad = prepared(name, tmp_path)
    before = seen(tmp_path)
    assert main(["check", str(folder), "--json"]) == 2
    said = capsys.readouterr()
    assert "Traceback" not in said.err
    assert "Marotte itself failed" not in said.err, said.err
    faults = json.loads(said.out)["faults"]
    fitting = [fault for fault in faults if fault["code"] == bad.code]
    assert fitting, [f"{fault['code']}: {fault['what']} ({fault['line']})" for fault in faults]
    if bad.line is not None:
        assert [fault for fault in fitting if fault["line"] == bad.line], [(f["line"], f["what"]) for f in fitting]
    if bad.says:
        assert bad.says in said.err
    assert all(len(line) < 700 for line in said.err.splitlines()), "a message for a person is not that long"
    assert len(faults) <= bad.most, "one thing is wrong; it is told once, not with all that follows from it"
    assert seen(tmp_path) == before


@pytest.mark.parametrize("about", ["2 people work it from below " * 6, "-" * 150, "7-" * 60, '"' + "7" * 150 + '"'])
def test_a_long_text_that_begins_like_a_number_is_a_text(about: str, tmp_path: Path) -> None:
    (tmp_path / "creature.yaml").write_text(GOOD.replace("seed: 3", f"about: {about}\nseed: 3"), encoding="utf-8")
    assert load(tmp_path).about == about.strip().strip('"')


def test_a_whole_number_without_end_is_told_in_words() -> None:
    assert short(10**5000) == "a number without end"


def test_a_folder_without_a_creature_is_called_by_its_name_not_by_dots(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    inner = tmp_path / "marsh" / "inner"
    inner.mkdir(parents=True)
    monkeypatch.chdir(inner)
    assert main(["check", ".."]) == 2
    assert "there is no creature.yaml in marsh" in capsys.readouterr().err
    assert main(["check", "."]) == 2
    assert "there is no creature.yaml in inner" in capsys.readouterr().err
