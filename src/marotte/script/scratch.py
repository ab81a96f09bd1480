"""A scratch voice: an engine that the user installs speaks the lines that have no recording.

The engine is a program of its own, under its own licence; we talk to it over pipes and link nothing. One process a line, so that
the same line gives the same sound whatever was spoken before. The protocol (docs/methods/scratch-voice.md):

    to it:    one line of JSON   {"marotte_voice": 1, "text": "...", "syllables_per_second": 4.6}
    from it:  one line of JSON   {"rate": 22050, "samples": 51200}   or   {"error": "..."}
              then the samples, 16 bit, little endian, one channel
"""

from __future__ import annotations

import json
import os
import shlex
import shutil
import subprocess
import sys
import tempfile
import wave
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from marotte.basis.faults import Fault, short
from marotte.creature.creature import Creature
from marotte.script.casting import Entry, cast
from marotte.script.fountain import plain, read
from marotte.script.recordings import holds

ENGINES: Final = ("flite", "espeak-ng")
"""Programs that ``scratch_helper`` can run, the first that is installed is used."""
PATIENCE_S: Final = 60.0
LONGEST_S: Final = 600.0
PREFIX: Final = "scratch"
"""Recordings of this name give way to any other of the same line."""


def engine() -> list[str] | None:
    """Return the command of the user's engine: MAROTTE_VOICE_ENGINE, else an installed program that we know; None without one."""
    if own := os.environ.get("MAROTTE_VOICE_ENGINE"):
        return shlex.split(own)
    found = next((name for name in ENGINES if shutil.which(name)), None)
    return None if found is None else [sys.executable, "-m", "marotte.script.scratch_helper", found]


def speak(text: str, pace: float, command: Sequence[str]) -> tuple[bytes, int] | Fault:
    """Return (16 bit little-endian mono samples, rate) of a spoken text, or why there are none.

    Args:
        text: plain, without marks.
        pace: syllables a second [1/s].
        command: the engine's program and its arguments.
    """
    request = json.dumps({"marotte_voice": 1, "text": text, "syllables_per_second": pace}) + "\n"
    try:
        done = subprocess.run(  # noqa: S603 - the user's own program
            list(command), input=request.encode(), capture_output=True, timeout=PATIENCE_S, check=False
        )
    except OSError as error:
        return _fault(f"the voice engine {short(command[0])!r} cannot be started: {error.strerror or error}")
    except subprocess.TimeoutExpired:
        return _fault(f"the voice engine took more than {PATIENCE_S:.0f} s over one line")
    head, _, sound = done.stdout.partition(b"\n")
    try:
        header: Any = json.loads(head[:65536])
        if "error" in header:
            return _fault(f"the voice engine says: {short(header['error'])}")
        rate, samples = int(header["rate"]), int(header["samples"])
    except (ValueError, KeyError, TypeError):
        said = done.stderr.decode(errors="replace").strip().splitlines()
        return _fault("the voice engine gives no sound" + (f": {short(said[-1])}" if said else ""))
    if not 4_000 <= rate <= 192_000 or not 0 < samples <= rate * LONGEST_S or len(sound) < 2 * samples:
        return _fault("the voice engine gives a sound that cannot be used")
    return sound[: 2 * samples], rate


def speak_part(creature: Creature, folder: Path, progress: Callable[[str], None] | None = None) -> tuple[Fault, ...]:
    """Let the user's engine speak every line of a creature that has no recording; return what went wrong, nothing where all went well.

    Args:
        creature: with its script.
        folder: its ``voice`` folder; made if it is not there.
        progress: called with a line's name before it is spoken.
    """
    command = engine()
    if command is None:
        what = "no machine voice is installed: lines without a recording are timed by rule"
        return (
            Fault(
                code="voice",
                what=what,
                try_=f"install {' or '.join(ENGINES)}, or set MAROTTE_VOICE_ENGINE to a command",
            ),
        )
    if creature.script_text is None:
        return ()
    entries, _ = cast(read(creature.script_text, creature.script_name), creature.brief)
    recordings = {name: recording.path for name, recording in creature.recordings.items()}
    return speak_missing(entries, recordings, folder, command, progress)[1]


def speak_missing(
    entries: Sequence[Entry],
    recordings: Mapping[str, Path],
    folder: Path,
    command: Sequence[str],
    progress: Callable[[str], None] | None = None,
) -> tuple[tuple[Path, ...], tuple[Fault, ...]]:
    """Write ``scratch-012.wav`` into a folder for every line that no recording is named for; stop at the first fault.

    Args:
        entries: from ``cast``.
        recordings: stem -> file, what there is; scratch recordings are spoken again.
        folder: the creature's ``voice`` folder; made if it is not there.
        command: the engine, from ``engine``.
        progress: called with a line's name before it is spoken.
    """
    spans = [holds(stem, len(entries)) for stem in recordings if not stem.startswith(PREFIX)]
    taken = {n for span in spans if span is not None for n in range(span[0], span[1] + 1)}
    out: list[Path] = []
    for number, entry in enumerate(entries, 1):
        text = plain(entry.speech.text)
        if number in taken or not text.strip():
            continue
        if progress is not None:
            progress(f"line {number}")
        got = speak(text, entry.ask.pace, command)
        if isinstance(got, Fault):
            return tuple(out), (got,)
        path = folder / f"{PREFIX}-{number:03d}.wav"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            _write(path, *got)
        except OSError as error:
            return tuple(out), (_fault(f"{short(path.name)} cannot be written: {error.strerror or error}"),)
        out.append(path)
    return tuple(out), ()


def _write(path: Path, sound: bytes, rate: int) -> None:
    handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    with os.fdopen(handle, "wb") as file, wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(rate)
        out.writeframes(sound)
    Path(name).replace(path)


def _fault(what: str) -> Fault:
    return Fault(code="voice", what=what)
