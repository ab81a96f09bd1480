"""What people see: tables on a terminal of any width, plain text into a pipe, progress only where it takes long."""

from __future__ import annotations

import io
import json
import re
import time

import pytest

from marotte.cli.screen import Screen

HEADS = ("finding", "needs", "has", "margin", "")
ROWS = [
    ["lid_upper_left/right.mech", "40 deg", "25.6 deg", "-36 % (-44 .. -27)", "The rod meets its arm at 25.6 deg at worst, at 62 deg."],
    ["jaw.drive", "0.506 N·m", "0.164 N·m", "-67 % (-83 .. -41)", "The jaw wants 0.506 N·m of its servo and has 0.164 N·m."],
]  # fmt: skip


class Terminal(io.StringIO):
    """Letters that a terminal would have got."""

    encoding = "utf-8"  # type: ignore[assignment]

    def isatty(self) -> bool:
        return True


def shown(monkeypatch: pytest.MonkeyPatch, columns: int) -> list[str]:
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.setenv("TERM", "xterm")
    out = Terminal()
    Screen(out, Terminal()).table(HEADS, ROWS, right=(1, 2))
    return plain(out)


def plain(out: io.StringIO) -> list[str]:
    """Return the lines without what makes them bold, and without blanks at their ends."""
    return [line.rstrip() for line in re.sub(r"\x1b\[[0-9;]*m", "", out.getvalue()).splitlines()]


@pytest.mark.parametrize("columns", [60, 80, 100, 120, 160])
def test_no_width_of_terminal_loses_a_word_or_breaks_one(monkeypatch: pytest.MonkeyPatch, columns: int) -> None:
    lines = shown(monkeypatch, columns)
    assert max(map(len, lines)) <= columns
    words = " ".join(lines).split()
    for row in ROWS:
        for word in " ".join(row).split():
            assert word.rstrip(",") in [found.rstrip(",") for found in words], word


def test_prose_has_room_on_a_terminal_of_eighty_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = shown(monkeypatch, 80)
    assert lines[0].split() == ["finding", "needs", "has", "margin"]
    assert lines[1].startswith("lid_upper_left/right.mech")
    assert lines[2] == "    The rod meets its arm at 25.6 deg at worst, at 62 deg."
    assert len(lines) == 5


def test_a_narrow_terminal_tells_a_row_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = shown(monkeypatch, 60)
    assert lines[0] == "lid_upper_left/right.mech"
    assert lines[1] == "    needs 40 deg, has 25.6 deg, margin -36 % (-44 .. -27)"


def test_an_entry_of_a_list_hangs_under_its_first_word(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    monkeypatch.setenv("TERM", "xterm")
    out = Terminal()
    Screen(out, Terminal()).item("Keep fingers, hair and faces out of a powered mouth.")
    assert plain(out) == ["- Keep fingers, hair and faces out of a", "  powered mouth."]


def test_a_pipe_gets_text_without_escapes_and_without_wrapping() -> None:
    out = io.StringIO()
    screen = Screen(out, io.StringIO())
    screen.item("word " * 60)
    screen.say("bold", style="bold")
    assert out.getvalue().splitlines() == [("- " + "word " * 60), "bold"]


@pytest.mark.parametrize(("seconds", "told"), [(0.0, False), (0.3, True)])
def test_progress_is_told_on_standard_error_and_only_past_its_patience(
    monkeypatch: pytest.MonkeyPatch, seconds: float, told: bool
) -> None:
    monkeypatch.setattr("marotte.cli.screen.PATIENCE_S", 0.1)
    out, err = io.StringIO(), Terminal()
    with Screen(out, err).progress("Checking Hen"):
        time.sleep(seconds)
    assert ("Checking Hen ..." in err.getvalue()) is told
    assert not told or err.getvalue().endswith("\r\033[K")  # and taken away again
    assert out.getvalue() == ""


STEERING = "\x1b[31m\x07\r\x7f\x9b2J\u202e\u2028"
"""An escape sequence, a bell, a return to the line's beginning, a C1 introducer, a change of direction, a line separator."""
STEERS = re.compile("[^\n\t -~\u00a0-\u061b\u061d-\u200d\u2010-\u2027\u202f-\u2065\u206a-\U0010ffff]")
"""Whatever is neither a line's end, a tabulator nor a letter to be shown: ISO/IEC 6429's controls, and Unicode's of direction."""


@pytest.mark.parametrize("terminal", [True, False])
def test_no_letter_of_a_file_steers_the_terminal_or_the_log(terminal: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "dumb")
    out, err = (Terminal(), Terminal()) if terminal else (io.StringIO(), io.StringIO())
    screen = Screen(out, err)
    screen.say(f"say {STEERING}")
    screen.item(f"item {STEERING}")
    screen.table(HEADS, [[f"{STEERING}{k}" for k in range(5)]])
    screen.trouble(f"trouble {STEERING}")
    screen.ours(ValueError(STEERING))
    screen.json({"name": STEERING})
    for text in (out.getvalue(), err.getvalue()):
        assert not STEERS.findall(text)
    assert "\\x1b[31m\\x07\\x0d\\x7f\\x9b2J\\u202e\\u2028" in out.getvalue()
    assert json.loads(out.getvalue()[out.getvalue().index("{") :])["name"] == STEERING


def test_progress_shows_what_steers_the_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("marotte.cli.screen.PATIENCE_S", 0.02)
    err = io.StringIO()
    with Screen(io.StringIO(), err).progress(f"Checking {STEERING}"):
        time.sleep(0.2)
    assert "Checking \\x1b[31m" in err.getvalue()
    assert not STEERS.findall(err.getvalue())
