"""The scratch voice: the protocol with engines made for the test, good and bad; a real one where it is installed."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import pytest

from marotte.basis.faults import Fault
from marotte.creature.schema.brief import Brief
from marotte.script import fountain
from marotte.script.casting import Entry, cast
from marotte.script.lines import lines
from marotte.script.scratch import engine, speak, speak_missing
from tests.script.sound import machine, text, write_wav

GOOD = """
import json, sys
request = json.loads(sys.stdin.readline())
assert request["marotte_voice"] == 1
samples = b"\\x10\\x20" * round(1000 * request["syllables_per_second"])
sys.stdout.buffer.write(json.dumps({"rate": 16000, "samples": len(samples) // 2}).encode() + b"\\n" + samples)
"""


def made(tmp_path: Path, code: str) -> list[str]:
    path = tmp_path / "engine.py"
    path.write_text(code)
    return [sys.executable, str(path)]


def test_an_engine_is_heard(tmp_path: Path) -> None:
    assert speak("Hello.", 4.0, made(tmp_path, GOOD)) == (b"\x10\x20" * 4000, 16000)


@pytest.mark.parametrize(
    ("code", "what"),
    [
        ("", "gives no sound"), ("print('hello')", "gives no sound"), ("raise SystemExit('no voice here')", "no voice here"),
        ("print('{\"error\": \"no such voice\"}')", "no such voice"), ("print('{\"rate\": 16000, \"samples\": 10}')", "cannot be used"),
        ("print('{\"rate\": 1, \"samples\": 10}')", "cannot be used"), ("print('[]')", "gives no sound"), ("print('7')", "gives no sound"),
        ("print('{\"rate\": 16000, \"samples\": -5}')", "cannot be used"),
    ],
)  # fmt: skip
def test_a_bad_engine_gives_one_message(tmp_path: Path, code: str, what: str) -> None:
    got = speak("Hello.", 4.0, made(tmp_path, code))
    assert isinstance(got, Fault)
    assert what in got.what


def test_an_engine_that_is_not_there_is_told() -> None:
    got = speak("Hello.", 4.0, ["/nowhere/engine"])
    assert isinstance(got, Fault)
    assert "cannot be started" in got.what


SCRIPT = f"TANSY\n{text(0)}\n\nTANSY\n(nods)\n\nTANSY\n{text(2)}\n"
BRIEF = Brief(script="s", cue="TANSY")


def entries() -> tuple[Entry, ...]:
    return cast(fountain.read(SCRIPT, "s"), BRIEF)[0]


def test_only_lines_without_a_recording_are_spoken(tmp_path: Path) -> None:
    paths, faults = speak_missing(entries(), {"1": tmp_path / "1.wav"}, tmp_path / "voice", made(tmp_path, GOOD))
    assert faults == ()
    assert [p.name for p in paths] == ["scratch-003.wav"]
    assert not list((tmp_path / "voice").glob("*.part"))


def test_a_true_recording_comes_before_a_scratch_one(tmp_path: Path) -> None:
    true = write_wav(tmp_path / "voice" / "3.wav", machine(2).pcm)
    scratch = write_wav(tmp_path / "voice" / "scratch-003.wav", machine(0).pcm)
    got = lines(SCRIPT, "s", BRIEF, {"3": true, "scratch-003": scratch}, tmp_path / "cache")
    assert [s.from_recording for s in got.lines] == [False, False, True]


def test_the_users_own_engine_is_taken_from_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("MAROTTE_VOICE_ENGINE", "my-engine --voice 'old hare'")
    assert engine() == ["my-engine", "--voice", "old hare"]


@pytest.mark.skipif(shutil.which("flite") is None, reason="flite is not installed: apt-get install flite")
def test_an_installed_program_speaks_a_line_that_is_then_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("MAROTTE_VOICE_ENGINE", raising=False)
    command = engine()
    assert command is not None
    paths, faults = speak_missing(entries(), {}, tmp_path / "voice", command)
    assert faults == ()
    got = lines(SCRIPT, "s", BRIEF, {p.stem: p for p in paths}, tmp_path / "cache")
    assert [s.from_recording for s in got.lines] == [True, False, True]
    assert all(s.quality is None or s.quality > 0.8 for s in got.lines)
