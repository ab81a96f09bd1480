"""Runs an installed speech program for one request of the scratch voice's protocol: ``python -m ... flite`` or ``espeak-ng``.

A program of its own: it only starts another program and hands on what that writes. See docs/methods/scratch-voice.md.
"""

from __future__ import annotations

import io
import json
import subprocess
import sys
import tempfile
import wave
from pathlib import Path


def command(name: str, text: Path, pace: float, out: Path) -> list[str]:
    """Return how a known program is told to speak a file of text into a WAV file, at a pace [syllables/s]."""
    if name == "flite":
        return [
            "flite",
            "-f",
            str(text),
            "-o",
            str(out),
            "-voice",
            "slt",
            "--setf",
            f"duration_stretch={min(max(4.6 / pace, 0.3), 3.0):.3f}",
        ]
    if name == "espeak-ng":
        words = min(max(round(pace * 60 / 1.4), 80), 450)  # 1.4 syllables a word in running English
        return ["espeak-ng", "-v", "en-us", "-s", str(words), "-w", str(out), "-f", str(text)]
    raise ValueError(f"no program {name!r} is known here")


def main() -> None:
    """Read a request, speak it, write the answer."""
    answer = sys.stdout.buffer
    try:
        request = json.loads(sys.stdin.readline())
        with tempfile.TemporaryDirectory() as folder:
            text, out = Path(folder) / "line.txt", Path(folder) / "line.wav"
            text.write_text(str(request["text"]), encoding="utf-8")
            subprocess.run(  # noqa: S603 - a list of ours
                command(sys.argv[1], text, float(request["syllables_per_second"]), out), check=True, capture_output=True
            )
            with wave.open(io.BytesIO(out.read_bytes())) as sound:
                if sound.getsampwidth() != 2 or sound.getnchannels() != 1:
                    raise ValueError("the program's sound is not 16 bit mono")
                rate, samples = sound.getframerate(), sound.readframes(sound.getnframes())
    except (ValueError, KeyError, IndexError, OSError, EOFError, wave.Error, subprocess.SubprocessError) as error:
        answer.write(json.dumps({"error": str(error)}).encode() + b"\n")
        return
    answer.write(json.dumps({"rate": rate, "samples": len(samples) // 2}).encode() + b"\n" + samples)


if __name__ == "__main__":
    main()
