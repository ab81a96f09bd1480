"""Alignment against speech whose times are known. Floors: stated, never lowered.

Sources: machine speech with its own phone times (machine_speech/labels.json says by what); three sentences of Australian English
labelled by hand (the emuR package's demonstration data, shared data); a read sentence with the recogniser's own reference
labels (pocketsphinx test data, shared data).
"""

from __future__ import annotations

import json
from difflib import SequenceMatcher
from statistics import median

import pytest

from marotte.script.align import HeardLine, hear
from marotte.script.voices import RATE, Voice, read_voice
from tests.published.textgrid import tier
from tests.script.sound import LABELS, hush, joined, machine, text, want
from tests.shared_data import shared_data


def phone_starts(heard: HeardLine) -> list[tuple[str, float]]:
    return [(p.name, heard.start_s + p.start / 1200) for p in heard.phones if p.name != "SIL"]


def word_starts(heard: HeardLine) -> list[float]:
    return [
        heard.start_s + p.start / 1200
        for k, p in enumerate(heard.phones)
        if p.word >= 0 and (k == 0 or heard.phones[k - 1].word != p.word)
    ]


def test_phone_borders_on_machine_speech() -> None:
    """At least 60 % of phone starts within 20 ms and 85 % within 40 ms, over phones that both name alike."""
    errors: list[float] = []
    named = 0
    for k, recording in enumerate(LABELS["recordings"]):
        ends = [0.0, *(end for _, end in recording["phones"])]
        theirs = [(name, ends[i]) for i, (name, _) in enumerate(recording["phones"]) if name != "PAU"]
        ours = phone_starts(hear(machine(k), [want(1, text(k))]).lines[1])
        named += len(theirs)
        for a, b, size in SequenceMatcher(
            None, [n for n, _ in ours], [n for n, _ in theirs], autojunk=False
        ).get_matching_blocks():
            errors += [abs(ours[a + i][1] - theirs[b + i][1]) for i in range(size)]
    assert len(errors) > 0.8 * named
    floors = LABELS["floors"]
    assert sum(e <= 0.020 for e in errors) / len(errors) >= floors["within_20_ms"]
    assert sum(e <= 0.040 for e in errors) / len(errors) >= floors["within_40_ms"]


@pytest.fixture(scope="module")
def human() -> list[float]:
    """Errors of word starts [s] over the hand-labelled sentences; the link of two words ("*") is part of the first."""
    errors: list[float] = []
    for name in ("msajc003", "msajc010", "msajc015"):
        voice = read_voice(shared_data(f"speech/{name}.wav"), name)
        assert isinstance(voice, Voice)
        theirs = [a for a, _, label in tier(shared_data(f"speech/{name}.TextGrid"), "Text") if label != "*"]
        heard = hear(voice, [want(1, shared_data(f"speech/{name}.txt").read_text())]).lines[1]
        assert heard.quality > 0.8
        errors += [ours - a for ours, a in zip(word_starts(heard), theirs, strict=True)]
    return errors


def test_word_starts_on_human_speech(human: list[float]) -> None:
    """Median word start within 30 ms of the hand-made label."""
    assert len(human) == 23
    assert median(abs(e) for e in human) <= 0.030
    assert abs(median(human)) <= 0.015


SAMPA = {
    "V": "AH", "@": "AH", "@:": "ER", "E": "EH", "i:": "IY", "u:": "UW", "I": "IH", "O": "AO", "ai": "AY", "N": "NG", "S": "SH", "T": "TH", "D": "DH",
    "j": "Y", "h": "HH", "d_b": "B", "z_s": "S", "@_r": "ER",
}  # fmt: skip
"""The labels' signs as ARPAbet; the others are the same letters. Two sounds that run into one ("d_b") are the second."""


def test_phone_borders_on_human_speech() -> None:
    """The floors of machine speech hold for the hand-labelled sentences too: 60 % within 20 ms, 85 % within 40 ms."""
    errors: list[float] = []
    named = 0
    for name in ("msajc003", "msajc010", "msajc015"):
        voice = read_voice(shared_data(f"speech/{name}.wav"), name)
        assert isinstance(voice, Voice)
        ours = phone_starts(hear(voice, [want(1, shared_data(f"speech/{name}.txt").read_text())]).lines[1])
        theirs = [
            (SAMPA.get(label, label.upper()), a)
            for a, _, label in tier(shared_data(f"speech/{name}.TextGrid"), "Phoneme")
        ]
        named += len(theirs)
        for a, b, size in SequenceMatcher(
            None, [n for n, _ in ours], [n for n, _ in theirs], autojunk=False
        ).get_matching_blocks():
            errors += [abs(ours[a + i][1] - theirs[b + i][1]) for i in range(size)]
    assert len(errors) > 0.8 * named
    assert sum(e <= 0.020 for e in errors) / len(errors) >= 0.60
    assert sum(e <= 0.040 for e in errors) / len(errors) >= 0.85


def test_human_sentences_in_one_recording_are_cut_to_their_lines() -> None:
    """Three labelled sentences and the read one as one recording of four lines: the same floor for word starts, 30 ms."""
    names = ("msajc003", "austen-0870", "msajc010", "msajc015")
    pieces, starts, now = [], [], 0.0
    for k, name in enumerate(names):
        voice = read_voice(shared_data(f"speech/{name}.wav"), name)
        assert isinstance(voice, Voice)
        quiet = hush(0.7, seed=k)
        pieces += [voice.pcm, quiet]
        starts.append(now)
        now += voice.seconds + len(quiet) / RATE
    got = hear(
        joined(*pieces), [want(k + 1, shared_data(f"speech/{name}.txt").read_text()) for k, name in enumerate(names)]
    )
    assert sorted(got.lines) == [1, 2, 3, 4]
    errors = []
    for k, name in enumerate(names):
        if name.startswith("msajc"):
            theirs = [a for a, _, label in tier(shared_data(f"speech/{name}.TextGrid"), "Text") if label != "*"]
            errors += [abs(ours - starts[k] - a) for ours, a in zip(word_starts(got.lines[k + 1]), theirs, strict=True)]
    assert median(errors) <= 0.030


def test_noise_at_15_db_keeps_the_floors() -> None:
    """White noise 15 dB below the speech: phone starts move by at most 40 ms for at least 85 % of the phones."""
    for k in range(3):
        voice = machine(k)
        power = float((voice.pcm.astype(float) ** 2).mean())
        noise = hush(voice.seconds, seed=k, loud=(power / 10**1.5) ** 0.5)
        noisy = voice.pcm[: len(noise)] + noise
        clean = phone_starts(hear(voice, [want(1, text(k))]).lines[1])
        got = phone_starts(hear(joined(noisy), [want(1, text(k))]).lines[1])
        pairs = [(a, b) for (n, a), (m, b) in zip(clean, got, strict=False) if n == m]
        assert sum(abs(a - b) <= 0.040 for a, b in pairs) >= 0.85 * len(pairs)


def test_read_sentence_agrees_with_the_recognisers_reference() -> None:
    """Word starts within 40 ms of the reference labels for at least nine words in ten."""
    voice = read_voice(shared_data("speech/austen-0870.wav"), "austen")
    assert isinstance(voice, Voice)
    labels = json.loads(shared_data("speech/austen-0870.json").read_text())
    theirs = [w["b"] for w in labels["w"] if not w["t"].startswith("<")]
    heard = hear(voice, [want(1, shared_data("speech/austen-0870.txt").read_text())]).lines[1]
    near = [abs(a - b) <= 0.040 for a, b in zip(word_starts(heard), theirs, strict=True)]
    assert sum(near) >= 0.9 * len(near)
