"""Directions: whose they are, and when they fall."""

from __future__ import annotations

from marotte.basis.contracts.script import Direction
from marotte.creature.schema.brief import Brief, Target
from marotte.script.directions import read
from marotte.script.score import score
from tests.script.parts import long_part

TARGETS = {"letter": (0.0, -0.3, 0.4), "door": (1.6, 0.1, 1.2), "lens": (0.0, 0.0, 2.4)}


def action(text: str, line: int = 2, tick: int = 4000) -> Direction:
    return Direction(kind="action", text=text, line=line, tick=tick, file_line=9)


def done(*texts: str, cue: str = "TANSY") -> list[str]:
    found = read([action(t) for t in texts], long_part(4), Brief(cue=cue), TARGETS, 60_000)
    return [item.deed.form for item in found.done] + [look.target for look in found.looks]


def test_a_sentence_about_the_creature_is_its_own() -> None:
    assert done("Tansy's ears go back.") == ["ears back"]
    assert done("TANSY, a moor hare, nods.") == ["nods"]


def test_a_pronoun_is_the_creature_s_once_the_script_has_used_it_so() -> None:
    texts = ("Tansy's ears go back. She looks at the letter.", "The bell rings. She nods.", "He stamps. He nods.")
    assert done(*texts) == ["ears back", "nods", "letter"]


def test_a_word_before_the_subject_changes_nothing() -> None:
    assert done("Then Tansy nods.") == ["nods"]
    assert done("Slowly, Tansy nods.") == ["nods"]
    assert done("Tansy nods. Then she stamps.") == ["nods", "stamps"]
    assert done("Then Ouzel nods.") == []


def test_what_is_counted_is_not_done() -> None:
    assert done("Tansy counts the stamps on the steps.") == []
    assert done("Tansy stamps the letter and steps back.") == ["stamps", "steps"]


def test_two_stillnesses_and_a_look_follow_one_another() -> None:
    lines = long_part(2, 9.0)
    at = lines[0].stop
    notes = (
        Direction(kind="note", text="freezes", line=1, word=len(lines[0].words), tick=at),
        action("Tansy freezes for three seconds. Then Tansy looks at the letter.", 2, at + 300),
    )
    found = read(notes, lines, Brief(cue="TANSY"), TARGETS, 60_000)
    assert [still.stop <= found.looks[0].at for still in found.stills] == [True, True]
    assert found.stills[0].stop <= found.stills[1].start
    assert not found.told


def test_what_somebody_else_does_is_not() -> None:
    assert done("OUZEL, wet, nods.") == []
    assert done("Ouzel takes off his hat. He nods.") == []
    assert done("Ouzel looks at Tansy and nods.") == []


def test_then_and_and_part_two_doings() -> None:
    assert done("Tansy looks at the door, then she looks at the lens.") == ["door", "lens"]
    assert done("Tansy nods and stamps.") == ["nods", "stamps"]


def test_prose_that_asks_for_nothing_is_no_fault_and_a_note_that_is_not_understood_is() -> None:
    lines = long_part(4)
    assert (
        read([action("Tansy considers the weather of her youth.")], lines, Brief(cue="TANSY"), TARGETS, 60_000).told
        == []
    )
    note = Direction(kind="note", text="considers the weather", line=2, file_line=12)
    told = read([note], lines, Brief(cue="TANSY"), TARGETS, 60_000).told
    assert [t.code for t in told] == ["business.not_understood"]
    assert "line 12" in told[0].sentence


def test_a_parenthetical_that_is_a_silence_asks_for_nothing() -> None:
    for text in ("beat", "a long pause", "V.O.", "O.S.", "CONT'D"):
        note = Direction(kind="parenthetical", text=text, line=2, file_line=12)
        found = read([note], long_part(4), Brief(cue="TANSY"), TARGETS, 60_000)
        assert not found.told, text


def test_a_look_at_the_head_of_a_line_has_landed_when_it_begins() -> None:
    lines = long_part(4, 3.0)
    brief = Brief(looks={"letter": Target(at=TARGETS["letter"])})
    made = score(lines, (Direction(kind="parenthetical", text="to the letter", line=3),), brief, 7)
    look = next(item for item in made.looks if item.target == "letter")
    assert lines[1].stop < look.at < lines[2].start - 400


def test_a_note_within_a_line_falls_at_its_word() -> None:
    lines = long_part(4, 3.0)
    note = Direction(kind="note", text="nods", line=2, word=3)
    made = score(lines, (note,), Brief(), 7)
    assert abs(made.done[0].at - lines[1].word_spans[3][0]) <= 100


def test_what_follows_a_stillness_waits_for_its_end() -> None:
    lines = long_part(3, 9.0)
    at = lines[0].stop + 600
    notes = (action("Tansy keeps still for two seconds. Tansy nods.", tick=at),)
    made = score(lines, notes, Brief(cue="TANSY"), 7)
    still = next(s for s in made.stills if s.what == "life")
    assert made.done[0].at >= still.stop
    assert still.stop - still.start >= 2400


def test_a_stillness_without_time_is_cut_short_and_told() -> None:
    lines = long_part(3, 2.5)
    at = lines[0].stop + 300
    notes = (action("Tansy keeps still for two seconds. Tansy nods.", tick=at),)
    made = score(lines, notes, Brief(cue="TANSY"), 7)
    assert "still.short" in {t.code for t in made.told}
