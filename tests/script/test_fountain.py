"""The Fountain reader against the examples of the Fountain syntax page (its elements, from memory) and hostile text."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.script.fountain import Action, Screenplay, Speech, plain, read


def of(text: str) -> Screenplay:
    return read(text, "script.fountain")


def speeches(text: str) -> list[Speech]:
    return [e for s in of(text).scenes for e in s.elements if isinstance(e, Speech)]


def test_title_page_is_not_dialogue() -> None:
    play = of("Title:\n    _**The Last Post**_\nAuthor: Nobody\nContact: a\n\nINT. SHED - DAY\n\nRain.\n")
    assert play.title == {"title": "_**The Last Post**_", "author": "Nobody", "contact": "a"}
    assert [s.heading for s in play.scenes] == ["INT. SHED - DAY"]


@pytest.mark.parametrize(
    "heading", ["INT. HOUSE - DAY", "EXT. LANE", "INT./EXT. CAR", "I/E CAR - NIGHT", "EST. HARBOUR", "int. house"]
)
def test_scene_headings_are_found(heading: str) -> None:
    assert of(f"{heading}\n\nRain.\n").scenes[0].heading == heading


def test_forced_heading_takes_one_full_stop_and_not_two() -> None:
    assert of(".THE SHED\n\nRain.\n").scenes[0].heading == "THE SHED"
    assert of("..and on it goes\n\nRain.\n").scenes[0].heading == ""


def test_scene_number_is_taken_off_the_heading() -> None:
    scene = of("INT. HOUSE - DAY #1A-b.2#\n\nRain.\n").scenes[0]
    assert (scene.heading, scene.number) == ("INT. HOUSE - DAY", "1A-b.2")


@pytest.mark.parametrize(
    ("written", "cue"),
    [
        ("TANSY", "TANSY"), ("ÉLOÏSE", "ÉLOÏSE"), ("R2", "R2"), ("MAN 2", "MAN 2"), ("@McTavish", "McTavish"), ("DR. O'HARA", "DR. O'HARA"),
        ("TANSY (V.O.)", "TANSY"), ("TANSY (O.S.) (CONT'D)", "TANSY"), ("  TANSY  ", "TANSY"), ("TANSY (on the radio)", "TANSY"),
    ],
)  # fmt: skip
def test_cue_names_are_read(written: str, cue: str) -> None:
    assert speeches(f"INT. A\n\n{written}\nHello.\n")[0].cue == cue


@pytest.mark.parametrize("line", ["23", "Tansy", "---", "!TANSY"])
def test_what_is_no_cue_is_action(line: str) -> None:
    assert speeches(f"INT. A\n\n{line}\nHello.\n") == []


def test_cue_without_words_under_it_is_action() -> None:
    assert speeches("INT. A\n\nTANSY\n\nHello.\n") == []


def test_extensions_tell_who_is_not_seen() -> None:
    unseen = speeches("TANSY (V.O.)\nA.\n\nTANSY (O.S.)\nB.\n\nTANSY (CONT'D)\nC.\n")
    assert [s.off_screen for s in unseen] == [True, True, False]
    assert unseen[2].extensions == ("CONT'D",)


def test_dual_dialogue_marks_the_second() -> None:
    assert [(s.cue, s.dual) for s in speeches("TANSY\nOne.\n\nPIP ^\nTwo.\n")] == [("TANSY", False), ("PIP", True)]


def test_parentheticals_keep_their_place() -> None:
    speech = speeches("TANSY\n(quietly)\nGood evening.\n(louder)\nWho is there?\n")[0]
    assert speech.text == "Good evening. Who is there?"
    assert [(a.text, a.at) for a in speech.asides] == [("quietly", 0), ("louder", len("Good evening."))]


def test_parenthetical_over_two_lines_is_one() -> None:
    speech = speeches("TANSY\n(quietly, to the\nletter)\nYou.\n")[0]
    assert [a.text for a in speech.asides] == ["quietly, to the letter"]
    assert speech.text == "You."


def test_notes_keep_line_and_place_and_leave_the_speech_whole() -> None:
    play = speeches("TANSY\nOne [[ears back]] two.\n[[blinks\ntwice]]\nThree.\n")
    assert len(play) == 1
    assert play[0].text == "One two. Three."
    assert [(n.text, n.file_line) for n in play[0].notes] == [("ears back", 2), ("blinks twice", 3)]
    assert play[0].text[play[0].notes[0].at :].startswith((" two", "two"))


def test_boneyard_is_cut_and_lines_keep_their_numbers() -> None:
    play = of("INT. A\n\n/* TANSY\nNot this.\n\nnor this */\n\nPIP\nYes.\n")
    found = [e for s in play.scenes for e in s.elements if isinstance(e, Speech)]
    assert [(s.cue, s.file_line, s.text) for s in found] == [("PIP", 8, "Yes.")]
    assert play.faults == ()


def test_sections_and_synopses_are_no_action() -> None:
    play = of("# Act One\n\n## Morning\n\nINT. A\n\n= She waits.\n\nRain.\n")
    assert (play.scenes[0].section, play.scenes[0].synopsis) == ("Act One / Morning", "She waits.")
    assert [e.text for e in play.scenes[0].elements if isinstance(e, Action)] == ["Rain."]


@pytest.mark.parametrize("line", ["CUT TO:", "> Burn to white.", "===", "> FADE OUT."])
def test_transitions_and_page_breaks_say_nothing(line: str) -> None:
    elements = of(f"INT. A\n\nRain.\n\n{line}\n\nSun.\n").scenes[0].elements
    assert [e.text for e in elements] == ["Rain.", "Sun."]


def test_centred_text_and_forced_action_are_action() -> None:
    elements = of("INT. A\n\n> The End <\n\n!TANSY\nis a hare.\n").scenes[0].elements
    assert [e.text for e in elements] == ["The End", "TANSY is a hare."]


def test_lyrics_are_spoken() -> None:
    speech = speeches("TANSY\n~Oh the post is late\n~And so am I\n")[0]
    assert speech.lyrics
    assert speech.text == "Oh the post is late And so am I"


def test_two_spaces_keep_a_speech_over_a_blank_line() -> None:
    speech = speeches("TANSY\nOne.\n  \nTwo.\n\nNot this.\n")[0]
    assert speech.text == "One. Two."


def test_emphasis_comes_off() -> None:
    assert plain("**bold** _under_ *it* ***both*** _*un*_ 2 \\* 3 a * b") == "bold under it both un 2 * 3 a * b"


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "empty"), (" \n\t\n", "empty"), ("\x7fELF\x02\0\0\0" * 40, "not text"), ("PK\x03\x04\ufffd\ufffd\ufffd\x00" * 30, "not text"),
        ("A" * 4_000_001, "longer"), ("/* all of it", "never closed"), ("TANSY\nOne [[two.\n", "never closed"),
    ],
)  # fmt: skip
def test_bad_scripts_get_one_message(text: str, what: str) -> None:
    faults = of(text).faults
    assert any(what in fault.what for fault in faults)
    assert len({fault.what for fault in faults}) == len(faults) <= 2
    assert all(fault.code == "script" and fault.place is not None for fault in faults)


def test_line_ends_of_all_kinds_read_the_same() -> None:
    text = "INT. A\n\nTANSY\nHello.\n"
    assert of(text) == of(text.replace("\n", "\r\n")) == of(text.replace("\n", "\r")) == of("\ufeff" + text)


@settings(deadline=None, max_examples=150)
@given(st.text(alphabet=st.sampled_from(list("AB ab\n\n()[]/*^@!.>~#=<:\t'1é\\_")), max_size=160))
def test_no_text_is_too_odd_to_read(text: str) -> None:
    play = of(text)
    assert isinstance(play, Screenplay)
    lines = text.count("\n") + text.count("\r") + 1
    assert all(1 <= e.file_line <= lines for s in play.scenes for e in s.elements)


def test_a_note_behind_other_notes_keeps_its_word() -> None:
    text = "TANSY\nYou know... [[nods]] I never -- [[bows]] never liked it. [[blinks]]\n  \nGo.\n"
    [speech] = [e for scene in read(text, "s").scenes for e in scene.elements if isinstance(e, Speech)]
    assert speech.text == "You know... I never -- never liked it. Go."
    assert [speech.text[note.at :].split()[0] for note in speech.notes] == ["I", "never", "Go."]


def test_a_lyric_outside_a_speech_is_action_without_its_mark() -> None:
    [action] = [e for scene in read("~Sing a song\n", "s").scenes for e in scene.elements if isinstance(e, Action)]
    assert action.text == "Sing a song"
