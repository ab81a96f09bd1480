"""Alignment on machine speech: found, cut, judged, kept. Its accuracy is held in tests/published/test_alignment.py."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.creature.schema.brief import Brief
from marotte.script.align import HeardLine, Hearing, hear, pieces_of
from marotte.script.lines import lines
from marotte.script.matching import matched, quiet_stretches, stretches
from marotte.script.recordings import hear_all, holds
from marotte.script.voices import RATE, Voice
from tests.script.sound import LABELS, hush, joined, machine, text, want, write_wav


def whole(heard: HeardLine, count: int) -> None:
    assert heard.phones[0].start == 0
    assert all(a.stop == b.start for a, b in pairwise(heard.phones))
    assert all(p.stop > p.start for p in heard.phones)
    assert [w for w in dict.fromkeys(p.word for p in heard.phones) if w >= 0] == list(range(count))
    assert len(heard.loudness) == len(heard.word_quality) == count


@pytest.fixture(scope="module")
def first() -> Hearing:
    return hear(machine(0), [want(3, text(0))])


def test_a_line_is_found_with_all_its_words(first: Hearing) -> None:
    assert first.told == ()
    whole(first.lines[3], 12)
    assert first.lines[3].quality > 0.8
    assert first.lines[3].doubtful == ()


def test_alignment_is_the_same_every_time(first: Hearing) -> None:
    assert hear(machine(0), [want(3, text(0))]) == first


def test_a_wrong_text_is_told_and_falls_back_to_rules() -> None:
    got = hear(machine(0), [want(3, text(4))])
    assert got.lines == {}
    [told] = got.told
    assert "does not match" in told.sentence
    assert "timed by rule" in told.sentence
    assert told.line == 3


@pytest.mark.parametrize("share", [0.3, 0.5, 0.7])
def test_a_line_that_breaks_off_names_the_words_that_are_not_heard(share: float) -> None:
    voice = machine(0)
    got = hear(joined(voice.pcm[: int(len(voice.pcm) * share)]), [want(3, text(0))])
    assert got.lines == {}
    [told] = got.told
    assert "not heard:" in told.sentence
    assert "timed by rule" in told.sentence
    missing = told.sentence.split("not heard:")[1]
    assert "'small'" in missing or "more" in missing
    assert "'good'" not in missing.lower()


def test_a_wrong_word_is_named() -> None:
    got = hear(machine(0), [want(3, text(0).replace("long way", "purple elephant"))])
    assert "'elephant'" in " ".join(t.sentence for t in got.told)
    assert 3 in got.lines


def test_a_short_line_is_not_found_in_any_speech() -> None:
    for words in ("No.", "Hmm.", "X.", "Good evening."):
        got = hear(machine(0), [want(1, words)])
        assert got.lines == {}, words
        assert len(got.told) == 1


def test_a_recording_with_more_than_its_lines_is_told() -> None:
    got = hear(joined(*(machine(k).pcm for k in range(6))), [want(1, text(0)), want(2, text(3))])
    assert sorted(got.lines) == [1, 2]
    assert any("in none of its lines" in t.sentence for t in got.told)


@pytest.mark.parametrize("sound", ["silence", "noise", "tone"])
def test_sound_that_is_no_speech_gives_no_mouth(sound: str) -> None:
    seconds = np.arange(3 * RATE) / RATE
    pcm = {
        "silence": hush(3.0), "noise": hush(3.0, loud=6000.0), "tone": (8000 * np.sin(2 * np.pi * 220 * seconds)).astype(np.int16)
    }[sound]  # fmt: skip
    got = hear(joined(pcm), [want(1, text(0))])
    assert got.lines == {}
    assert len(got.told) == 1


def test_a_laugh_inside_a_line_gives_no_mouth_there() -> None:
    """A noise of 0.8 s put into a pause: the words on both sides stay where they were, and the noise is told."""
    voice = machine(0)
    base = hear(voice, [want(1, text(0))]).lines[1]
    gap = next(p for p in base.phones if p.name == "SIL")
    at = int((base.start_s + (gap.start + gap.stop) / 2400) * RATE)
    envelope = np.abs(np.sin(np.arange(int(0.8 * RATE)) / RATE * 2 * np.pi * 4.5))  # as often as one laughs
    laugh = (np.random.default_rng(4).normal(0, 3500, len(envelope)) * envelope).astype(np.int16)
    got = hear(joined(voice.pcm[:at], laugh, voice.pcm[at:]), [want(1, text(0))])
    heard = got.lines[1]
    whole(heard, 12)
    assert any("sound without words" in t.sentence for t in got.told)
    before = {p.word: p.start for p in reversed(base.phones)}
    after = {p.word: p.start for p in reversed(heard.phones)}
    moved = {w: (after[w] - before[w]) / 1200 for w in before if w >= 0}
    assert all(abs(moved[w]) < 0.06 for w in (0, 1))
    assert all(abs(moved[w] - 0.8) < 0.06 for w in range(3, 12))


def test_one_long_recording_is_cut_to_its_lines() -> None:
    voices = [machine(k) for k in range(6)]
    sound = []
    for k, voice in enumerate(voices):
        sound += [hush(0.5 + 0.2 * k, seed=k), voice.pcm]
    part = joined(*sound)
    got = hear(part, [want(k + 1, text(k)) for k in range(6)])
    assert sorted(got.lines) == [1, 2, 3, 4, 5, 6]
    now = 0.0
    for k in range(6):
        now += 0.5 + 0.2 * k
        assert got.lines[k + 1].start_s == pytest.approx(now + LABELS["recordings"][k]["phones"][0][1], abs=0.06)
        whole(got.lines[k + 1], len(want(1, text(k)).words))
        now += voices[k].seconds


def test_a_line_that_is_not_in_the_recording_is_told() -> None:
    part = joined(machine(0).pcm, hush(0.6), machine(2).pcm, hush(0.6), machine(4).pcm)
    got = hear(part, [want(1, text(0)), want(2, text(1)), want(3, text(2)), want(4, text(4))])
    assert sorted(got.lines) == [1, 3, 4]
    assert [t.line for t in got.told] == [2]
    assert "not heard:" in got.told[0].sentence or "none of its words" in got.told[0].sentence


def test_a_long_line_is_cut_at_its_sentences_and_put_together_again() -> None:
    texts = " ".join(text(k) for k in (0, 1, 2, 3, 4, 5))
    one = want(1, texts)
    assert [end for _, end in pieces_of(one)][-1] == len(one.words)
    part = joined(*(p for k in range(6) for p in (machine(k).pcm, hush(0.4 + 1.0 * (k == 2), seed=k))))
    longer = joined(part.pcm, hush(10.0))
    assert longer.seconds > 30
    got = hear(longer, [one])
    whole(got.lines[1], len(one.words))
    gaps = [(p.stop - p.start) / 1200 for p in got.lines[1].phones if p.name == "SIL"]
    assert max(gaps) > 1.2


def test_louder_words_are_heard_as_louder() -> None:
    voice = machine(0)
    base = hear(voice, [want(1, text(0))]).lines[1]
    word = 7  # "way"
    spans = [(p.start, p.stop) for p in base.phones if p.word == word]
    a, b = (int((base.start_s + t / 1200) * RATE) for t in (spans[0][0], spans[-1][1]))
    pcm = voice.pcm.astype(np.float64)
    pcm[a:b] *= 2.0
    louder = hear(Voice(name="x", pcm=np.clip(pcm, -32768, 32767).astype(np.int16)), [want(1, text(0))]).lines[1]
    rise = np.array(louder.loudness) - np.array(base.loudness)
    assert int(np.argmax(rise)) == word
    assert rise[word] - np.median(rise) == pytest.approx(6.0, abs=1.5)  # twice the pressure is 6.02 dB


@pytest.mark.parametrize(
    ("stem", "lines_held"),
    [
        ("12", (12, 12)), ("012", (12, 12)), ("line-12", (12, 12)), ("tansy_012-take2", (12, 12)), ("12-15", (12, 15)), ("lines 12 to 15", (12, 15)),
        ("15-12", (12, 15)), ("whole part", (1, 40)), ("part", (1, 40)), ("99", None), ("39-60", (39, 40)), ("take3", (1, 40)),
    ],
)  # fmt: skip
def test_a_recordings_name_says_its_lines(stem: str, lines_held: tuple[int, int] | None) -> None:
    assert holds(stem, 40) == lines_held


SCRIPT = f"INT. A\n\nTANSY\n{text(0)}\n\nTANSY\n{text(2)}\n"
BRIEF = Brief(script="s.fountain", cue="TANSY")


def test_a_recorded_part_and_the_same_part_without(tmp_path: Path) -> None:
    paths = {"1": write_wav(tmp_path / "voice" / "1.wav", machine(0).pcm)}
    got = lines(SCRIPT, "s", BRIEF, paths, tmp_path / "cache")
    ruled = lines(SCRIPT, "s", BRIEF)
    assert [(s.from_recording, s.quality is None) for s in got.lines] == [(True, False), (False, True)]
    assert [s.from_recording for s in ruled.lines] == [False, False]
    assert [s.words for s in got.lines] == [s.words for s in ruled.lines]
    assert got.lines[0].phones[0].start == got.lines[0].start
    assert len(got.lines[0].loudness) == len(got.lines[0].word_quality) == 12
    assert got.faults == ()


def test_results_are_kept_by_content_and_a_broken_one_is_made_again(tmp_path: Path) -> None:
    paths = {"1": write_wav(tmp_path / "voice" / "1.wav", machine(0).pcm)}
    asked = {1: want(1, text(0))}
    cache = tmp_path / "cache"
    got = hear_all(paths, asked, cache)
    [file] = cache.iterdir()
    data = json.loads(file.read_text())
    data["lines"]["1"]["quality"] = 0.123
    file.write_text(json.dumps(data))
    assert hear_all(paths, asked, cache).lines[1].quality == 0.123  # read, not heard again
    file.write_text("{broken")
    assert hear_all(paths, asked, cache) == got
    hear_all(paths, {1: want(1, text(0) + " Yes.")}, cache)
    assert len(list(cache.iterdir())) == 2


def test_an_unwritable_cache_costs_nothing_but_time(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("a file where the folder should be")
    paths = {"1": write_wav(tmp_path / "voice" / "1.wav", machine(0).pcm)}
    assert hear_all(paths, {1: want(1, text(0))}, blocked / "cache").lines[1].quality > 0.8


def test_a_bad_recording_is_a_fault_and_the_rest_works(tmp_path: Path) -> None:
    good = write_wav(tmp_path / "voice" / "1.wav", machine(0).pcm)
    bad = tmp_path / "voice" / "2.wav"
    bad.write_bytes(b"nothing")
    got = lines(SCRIPT, "s", BRIEF, {"1": good, "2": bad, "9": good}, tmp_path / "cache")
    assert [f.code for f in got.faults] == ["voice"]
    assert got.faults[0].what.startswith("voice/2.wav: ")
    assert got.faults[0].what.endswith("; line 2 is timed by rule")
    assert "voice/1.wav is of no line: the part has 2" in [t.sentence for t in got.told]
    assert [s.from_recording for s in got.lines] == [True, False]


@settings(deadline=None, max_examples=100)
@given(st.lists(st.sampled_from("abcde"), max_size=12), st.lists(st.sampled_from("abcde"), max_size=12))
def test_matching_is_monotone_and_only_pairs_equal_words(heard: list[str], written: list[str]) -> None:
    pairs = matched(heard, written)
    assert all(a < c and b < d for (a, b), (c, d) in pairwise(pairs))
    assert all(heard[a] == written[b] for a, b in pairs)
    if heard == written:
        assert len(pairs) == len(heard)


def test_matching_finds_words_over_gaps_on_both_sides() -> None:
    heard = ["one", "two", "er", "three", "five", "six"]
    written = ["zero", "one", "two", "three", "four", "five", "six"]
    assert [heard[a] for a, _ in matched(heard, written)] == ["one", "two", "three", "five", "six"]


def test_quiet_places_are_found_and_cuts_fall_into_them() -> None:
    pcm = joined(
        *(p for k in range(6) for p in (machine(k).pcm, hush(1.0, seed=k), machine(5 - k).pcm, hush(1.0, seed=k + 9)))
    ).pcm
    sounds, starts = stretches(pcm)
    assert sum(len(s) for s in sounds) == pytest.approx(len(pcm), abs=2)
    assert all(len(s) <= 25 * RATE for s in sounds)
    quiet = quiet_stretches(pcm)
    assert all(any(a <= start <= b for a, b in quiet) for start in starts[1:])
