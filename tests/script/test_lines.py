"""The creature's lines on one axis."""

from __future__ import annotations

from marotte.basis.contracts.script import Spoken
from marotte.creature.schema.brief import Brief, Life, Pace
from marotte.script import fountain
from marotte.script.lines import Part, cast, lay_out, line, lines, lower_says

SCRIPT = """\
INT. POST OFFICE - DAY

The bell rings. TANSY looks up.

TANSY
(quietly)
Good evening. [[looks at the letter]] You have come a long way, Mr. Ouzel, for *one* small parcel. [[ears back]]

BRAM
And paid £3.50 for it!

TANSY (CONT'D)
Three pounds fifty?
(beat)
My, my.

INT. MILL - DAY

BRAM
Nobody here.

EXT. LANE - NIGHT

Rain. [[Bram: sneezes]] [[Tansy: ears up]]

TANSY (V.O.)
Nobody hears me.
"""
BRIEF = Brief(script="s.fountain", cue="Tansy", says={"Ouzel": "UW1 Z AH0 L"}, moods={"quietly": "wary"})


def part(text: str = SCRIPT, brief: Brief = BRIEF) -> Part:
    return lines(text, "s.fountain", brief)


def test_lines_are_counted_and_carry_scene_mood_and_place() -> None:
    got = part()
    assert [(s.line, s.scene, s.mood, s.file_line, s.seen) for s in got.lines] == [
        (1, "INT. POST OFFICE - DAY", "wary", 7, True), (2, "INT. POST OFFICE - DAY", "", 13, True), (3, "EXT. LANE - NIGHT", "", 27, False),
    ]  # fmt: skip
    assert got.faults == got.told == ()


def check(spoken: Spoken) -> None:
    assert len(spoken.words) == len(spoken.word_spans)
    for w, (start, stop) in enumerate(spoken.word_spans):
        inside = [p for p in spoken.phones if p.word == w]
        assert (inside[0].start, inside[-1].stop) == (start, stop)
    assert spoken.phones[0].start == spoken.start
    assert spoken.phones[-1].stop == spoken.stop
    assert all(p.stop > p.start for p in spoken.phones)
    assert all(a.stop == b.start for a, b in zip(spoken.phones, spoken.phones[1:], strict=False))


def test_phones_words_and_lines_fit_into_one_another() -> None:
    got = part()
    for spoken in got.lines:
        check(spoken)
    assert all(a.stop < b.start for a, b in zip(got.lines, got.lines[1:], strict=False))
    assert got.lines[-1].stop < got.stop == got.scenes[-1].stop


def test_scenes_without_the_creature_take_no_time() -> None:
    got = part()
    assert [(s.heading, s.lines) for s in got.scenes] == [
        ("INT. POST OFFICE - DAY", (1, 2)),
        ("EXT. LANE - NIGHT", (3,)),
    ]
    assert got.scenes[0].stop == got.scenes[1].start


def test_directions_stand_at_their_words() -> None:
    got = part()
    found = {(d.kind, d.text): (d.line, d.word, d.ours) for d in got.directions}
    assert found == {
        ("action", "The bell rings. TANSY looks up."): (1, 0, True), ("parenthetical", "quietly"): (1, 0, True),
        ("note", "looks at the letter"): (1, 2, True), ("note", "ears back"): (1, 14, True),
        ("action", "Rain."): (3, 0, False), ("note", "ears up"): (3, 0, True),
    }  # fmt: skip
    look = next(d for d in got.directions if d.text == "looks at the letter")
    assert look.tick == got.lines[0].word_spans[2][0]


def test_brackets_among_the_words_are_told() -> None:
    got = lines("TANSY\nOh! (looking back) It is you.\n", "s", Brief(cue="TANSY"))
    assert [t.code for t in got.told] == ["aside.spoken"]


def test_a_beat_is_a_second_of_silence() -> None:
    silence = [p for p in part().lines[1].phones if p.name == "SIL"]
    assert silence[0].stop - silence[0].start == 1200


def test_others_words_take_time() -> None:
    short = part().lines[1].start
    longer = (
        part(SCRIPT.replace("for it!", "for it, as I told you and everybody else who asked me on the way!"))
        .lines[1]
        .start
    )
    assert longer - short > 2 * 1200


