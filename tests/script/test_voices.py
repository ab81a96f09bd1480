"""Recordings of every kind, good and bad: one clear message each."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import resample_poly

from marotte.basis.faults import Fault
from marotte.script.voices import RATE, Voice, read_voice, resampled
from tests.script.sound import hush, machine, write_wav


def read(path: Path) -> Voice | Fault:
    return read_voice(path, f"voice/{path.name}")


def sentences(path: Path) -> list[str]:
    got = read(path)
    assert isinstance(got, Voice), got
    return [t.sentence for t in got.told]


def what(path: Path) -> str:
    got = read(path)
    assert isinstance(got, Fault)
    assert got.code == "voice"
    assert f"voice/{path.name}" in got.what
    return str(got)


@pytest.mark.parametrize("rate", [8_000, 11_025, 22_050, 44_100, 48_000, 96_000])
@pytest.mark.parametrize("size", [997, 20_000, 10**7])
def test_blocks_give_the_same_samples_as_the_whole(rate: int, size: int) -> None:
    whole = np.random.default_rng(rate).normal(0, 0.1, 2 * rate + 17).astype(np.float32)

    def blocks() -> Iterator[NDArray[np.float32]]:
        for k in range(0, len(whole), size):
            yield whole[k : k + size]

    shared = np.gcd(rate, RATE)
    want = resample_poly(whole, RATE // shared, rate // shared)
    np.testing.assert_array_equal(np.concatenate(list(resampled(blocks(), rate))), want)


def test_wav_flac_and_ogg_hold_the_same_speech() -> None:
    flac = machine(1)
    ogg = read(
        Path(__file__).parent / "slt-3-stereo-44k.ogg"
    )  # the same sentence, stereo, 44.1 kHz, one side half as loud
    assert isinstance(ogg, Voice)
    assert ogg.told == ()
    assert ogg.seconds == pytest.approx(flac.seconds, abs=0.01)
    n = min(len(ogg.pcm), len(flac.pcm))
    assert np.corrcoef(ogg.pcm[:n], flac.pcm[:n])[0, 1] > 0.99


def test_wav_reads_as_written(tmp_path: Path) -> None:
    samples = machine(0).pcm
    got = read(write_wav(tmp_path / "a.wav", samples))
    assert isinstance(got, Voice)
    np.testing.assert_array_equal(got.pcm, samples)


def test_silence_is_refused(tmp_path: Path) -> None:
    assert "silent" in what(write_wav(tmp_path / "a.wav", np.zeros(RATE, dtype=np.int16)))


def test_clipping_is_told_and_used(tmp_path: Path) -> None:
    loud = np.clip(machine(0).pcm.astype(np.int32) * 12, -32768, 32767).astype(np.int16)
    [sentence] = sentences(write_wav(tmp_path / "a.wav", loud))
    assert "clipped" in sentence


def test_eight_kilohertz_is_told_and_used(tmp_path: Path) -> None:
    [sentence] = sentences(write_wav(tmp_path / "a.wav", machine(0).pcm[::2], rate=8_000))
    assert "8 kHz" in sentence


def test_eight_channels_are_told_and_mixed(tmp_path: Path) -> None:
    pcm = machine(0).pcm
    [sentence] = sentences(write_wav(tmp_path / "a.wav", np.repeat(pcm, 8), channels=8))
    assert "8 channels" in sentence
    got = read(tmp_path / "a.wav")
    assert isinstance(got, Voice)
    assert len(got.pcm) == len(pcm)


def test_three_hours_are_refused_without_being_read(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    seconds, rate = 3 * 3600, 8_000
    size = seconds * rate * 2
    head = b"RIFF" + (36 + size).to_bytes(4, "little") + b"WAVEfmt " + (16).to_bytes(4, "little")
    head += (
        b"\1\0\1\0"
        + rate.to_bytes(4, "little")
        + (rate * 2).to_bytes(4, "little")
        + b"\2\0\x10\0data"
        + size.to_bytes(4, "little")
    )
    with path.open("wb") as out:
        out.write(head)
        out.truncate(44 + size)  # a hole in the file: it takes no room on the disk
    message = what(path)
    assert "3 h 0 min" in message
    assert "cut it" in message


def test_a_truncated_recording_is_told_and_used(tmp_path: Path) -> None:
    path = write_wav(tmp_path / "a.wav", machine(0).pcm)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])
    [sentence] = sentences(path)
    assert "breaks off" in sentence


@pytest.mark.parametrize(
    "data", [b"", b"RIFF", b"not a recording at all" * 100, b"RIFF\x24\0\0\0WAVEfmt ", os.urandom(5000)]
)
def test_what_is_no_recording_is_refused(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(data)
    assert what(path).count("\n") == 0


def test_missing_folder_and_short_files_are_refused(tmp_path: Path) -> None:
    assert "cannot be opened" in what(tmp_path / "none.wav")
    (tmp_path / "d.wav").mkdir()
    assert "folder" in what(tmp_path / "d.wav")
    assert "too short" in what(write_wav(tmp_path / "s.wav", hush(0.05, loud=3000)))


@pytest.mark.parametrize("ending", [".flac", ".ogg"])
def test_a_broken_flac_or_ogg_never_raises(tmp_path: Path, ending: str) -> None:
    source = Path(__file__).parent / "slt-3-stereo-44k.ogg"
    if ending == ".flac":
        source = Path(__file__).parents[1] / "published" / "machine_speech" / "slt-0.flac"
    data = source.read_bytes()
    for cut in (10, 60, len(data) // 3, len(data) - 7):
        path = tmp_path / f"a{cut}{ending}"
        path.write_bytes(data[:cut])
        got = read(path)
        assert isinstance(got, (Voice, Fault))
