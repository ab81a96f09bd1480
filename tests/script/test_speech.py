"""The three styles: what each asks for, on lines drawn at random; every stressed syllable and every p, b, m accounted for."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.script import Spoken
from marotte.creature.schema.brief import Brief
from marotte.creature.schema.build import Build
from marotte.creature.schema.poses import Poses
from marotte.script.closures import HELD, TOUCH
from marotte.script.demand import demand
from marotte.script.score import score
from marotte.script.speech import FLAP_RATE, FLAP_SHARE, HAND_FULL, HIT, JAW_FULL, RIDE, mouthing
from marotte.script.syllables import phrases
from marotte.script.visemes import CLOSED, LIP_TO_TEETH, VOWELS
from tests.script.met import met
from tests.script.parts import WORDS, build, head, poses, spoken, turn

LINES = st.builds(
    lambda words, commas, pace: spoken(
        " ".join(w + ("," if c else "") for w, c in zip(words, commas + [False] * len(words), strict=False)),
        1.0,
        3,
        pace,
    ),
    st.lists(st.sampled_from(sorted(WORDS)), min_size=1, max_size=10),
    st.lists(st.booleans(), max_size=10),
    st.floats(0.045, 0.16),
)


def stressed(line: Spoken) -> list[int]:
    """The start of every stressed syllable; of a phrase without any, its last."""
    out: list[int] = []
    for phrase in phrases(line):
        vowels = [p for p in line.phones[phrase.first : phrase.last + 1] if p.name in VOWELS]
        some = [p for p in vowels if p.stress >= 1] or vowels[-1:]
        out += [p.start for p in some]
    return out


@given(LINES)
@settings(deadline=None, max_examples=60)
def test_lips_has_an_opening_for_every_stressed_syllable_and_a_contact_over_every_p_b_m_f_v(line: Spoken) -> None:
    part = mouthing(line, "lips")
    assert [o.start for o in part.openings] == stressed(line)
    for kind, names in (("closure", CLOSED), ("lip_teeth", LIP_TO_TEETH)):
        contacts = [c for c in part.contacts if c.kind == kind]
        shut = [c for c in part.contacts if c.kind == "closure"]
        for phone in (p for p in line.phones if p.name in names):
            over = [c for c in contacts if c.start <= phone.start and phone.stop <= c.stop]
            if kind == "lip_teeth" and not over:
                # only right beside shut lips, which win
                beside = min(max(c.start - phone.stop, phone.start - c.stop) for c in shut)
                assert beside < TOUCH + HELD
                over = [c for c in contacts if c.start < phone.stop + TOUCH and phone.start - TOUCH < c.stop]
                assert len(over) >= 1
                continue
            assert len(over) == 1
            assert over[0].stop - over[0].start >= HELD or kind == "lip_teeth"
        # sounds share a contact only where the rule says so
        assert all(b.start - a.stop > TOUCH for a, b in pairwise(contacts))


def test_lips_on_teeth_right_beside_shut_lips_are_both_met() -> None:
    for text in ("give people", "give baby people", "stamp five", "home voice", "bob five", "give mama"):
        for pace in (0.03, 0.05, 0.08, 0.12):
            part = demand(score((spoken(text, 1.0, 1, pace),), (), Brief(speech="lips"), 7), head(), poses(), build())
            assert [hit.id for hit in part.hits if not met(hit, part.motion)] == [], (text, pace)


@given(LINES)
@settings(deadline=None, max_examples=60)
def test_hits_opens_on_every_stressed_syllable_and_shuts_where_the_rule_says(line: Spoken) -> None:
    part = mouthing(line, "hits")
    assert [o.start for o in part.openings] == stressed(line)
    starts = set(stressed(line))
    for phrase in phrases(line):
        phones = line.phones[phrase.first : phrase.last + 1]
        wanted = [phones[0]] if phones[0].name in CLOSED else []
        onset = []
        for phone in phones:
            if phone.name in VOWELS:
                if phone.start in starts:
                    wanted += [p for p in onset if p.name in CLOSED and p.word == phone.word][:1]
                onset = []
            else:
                onset.append(phone)
        for phone in wanted:
            assert any(c.start <= phone.start and phone.stop <= c.stop for c in part.contacts)
        assert any(0 <= c.start - phrase.stop <= 100 or c.start <= phrase.stop < c.stop for c in part.contacts)


@given(LINES)
@settings(deadline=None, max_examples=60)
def test_flap_keeps_its_ceiling_and_tells_the_stressed_syllables_it_passes_over(line: Spoken) -> None:
    part = mouthing(line, "flap")
    least = 1200 / FLAP_RATE
    for phrase in phrases(line):
        inside = [o for o in part.openings if phrase.start <= o.start < phrase.stop]
        for a, b in pairwise(inside):
            assert b.start - a.start >= least
            assert max(a.amount, b.amount) <= FLAP_SHARE * (b.start - a.start) / least + 1e-9
        kept = {o.start for o in inside}
        for syllable in phrase.syllables:
            start = syllable.vowel.start
            assert start in kept or any(abs(start - other) < least for other in kept)
            if syllable.stressed and start not in kept:
                assert line.words[syllable.vowel.word] in part.told[0].sentence


@given(LINES, st.sampled_from(["flap", "hits"]))
@settings(deadline=None, max_examples=80)
def test_a_curve_is_never_faster_than_its_mouth_and_meets_its_openings(line: Spoken, style: str) -> None:
    part = mouthing(line, style)  # type: ignore[arg-type]
    full = (HAND_FULL if style == "flap" else JAW_FULL) * 1200
    ticks = [tick for tick, _ in part.keys]
    assert ticks == sorted(ticks)
    for (t0, a), (t1, b) in pairwise(part.keys):
        if a != b:
            assert t1 - t0 >= abs(b - a) * full - 2, (t0, t1, a, b)
    at = dict(part.keys)
    for opening in part.openings:
        assert any(
            opening.start <= tick <= opening.stop and value >= opening.amount - 1e-9 for tick, value in at.items()
        )


@given(LINES, st.sampled_from(["flap", "hits", "lips"]), st.integers(0, 400))
@settings(deadline=None, max_examples=30)
def test_a_later_line_is_the_same_line_later(line: Spoken, style: str, by: int) -> None:
    moved = spoken(line.text, 1.0 + by / 1200, 3, (line.phones[0].stop - line.phones[0].start) / 1200)
    here = spoken(line.text, 1.0, 3, (line.phones[0].stop - line.phones[0].start) / 1200)
    one, two = mouthing(here, style), mouthing(moved, style)  # type: ignore[arg-type]
    assert [(t + by, v) for t, v in one.keys] == list(two.keys)
    assert [(c.start + by, c.stop + by, c.kind) for c in one.contacts] == [
        (c.start, c.stop, c.kind) for c in two.contacts
    ]
    assert (one.centres + by).tolist() == two.centres.tolist()


@given(LINES, st.sampled_from(["flap", "hits", "lips"]))
@settings(deadline=None, max_examples=25)
def test_a_played_line_meets_its_hits_whatever_it_says(line: Spoken, style: str) -> None:
    part = demand(score((line,), (), Brief(speech=style), 7), head(), poses(), build())  # type: ignore[arg-type]
    assert [hit.id for hit in part.hits if not met(hit, part.motion)] == []


def test_hits_rides_between_stressed_syllables_and_is_wide_only_on_them() -> None:
    line = spoken("give the letter to the baby", 1.0, 1, 0.09)
    part = demand(score((line,), (), Brief(speech="hits"), 7), {"jaw": turn("jaw", 0, 22)}, Poses(), Build())
    jaw = part.motion.row("jaw") / part.motion.row("jaw").max()
    stress = [p for p in line.phones if p.stress == 1 and line.words[p.word] != "to"]
    passed = [p for p in line.phones if p.stress == 0 and line.words[p.word] == "the"]
    assert all(jaw[(p.start + p.stop) // 10] > 0.6 for p in stress)
    assert all(jaw[(p.start + p.stop) // 10] < RIDE + 0.25 for p in passed)
    assert HIT > 3 * RIDE


def test_a_louder_word_opens_wider() -> None:
    line = spoken("give the letter", 1.0, 1, 0.09)
    loud = Spoken(
        **{f: getattr(line, f) for f in line.__dataclass_fields__} | {"loudness": (0.0, 0.0, 4.0), "accents": (0,)}
    )
    plain = Spoken(
        **{f: getattr(line, f) for f in line.__dataclass_fields__} | {"loudness": (0.0, 0.0, 0.0), "accents": (0,)}
    )
    assert mouthing(loud, "hits").openings[-1].amount > mouthing(plain, "hits").openings[-1].amount


def test_a_line_from_off_the_scene_asks_for_no_mouth() -> None:
    line = spoken("give the letter", 1.0, 1, 0.09)
    off = Spoken(**{f: getattr(line, f) for f in line.__dataclass_fields__} | {"seen": False})
    part = demand(score((off,), (), Brief(speech="lips"), 7), head(), poses(), build())
    assert not [h for h in part.hits if h.kind in ("open", "closure", "lip_teeth")]
    assert part.motion.row("jaw").max() - part.motion.row("jaw").min() < 1e-6


@pytest.mark.parametrize("text", ["the", "a", "mama", "give"])
def test_a_single_word_is_a_line(text: str) -> None:
    for style in ("flap", "hits", "lips"):
        assert len(mouthing(spoken(text), style).openings) >= 1  # type: ignore[arg-type]


def test_crowded_lips_tell_what_gives_way() -> None:
    line = spoken("puppet people mama puppet people mama", 1.0, 1, 0.028)
    part = demand(score((line,), (), Brief(speech="lips"), 7), head(), poses(), build())
    assert {"lips.gives_way", "lips.narrow"} <= {t.code for t in part.told}


def test_shapes_that_look_the_same_are_told() -> None:
    functions = {"jaw": turn("jaw", 0, 22, 3)}
    part = demand(score((spoken("give"),), (), Brief(speech="lips"), 7), functions, Poses(), Build())
    told = next(t for t in part.told if t.code == "mouth.alike")
    assert "i = u" in told.sentence or "kg = i" in told.sentence
