"""A creature from anybody: what stands in its file is shown, and steers nothing."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.cli.test_screen import STEERS

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
Run = Callable[..., Any]
EVIL = r"\x1b[31mP\a\u202e"


@pytest.fixture
def evil(tmp_path: Path) -> Path:
    """Return a creature whose name, mass and cue are full of control characters."""
    folder = tmp_path / "evil\x1b[2J"
    shutil.copytree(EXAMPLES / "pip", folder)
    file = folder / "creature.yaml"
    text = file.read_text(encoding="utf-8")
    for old, new in (
        ("name: Pip\n", f'name: "{EVIL}"\n'),
        ("  rods: {mass", f'  rods: {{mass: 30 g, from: "{EVIL}"}}\n  "{EVIL}": {{mass'),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")
    return folder


@pytest.mark.parametrize("words", [("check",), ("check", "--json"), ("check", "--all"), ("script",)])
def test_a_name_that_would_steer_the_terminal_is_written_out(words: tuple[str, ...], evil: Path, marotte: Run) -> None:
    done = marotte(words[0], evil, *words[1:])
    assert not STEERS.findall(done.out + done.err)
    assert r"\x1b[31mP" in done.out + done.err or r"\u001b[31mP" in done.out


def test_what_was_typed_is_written_out_where_it_is_refused(marotte: Run) -> None:
    done = marotte("check", "tansy", "\x1b[31mmore")
    assert r"\x1b[31mmore" in done.err
    assert not STEERS.findall(done.err)


def test_json_of_such_a_name_reads_back_as_it_was_written(tmp_path: Path, marotte: Run) -> None:
    shutil.copytree(EXAMPLES / "pip", tmp_path / "pip")
    file = tmp_path / "pip" / "creature.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("name: Pip\n", f'name: "{EVIL}"\n'), encoding="utf-8")
    out = marotte("check", tmp_path / "pip", "--json").out
    assert json.loads(out)["creature"] == "\x1b[31mP\a\u202e"
    assert r"\u001b[31mP\u0007\u202e" in out
