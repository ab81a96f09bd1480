"""Speech in ``lips`` against recorded mouths: closures held, speeds by range (mouth_motion.json), and hand-labelled sentences."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import butter, filtfilt

from marotte.basis.contracts.script import Demand, Phone, Spoken
from marotte.creature.schema.brief import Brief
from marotte.script.closures import HELD
from marotte.script.demand import demand
from marotte.script.score import score
from marotte.script.speech import ACCENT, HIT, mouthing
from tests.published.textgrid import SAMPA_VOWELS, tier
from tests.script.parts import WORDS, build, head, poses
from tests.shared_data import shared_data

HERE = Path(__file__).parent
DATA = json.loads((HERE / "mouth_motion.json").read_text())
TEXT = ("the", "birch", "canoe", "slid", "on", "the", "smooth", "planks")
SPEAKERS = ("F", "M")


def sentence(speaker: str) -> Spoken:
    """The recorded sentence: its bilabials as long as measured, the rest in proportion to a corpus's means, 2.205 s in all."""
    rows = csv.reader(
        line for line in (HERE / "corpus_phone_means.csv").read_text().splitlines() if not line.startswith("#")
    )
    mean = {name: float(value) for name, value in rows if name in {"SIL"} or name.isalpha()}
    names = [(name, k) for k, word in enumerate(TEXT) for name in WORDS[word].split()]
    held = DATA["closures_ms"][speaker]
    fixed = sum(held[name] / 1e3 for name, _ in names if name in held)
    rest = sum(mean[name.rstrip("012")] for name, _ in names if name not in held)
    share = (DATA["sentence_s"] - fixed) / rest
    phones: list[Phone] = []
    at = 1.0
    for name, k in names:
        bare = name.rstrip("012")
        length = held[name] / 1e3 if name in held else mean[bare] * share
        stress = int(name[-1]) if name[-1].isdigit() else -1
        phones.append(Phone(name=bare, stress=stress, start=round(at * 1200), stop=round((at + length) * 1200), word=k))
        at += length
    return line_of(phones, TEXT)


def line_of(phones: list[Phone], words: tuple[str, ...]) -> Spoken:
    spans = tuple(
        (min(p.start for p in phones if p.word == k), max(p.stop for p in phones if p.word == k))
        for k in range(len(words))
    )
    return Spoken(
        line=1, scene="", file_line=1, text=" ".join(words), mood="", start=phones[0].start, stop=phones[-1].stop, words=words,
        word_spans=spans, phones=tuple(phones), syllables=sum(p.stress >= 0 for p in phones), from_recording=True,
    )  # fmt: skip


def played(line: Spoken) -> Demand:
    return demand(score((line,), (), Brief(speech="lips"), 7), head(), poses(), build())


def rate(row: np.ndarray) -> float:
    """Peak speed by range [1/s], low-passed at 20 Hz as the recordings were."""
    b, a = butter(4, 20 / 120)
    smooth = filtfilt(b, a, row)
    return float(np.abs(np.gradient(smooth) * 240).max() / np.ptp(smooth))


@pytest.mark.parametrize("speaker", SPEAKERS)
@pytest.mark.parametrize("what", ["jaw", "aperture", "lower_lip"])
def test_speed_by_range_lies_where_two_speakers_lie(what: str, speaker: str) -> None:
    line = sentence(speaker)
    part = played(line)
    span = slice(line.start // 5 - 20, line.stop // 5 + 20)
    jaw = part.motion.row("jaw")[span].astype(float)
    lower = 0.1 * jaw + part.motion.row("lip_lower")[span]  # the lip rides on the jaw, 100 mm from its hinge
    upper = part.motion.row("lip_upper_left")[span].astype(float)
    row = {"jaw": jaw, "lower_lip": lower, "aperture": lower + upper}[what]
    seen = [v / r for v, r in zip(DATA["peak_mm_per_s"][what], DATA["range_mm"][what], strict=True)]
    low, high = min(seen) * (1 - DATA["tolerance"]), max(seen) * (1 + DATA["tolerance"])
    assert low <= rate(row) <= high


@pytest.mark.parametrize("speaker", SPEAKERS)
def test_each_recorded_closure_is_a_closed_mouth_for_as_long(speaker: str) -> None:
    line = sentence(speaker)
    part = played(line)
    shut = [h for h in part.hits if h.kind == "closure"]
    assert len(shut) == sum(p.name in "PBM" for p in line.phones)
    for phone in (p for p in line.phones if p.name in "PBM"):
        samples = slice(-(-phone.start // 5), phone.stop // 5 + 1)
        assert part.motion.row("jaw")[samples].max() <= next(n.bound for n in shut[0].needs if n.function == "jaw")


def test_least_hold_is_the_shortest_closure_seen() -> None:
    assert pytest.approx(DATA["shortest_closure_ms"], abs=0.5) == HELD / 1.2
    assert DATA["longest_closure_ms"] > HELD / 1.2


@pytest.mark.parametrize("name", ["msajc003", "msajc015"])
def test_hand_labelled_bilabials_are_closed_over_their_whole_length(name: str) -> None:
    # sentences labelled by hand that have bilabials (demonstration data of the emuR package); a burst after a stop is labelled H and may open
    labels = tier(shared_data(f"speech/{name}.TextGrid"), "Phonetic")
    names = {"m": "M", "p": "P", "b": "B"}
    phones = [
        Phone(
            name=names.get(label, "AH" if label in SAMPA_VOWELS else "T"), stress=1 if label in SAMPA_VOWELS else -1,
            start=round(a * 1200), stop=round(b * 1200), word=0,
        )
        for a, b, label in labels
    ]  # fmt: skip
    part = played(line_of(phones, ("sentence",)))
    shut = [h for h in part.hits if h.kind == "closure"]
    bilabials = [p for p in phones if p.name in "PBM"]
    assert 1 <= len(shut) <= len(bilabials)
    bound = next(n.bound for n in shut[0].needs if n.function == "jaw")
    for phone in bilabials:
        samples = slice(-(-phone.start // 5), phone.stop // 5 + 1)
        assert part.motion.row("jaw")[samples].max() <= bound
    assert any(part.motion.row("jaw")[p.start // 5 : p.stop // 5].max() > 2 * bound for p in phones if p.stress >= 0)


@pytest.mark.parametrize("speaker", SPEAKERS)
def test_closures_are_asked_for_as_long_as_they_were_recorded(speaker: str) -> None:
    line = sentence(speaker)
    held = [c for c in mouthing(line, "lips").contacts if c.kind == "closure"]
    recorded = [DATA["closures_ms"][speaker][p.name] for p in line.phones if p.name in "PBM"]
    assert [(c.stop - c.start) / 1.2 for c in held] == pytest.approx(recorded, abs=1.0)  # whole ticks
    assert all(
        DATA["shortest_closure_ms"] - 0.5 <= (c.stop - c.start) / 1.2 <= DATA["longest_closure_ms"] + 0.5 for c in held
    )


def test_a_word_that_carries_its_phrase_opens_wider_as_recorded_jaws_do() -> None:
    focus = DATA["focus"]
    assert pytest.approx(focus["narrow_mm"] / focus["broad_mm"], rel=focus["tolerance"]) == (HIT + ACCENT) / HIT
