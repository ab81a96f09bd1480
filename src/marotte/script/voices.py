"""Recordings: WAV, FLAC, OGG Vorbis (and MP3) of any rate, to 16 kHz mono as the recogniser wants it.

Decoded in blocks by miniaudio (MIT; docs/decisions/0011-voices.md), so that half an hour at 48 kHz never stands in memory
whole: what is kept is 16 kHz, 16 bit, 1.9 MB a minute.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import gcd
from pathlib import Path
from typing import Any, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from marotte.basis.contracts.common import Told
from marotte.basis.faults import Fault, short

RATE: Final = 16_000
"""Samples a second after reading."""
LONGEST_S: Final = 3600.0
SHORTEST_S: Final = 0.1
LOWEST_RATE: Final = 4_000
HIGHEST_RATE: Final = 384_000
SILENT_DB: Final = -60.0
"""A recording whose loudest tenth of a second stays below this holds no voice."""
CLIPPED_SHARE: Final = 5e-4
"""Of the samples, at full scale in runs of three or more: above this the recording is called clipped."""
ENDINGS: Final = (".wav", ".flac", ".ogg", ".oga", ".mp3")
BLOCK_S: Final = 10.0

I16: TypeAlias = NDArray[np.int16]


@dataclass(frozen=True, slots=True, kw_only=True)
class Voice:
    """A recording as the recogniser hears it."""

    name: str
    pcm: I16
    """(n,) samples at 16 kHz, mono."""
    told: tuple[Told, ...] = ()

    @property
    def seconds(self) -> float:
        """Length [s]."""
        return len(self.pcm) / RATE


def read_voice(path: Path, name: str) -> Voice | Fault:
    """Return a recording, or the one thing why it cannot be used.

    Args:
        path: the file.
        name: as people know it, "voice/12.wav".
    """
    try:
        size = path.stat().st_size
    except OSError as error:
        return _fault(name, f"the recording cannot be opened: {error.strerror or error}")
    if not path.is_file():
        return _fault(name, "a folder stands where a recording should be")
    if size == 0:
        return _fault(name, "the recording is empty")
    import miniaudio  # heavy: only when there is a recording

    try:
        info = miniaudio.get_file_info(str(path))
    except (miniaudio.MiniaudioError, ValueError, OSError):
        return _fault(name, "this is no recording that can be read", try_="export it as WAV, FLAC or OGG Vorbis")
    if not LOWEST_RATE <= info.sample_rate <= HIGHEST_RATE:
        return _fault(
            name, f"{info.sample_rate} samples a second cannot be used", allowed=f"{LOWEST_RATE} to {HIGHEST_RATE}"
        )
    if info.duration > LONGEST_S:
        what = f"{_length(info.duration)} is longer than a recording may be"
        return _fault(name, what, allowed=f"at most {_length(LONGEST_S)}", try_="cut it into scenes")
    try:
        pcm, clipped = _mono(miniaudio, path, info.sample_rate, info.nchannels)
    except (miniaudio.MiniaudioError, ValueError, OSError):
        return _fault(name, "the recording breaks off before its first sound", try_="export it again")
    return _judged(name, pcm, clipped, info, _cut_short(path, size, info, len(pcm)))


def _judged(name: str, pcm: I16, clipped: float, info: Any, missing_s: float) -> Voice | Fault:
    seconds = len(pcm) / RATE
    if seconds < SHORTEST_S:
        return _fault(name, f"the recording lasts {seconds:.2f} s: too short for a word")
    loudest = loudest_db(pcm)
    if loudest < SILENT_DB:
        return _fault(name, f"the recording is silent: nothing louder than {loudest:.0f} dB")
    told = []
    if missing_s > 0.05:
        told.append(f"{name} breaks off: {missing_s:.1f} s of it are missing; what is there is used")
    if clipped > CLIPPED_SHARE:
        told.append(
            f"{name} is clipped ({clipped:.1%} of it at full scale): loudness is not to be trusted; record it again at a lower level"
        )
    if info.sample_rate < RATE:
        told.append(
            f"{name} has {info.sample_rate / 1000:g} kHz: hisses cannot be told apart, phone times are less sure; 16 kHz or more is wanted"
        )
    if info.nchannels > 2:
        told.append(f"{name} has {info.nchannels} channels, mixed to one; the voice alone would be better")
    return Voice(name=name, pcm=pcm, told=tuple(Told(code="voice", sentence=sentence) for sentence in told))


def loudest_db(pcm: I16) -> float:
    """Return the level of the loudest tenth of a second [dB of full scale]."""
    step = RATE // 10
    worst = 0.0
    for start in range(0, max(len(pcm) - step, 0) + 1, step):
        block = pcm[start : start + step].astype(np.float64)
        worst = max(worst, float(np.mean(block * block)) if len(block) else 0.0)
    return 10 * float(np.log10(max(worst, 1e-3) / 32768.0**2))


def _fault(name: str, what: str, allowed: str = "", try_: str = "") -> Fault:
    return Fault(
        code="voice",
        what=f"{short(name)}: {what}",
        allowed=allowed,
        try_=try_,
    )


def _length(seconds: float) -> str:
    minutes = int(seconds // 60)
    return f"{minutes // 60} h {minutes % 60} min" if minutes >= 60 else f"{minutes} min"


def _cut_short(path: Path, size: int, info: Any, samples: int) -> float:
    """Return how much the header promises and the file does not hold [s]."""
    promised = info.duration
    with path.open("rb") as file:
        head = file.read(12)
        if head[:4] == b"RIFF" and head[8:12] == b"WAVE":
            missing = int.from_bytes(head[4:8], "little") + 8 - size
            frame = max(info.nchannels * max(info.sample_width, 1), 1)
            return max(missing, 0) / frame / info.sample_rate if missing < 1 << 31 else 0.0
    return max(promised - samples / RATE, 0.0) if promised else 0.0


def _mono(miniaudio: Any, path: Path, rate: int, channels: int) -> tuple[I16, float]:
    """Return 16 kHz mono samples and the share of full-scale samples."""
    frames = max(int(rate * BLOCK_S), 1)
    stream = miniaudio.stream_file(
        str(path),
        output_format=miniaudio.SampleFormat.FLOAT32,
        nchannels=channels,
        sample_rate=rate,
        frames_to_read=frames,
    )
    clipped = total = 0

    def blocks() -> Iterator[NDArray[np.float32]]:
        nonlocal clipped, total
        for raw in stream:
            block = np.frombuffer(raw, dtype=np.float32).reshape(-1, channels)
            block = np.nan_to_num(block, nan=0.0, posinf=1.0, neginf=-1.0)
            full = np.abs(block).max(axis=1) >= 0.9995
            clipped += int(np.count_nonzero(full[:-2] & full[1:-1] & full[2:])) if len(full) > 2 else 0
            total += len(block)
            yield block.mean(axis=1, dtype=np.float32)

    pieces = [np.clip(np.rint(piece * 32768.0), -32768, 32767).astype(np.int16) for piece in resampled(blocks(), rate)]
    pcm = np.concatenate(pieces) if pieces else np.zeros(0, dtype=np.int16)
    return pcm, clipped / max(total, 1)


def resampled(blocks: Iterator[NDArray[np.float32]], rate: int) -> Iterator[NDArray[np.float32]]:
    """Return blocks at 16 kHz, the same as if the whole had been taken at once (polyphase filter, Kaiser window 5)."""
    if rate == RATE:
        yield from blocks
        return
    from scipy.signal import resample_poly  # heavy: only for other rates

    shared = gcd(rate, RATE)
    up, down = RATE // shared, rate // shared
    margin = -(-(20 * max(up, down) // up + 2) // down) * down  # more than the filter reaches, in whole periods
    held = np.zeros(0, dtype=np.float32)
    first = True
    for block in blocks:
        held = np.concatenate((held, block))
        whole = (len(held) - 2 * margin) // down * down
        if whole <= 0:
            continue
        out = np.asarray(resample_poly(held[: whole + 2 * margin], up, down), dtype=np.float32)
        skip = 0 if first else margin // down * up
        yield out[skip : (whole + margin) // down * up]
        held = held[whole:]
        first = False
    if len(held):
        out = np.asarray(resample_poly(held, up, down), dtype=np.float32)
        yield out if first else out[margin // down * up :]
