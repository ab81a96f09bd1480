"""``marotte script --speak``: the user's own machine voice speaks what nobody has recorded; without one the part works as before."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.script.sound import machine, text

PIP = Path(__file__).resolve().parents[2] / "examples" / "pip"
ENGINE = """
import json, pathlib, sys
request = json.loads(sys.stdin.readline())
here = pathlib.Path(__file__).parent
sound = (here / (request["text"][:8].strip() + ".raw")).read_bytes()
sys.stdout.buffer.write(json.dumps({"rate": 16000, "samples": len(sound) // 2}).encode() + b"\\n" + sound)
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Pip with two lines of ours, of which an engine knows the sound."""
    monkeypatch.setenv("MAROTTE_CACHE", str(tmp_path / "cache"))
    monkeypatch.delenv("MAROTTE_VOICE_ENGINE", raising=False)
    shutil.copytree(PIP, tmp_path / "pip")
    (tmp_path / "pip" / "script.fountain").write_text(f"PIP\n{text(0)}\n\nPIP\n{text(2)}\n", encoding="utf-8")
    for k in (0, 2):
        (tmp_path / f"{text(k)[:8].strip()}.raw").write_bytes(machine(k).pcm.tobytes())
    (tmp_path / "engine.py").write_text(ENGINE, encoding="utf-8")
    return tmp_path / "pip"


def test_an_engine_speaks_the_lines_and_they_are_timed_by_it(
    folder: Path, marotte: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MAROTTE_VOICE_ENGINE", f"{sys.executable} {folder.parent / 'engine.py'}")
    ran = marotte("script", folder, "--speak", "--json")
    assert sorted(path.name for path in (folder / "voice").iterdir()) == ["scratch-001.wav", "scratch-002.wav"]
    part = json.loads(ran.out)
    assert part["recorded"] == 2
    assert all(line["quality"] > 0.8 for line in part["lines"])
    shown = marotte("script", folder).out  # from then on they are recordings like any other
    assert "heard" in shown
    assert "by rule" not in shown


def test_without_an_engine_the_part_works_by_rule_and_says_so(
    folder: Path, marotte: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(folder.parent))
    ran = marotte("script", folder, "--speak")
    assert ran.code == 0
    assert "no machine voice is installed" in ran.out
    assert "Traceback" not in ran.err
    assert not (folder / "voice").exists()


def test_an_engine_that_fails_is_one_message(
    folder: Path, marotte: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MAROTTE_VOICE_ENGINE", "/nowhere/engine")
    ran = marotte("script", folder, "--speak")
    assert ran.code == 0
    assert ran.out.count("cannot be started") == 1
