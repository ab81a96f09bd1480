"""Recordings made for tests: the machine speech of tests/published/machine_speech, put together and spoilt on purpose."""

from __future__ import annotations

import json
import wave
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from marotte.script.align import Wanted
from marotte.script.spoken import spoken
from marotte.script.utter import word_phones
from marotte.script.voices import I16, RATE, Voice, read_voice

MACHINE = Path(__file__).parents[1] / "published" / "machine_speech"
LABELS: dict[str, Any] = json.loads((MACHINE / "labels.json").read_text())


def machine(k: int) -> Voice:
    """Return one of the six machine-spoken sentences."""
    got = read_voice(MACHINE / LABELS["recordings"][k]["file"], LABELS["recordings"][k]["file"])
    assert isinstance(got, Voice)
    return got


def text(k: int) -> str:
    return str(LABELS["recordings"][k]["text"])


def want(number: int, words: str) -> Wanted:
    said = spoken(words).words
    return Wanted(line=number, said=said, words=word_phones(said, {})[0])


def hush(seconds: float, seed: int = 0, loud: float = 12.0) -> I16:
    """Return room noise."""
    return np.random.default_rng(seed).normal(0.0, loud, int(seconds * RATE)).astype(np.int16)


def joined(*pieces: I16) -> Voice:
    return Voice(name="voice/part.wav", pcm=np.concatenate(pieces))


def write_wav(path: Path, samples: NDArray[np.int16], rate: int = RATE, channels: int = 1) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(path), "wb") as out:
        out.setnchannels(channels)
        out.setsampwidth(2)
        out.setframerate(rate)
        out.writeframes(np.ascontiguousarray(samples, dtype="<i2").tobytes())
    return path
