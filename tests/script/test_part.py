"""The part as a performer reads it."""

from __future__ import annotations

import json
from typing import Literal

from marotte.basis.ticks import ticks
from marotte.creature.schema.brief import Brief, Pace
from marotte.script.lines import lines
from marotte.script.part import PartReport, part_report
from marotte.script.score import score

SCRIPT = """\
INT. POST OFFICE - DAY

TANSY
(quietly)
Good evening. [[looks at the letter]] You have come a long way. [[ears back]]

BRAM
Yes.

TANSY
Bob baked big brown buns, Peter picked purple pips, Mabel mopped Mum's marble, my pretty puppy barked.

EXT. LANE

TANSY (V.O.)
Nobody sees me say this.
"""


def report(speech: Literal["flap", "hits", "lips"] = "hits", text: str = SCRIPT, **more: object) -> PartReport:
    brief = Brief(script="s", cue="TANSY", speech=speech, moods={"quietly": "wary"}, **more)  # type: ignore[arg-type]
    part = lines(text, "s", brief)
    return part_report(part, score(part.lines, part.directions, brief, 7, part.stop), brief)


def test_counts_agree_with_one_another() -> None:
    got = report()
    assert got.words == sum(r.words for r in got.lines) == 30
    assert got.hits == sum(r.hits for r in got.lines)
    assert [s.lines for s in got.scenes] == [(1, 2), (3,)]
    assert got.moods == {"": 2, "wary": 1}
    assert got.recorded == 0
    assert all(r.seconds > 0 and 2 < r.syllables_per_s < 8 for r in got.lines)


def test_every_stressed_syllable_of_a_seen_line_is_a_hit() -> None:
    got = report()
    brief = Brief(script="s", cue="TANSY", speech="hits")
    for spoken, row in zip(lines(SCRIPT, "s", brief).lines, got.lines, strict=True):
        stressed = sum(p.stress == 1 for p in spoken.phones)
        assert row.hits >= stressed if spoken.seen else row.hits == 0


def test_a_crowded_line_is_told_what_to_drop() -> None:
    got = report(pace=Pace(syllables=6.5))
    assert 2 in got.too_much
    [advice] = [a for a in got.lines[1].asks_too_much if "too many hits" in a]
    assert advice.startswith("too many hits in line 2: drop ")
    assert "syllables a second instead of" in advice


def test_following_the_advice_to_speak_slower_settles_it() -> None:
    fast = report(pace=Pace(syllables=6.5))
    [advice] = [a for a in fast.lines[1].asks_too_much if "too many hits" in a]
    wanted = float(advice.split("speak it at ")[1].split()[0])
    slow = report(pace=Pace(syllables=wanted * 0.95))
    assert slow.lines[1].busiest_hits < fast.lines[1].busiest_hits
    assert slow.lines[1].busiest_hits <= 7


def test_a_line_without_a_breath_is_told_where_one_would_stand() -> None:
    words = " ".join(["the old goose walks over the hill and"] * 7) + " stops"
    got = report(text=f"TANSY\n{words}.\n")
    assert any("no breath for" in a and "before" in a for a in got.lines[0].asks_too_much)
    assert not any("no breath" in a for a in report(text="TANSY\nThe old goose walks.\n").lines[0].asks_too_much)


def test_an_unseen_line_asks_nothing_of_the_mouth() -> None:
    row = report().lines[2]
    assert (row.seen, row.hits) == (False, 0)


def test_the_report_is_plain_json() -> None:
    data = json.loads(json.dumps(report().as_json()))
    assert data["lines"][0]["text"].startswith("Good evening.")
    assert {"scenes", "moods", "looks", "business", "too_much", "told", "faults"} <= data.keys()


def test_an_empty_part_has_a_report() -> None:
    got = report(text="")
    assert (got.words, got.lines, got.scenes) == (0, (), ())
    assert got.faults


def test_two_seconds_is_the_span_counted() -> None:
    got = report("flap")
    assert all(r.busiest_hits <= r.hits for r in got.lines)
    assert ticks(2.0) == 2400


def test_what_is_done_stands_in_order_before_within_and_after_the_lines() -> None:
    text = (
        "INT. POST OFFICE - DAY\n\nTansy nods, then looks at the letter, then blinks twice.\n\nTANSY\nGood evening. [[stamps]] You may go.\n\n"
        "Tansy keeps still for two seconds. Tansy looks away.\n"
    )
    got = report(text=text, looks={"letter": {"at": (0.05, -0.3, 0.4)}}, life={"thinking_beat": 0.3})
    [row] = got.lines
    assert row.before == ("Tansy nods", "looks at letter", "blinks twice")
    assert row.during == ("stamps",)
    assert got.after == ("keeps still 2.0 s", "looks away")