def test_pace_of_a_mood_is_taken() -> None:
    slow = part(brief=BRIEF.model_copy(update={"pace": Pace(by_mood={"wary": 2.5})}))
    usual = part()
    assert slow.lines[0].stop - slow.lines[0].start > 1.2 * (usual.lines[0].stop - usual.lines[0].start)
    assert slow.lines[1].stop - slow.lines[1].start == usual.lines[1].stop - usual.lines[1].start


def test_a_pace_in_a_parenthetical_is_taken_and_is_no_move() -> None:
    text = "TANSY\n(slowly)\nPeople bring me puppets.\n\nTANSY\nPeople bring me puppets.\n"
    got = part(text)
    slow, usual = (s.stop - s.start for s in got.lines)
    assert slow > 1.15 * usual
    assert got.directions == ()
    moody = part(text, BRIEF.model_copy(update={"moods": {"slowly": "tired"}}))
    assert moody.lines[0].mood == "tired"
    assert moody.lines[0].stop - moody.lines[0].start == usual


def test_thinking_beat_comes_before_a_line() -> None:
    later = part(brief=BRIEF.model_copy(update={"life": Life(thinking_beat=1.4)}))
    assert later.lines[0].start - part().lines[0].start == 1200


def test_dual_dialogue_begins_together() -> None:
    got = part("TANSY\nOne two three.\n\nPIP ^\nOne two three four five six seven eight nine ten.\n\nTANSY\nFour.\n")
    alone = part("TANSY\nOne two three.\n\nTANSY\nFour.\n")
    assert got.lines[0].start == alone.lines[0].start
    assert got.lines[1].start > alone.lines[1].start


def test_a_cue_that_nobody_has_is_offered_the_nearest() -> None:
    got = part(brief=BRIEF.model_copy(update={"cue": "TANSI"}))
    assert got.lines == ()
    [fault] = got.faults
    assert (fault.code, fault.path, fault.try_) == ("no_such", "/brief/cue", "TANSY")


def test_a_brief_without_a_cue_is_told_which_there_are() -> None:
    [fault] = part(brief=Brief(script="s.fountain")).faults
    assert fault.path == "/brief/cue"
    assert "BRAM, TANSY" in fault.allowed


def test_cues_match_over_case_accents_and_company() -> None:
    text = "Éloïse and Bram wait.\n\nÉLOÏSE\nA.\n\nÉLOÏSE & BRAM\nB.\n\nELOISE\nC.\n"
    assert [s.text for s in part(text, Brief(script="s", cue="eloise")).lines] == ["A.", "B.", "C."]


def test_guessed_words_and_bad_pronunciations_are_told() -> None:
    got = part("TANSY\nGorble the λ.\n", BRIEF.model_copy(update={"says": {"Ouzel": "XX"}}))
    assert [t.code for t in got.told] == ["says", "letters", "unread"]
    assert got.told[1].line == 2
    assert "'Gorble'" in got.told[1].sentence


def test_a_pace_that_no_mouth_makes_is_told() -> None:
    got = part("TANSY\nStrengths.\n", BRIEF.model_copy(update={"pace": Pace(syllables=12.0)}))
    assert [t.code for t in got.told] == ["pace"]


def test_one_line_alone_is_the_line_in_the_part() -> None:
    """What a cell computes for one line is what the whole part has, moved in time."""
    play = fountain.read(SCRIPT, "s.fountain")
    entries, _ = cast(play, BRIEF)
    timed = [line(entry.ask, lower_says(BRIEF.says)) for entry in entries]
    got = lay_out(play, BRIEF, entries, timed)
    assert got.lines == part().lines
    first = got.lines[0]
    assert [(p.start + first.start, p.stop + first.start) for p in timed[0].phones] == [
        (p.start, p.stop) for p in first.phones
    ]


def test_an_empty_speech_and_no_script_give_an_empty_part() -> None:
    assert lines(None, "", BRIEF) == Part()
    got = part("INT. A\n\nTANSY\n(shrugs)\n\nTANSY\nYes.\n")
    assert [s.text for s in got.lines] == ["", "Yes."]
    assert got.lines[0].start == got.lines[0].stop


def test_two_hundred_pages_are_read() -> None:
    scene = SCRIPT.split("\n\nINT. MILL")[0]
    text = "\n\n".join(scene.replace("POST OFFICE", f"ROOM {k}") for k in range(260))
    assert len(text) > 65_000
    got = part(text)
    assert len(got.lines) == 520
    assert got.faults == ()
