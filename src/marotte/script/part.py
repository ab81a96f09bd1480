"""The part as a performer reads it: scenes, lines, how fast, what is done, and which lines ask too much.

For ``marotte script``; ``as_json`` gives the same as plain values. What asks too much is a rule of this project
(docs/methods/part.md), with advice that says what to drop or how much slower to speak.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any, Final, Literal

from marotte.basis.contracts.common import Told
from marotte.basis.contracts.script import Spoken
from marotte.basis.faults import Fault
from marotte.basis.ticks import TICK_S, ticks
from marotte.creature.creature import Creature
from marotte.creature.schema.brief import Brief
from marotte.script.cast import alike, cast
from marotte.script.gaze import ANYWHERE, THOUGHT_OF, Look
from marotte.script.layout import Part
from marotte.script.lids import WHOLE
from marotte.script.life import SETTLE, Still
from marotte.script.lines import lines
from marotte.script.score import Score, score
from marotte.script.speech import FLAP_RATE, Mouthing
from marotte.script.syllables import phrases

OVER: Final = ticks(2.0)
"""Hits are counted over this [ticks]."""
MOST_HITS: Final[dict[Literal["flap", "hits", "lips"], float]] = {"flap": FLAP_RATE, "hits": 3.0, "lips": 8.0}
"""Hits a second that a mouth can be asked for over 2 s. A hand opens four times a second (common practice); a jaw on a servo or in a suit
that shall open wide and shut: ours, three; a full mouth: ours, openings and contacts together."""
LONGEST_BREATH: Final = ticks(8.0)
"""A phrase longer than this wants a breath in it [ticks]; ours."""
SPOKEN_FAST: Final = 7.0
"""Syllables a second above which a line is called fast; ours (English is read at some 6)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineReport:
    """One line."""

    line: int
    scene: str
    file_line: int
    text: str
    start_s: float
    seconds: float
    words: int
    syllables: int
    syllables_per_s: float
    """While speaking, pauses left out."""
    hits: int
    hits_per_s: float
    """While speaking, pauses left out."""
    busiest_hits: int
    """Most hits in any two seconds."""
    mood: str
    looks: tuple[str, ...]
    business: tuple[str, ...]
    before: tuple[str, ...]
    """What is done and looked at before it is spoken, in order, in words."""
    during: tuple[str, ...]
    """The same from its first word on."""
    breaths: int
    blinks: int
    from_recording: bool
    quality: float | None
    word_quality: tuple[float, ...]
    """How sure each word's times are, 0 to 1; empty where they are by rule."""
    doubtful: tuple[str, ...]
    """Words that sound unlike what is written (quality under a half)."""
    seen: bool
    asks_too_much: tuple[str, ...]
    """Sentences of advice; empty where the line can be played."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SceneReport:
    """One scene that the creature is in."""

    heading: str
    number: str
    file_line: int
    start_s: float
    seconds: float
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartReport:
    """The whole part."""

    cue: str
    speech: str
    voice: str
    seconds: float
    spoken_s: float
    words: int
    syllables: int
    hits: int
    recorded: int
    """Lines timed by a recording."""
    scenes: tuple[SceneReport, ...]
    lines: tuple[LineReport, ...]
    after: tuple[str, ...]
    """What is done and looked at after the last line, in order, in words."""
    moods: dict[str, int]
    """Mood -> lines in it; "" is none."""
    alike: tuple[tuple[str, ...], ...]
    """Played in ``lips``: mouth shapes that look the same on this mouth, each group in the order of the shapes."""
    looks: dict[str, int]
    business: dict[str, int]
    blinks: int
    breaths: int
    too_much: tuple[int, ...]
    """Lines that ask too much."""
    told: tuple[Told, ...]
    faults: tuple[Fault, ...]

    def as_json(self) -> dict[str, Any]:
        """Return plain values, for ``--json``; times in seconds from the start of the part."""
        out = asdict(self)
        out["told"] = [{"code": t.code, "sentence": t.sentence, "line": t.line} for t in self.told]
        out["faults"] = [{"code": f.code, "sentence": str(f)} for f in self.faults]
        return out


def report_of(
    creature: Creature, folder: Path | None = None, progress: Callable[[str], None] | None = None
) -> PartReport:
    """Return the report on a creature's part, recordings heard where there are any.

    Args:
        creature: with its script and recordings.
        folder: where alignments are kept; None is the user's cache folder.
        progress: called with a recording's name before it is heard.
    """
    recordings = {name: recording.path for name, recording in creature.recordings.items()}
    part = lines(creature.script_text, creature.script_name, creature.brief, recordings, folder, progress)
    who = cast(creature.functions, creature.poses, creature.build)
    same = alike(who) if creature.brief.speech == "lips" and who.mouth and not who.beak else ()
    scored = score(part.lines, part.directions, creature.brief, creature.seed, part.stop)
    found = part_report(part, scored, creature.brief, same)
    return replace(found, faults=tuple(creature.placed(fault) for fault in found.faults))


def part_report(part: Part, scored: Score, brief: Brief, same: tuple[tuple[str, ...], ...] = ()) -> PartReport:
    """Return the report on a part that was timed and scored; ``same`` are the shapes that its mouth cannot tell apart."""
    mouthings = {m.line: m for m in scored.mouthings}
    rows = tuple(_line(line, mouthings.get(line.line), scored, brief) for line in part.lines)
    return PartReport(
        cue=brief.cue or "", speech=brief.speech, voice=brief.voice, seconds=_s(part.stop), spoken_s=_s(sum(_spoken(x) for x in part.lines)),
        words=sum(r.words for r in rows), syllables=sum(r.syllables for r in rows), hits=sum(r.hits for r in rows),
        recorded=sum(r.from_recording for r in rows), lines=rows,
        after=tuple(what for _, what in _doings(scored, part.lines[-1].line + 1)) if part.lines else (), moods=_count([r.mood for r in rows]),
        scenes=tuple(
            SceneReport(heading=x.heading, number=x.number, file_line=x.file_line, start_s=_s(x.start), seconds=_s(x.stop - x.start), lines=x.lines)
            for x in part.scenes
        ),
        alike=same, looks=_count([look.target for look in scored.looks]), business=_count([done.text for done in scored.done]),
        blinks=len(scored.blinks), breaths=len(scored.breaths), too_much=tuple(r.line for r in rows if r.asks_too_much),
        told=part.told + scored.told, faults=part.faults,
    )  # fmt: skip


def _count(names: Sequence[str]) -> dict[str, int]:
    return {name: names.count(name) for name in sorted(set(names))}


def _s(length: int) -> float:
    return round(length * TICK_S, 3)


def _spoken(line: Spoken) -> int:
    return sum(p.stop - p.start for p in line.phones if p.name != "SIL")


def _line(line: Spoken, mouth: Mouthing | None, scored: Score, brief: Brief) -> LineReport:
    hits = _hits(line, mouth)
    doings = _doings(scored, line.line)
    spoken = _spoken(line) * TICK_S
    rate = line.syllables / spoken if spoken else 0.0
    busiest, first, last = _busiest([at for at, _ in hits])
    return LineReport(
        line=line.line, scene=line.scene, file_line=line.file_line, text=line.text, start_s=_s(line.start), seconds=_s(line.stop - line.start),
        words=len(line.words), syllables=line.syllables, syllables_per_s=round(rate, 2), hits=len(hits),
        hits_per_s=round(len(hits) / spoken, 2) if spoken else 0.0, busiest_hits=busiest, mood=line.mood,
        looks=tuple(look.target for look in scored.looks if look.line == line.line),
        business=tuple(done.text for done in scored.done if done.line == line.line),
        before=tuple(what for at, what in doings if at < line.start), during=tuple(what for at, what in doings if at >= line.start),
        breaths=sum(breath.line == line.line for breath in scored.breaths), blinks=sum(blink.line == line.line for blink in scored.blinks),
        from_recording=line.from_recording, quality=line.quality, seen=line.seen,
        word_quality=tuple(round(q, 3) for q in line.word_quality),
        doubtful=tuple(w for w, q in zip(line.words, line.word_quality, strict=False) if q < 0.5),
        asks_too_much=tuple(_advice(line, hits, (busiest, first, last), rate, brief)),
    )  # fmt: skip


def _doings(scored: Score, line: int) -> list[tuple[int, str]]:
    """Return (tick, what) of everything that is done or looked at for a line, in order: as written, looks and stillness in words."""
    out = [(done.at, done.text) for done in scored.done if done.line == line]
    out += [(still.start, still_words(still)) for still in scored.stills if still.line == line and still.what == "life"]
    written = [blink.at for blink in scored.blinks if blink.line == line and blink.why == "written"]
    runs = [at for k, at in enumerate(written) if not k or at - written[k - 1] > 2 * WHOLE]
    for run in runs:
        count = sum(1 for at in written if run <= at and not any(run < other <= at for other in runs))
        out.append((run, "blinks" if count == 1 else "blinks twice" if count == 2 else f"blinks {count} times"))
    for look in scored.looks:
        if look.line == line:
            out.append((look.at, look_words(look)))
    return sorted(out, key=lambda pair: pair[0])


def look_words(look: Look) -> str:
    """Return a look in words."""
    if look.target.startswith(THOUGHT_OF):
        return "looks away, thinking"
    where = look.target if look.target in ANYWHERE else f"at {look.target.replace('_', ' ')}"
    return f"looks back {where}" if look.eyes_only else f"looks {where}"


def still_words(still: Still) -> str:
    """Return a stillness in words."""
    return f"keeps still {(still.stop - still.start - SETTLE) * TICK_S:.1f} s"


def _hits(line: Spoken, mouth: Mouthing | None) -> list[tuple[int, int]]:
    """Return (tick, word) of everything that the mouth must meet in a line: openings and contacts, in order of time."""
    if mouth is None or not line.seen:
        return []
    found = [(o.start, o.word) for o in mouth.openings] + [(c.start, c.word) for c in mouth.contacts if c.word >= 0]
    return sorted(found)


def _busiest(at: Sequence[int]) -> tuple[int, int, int]:
    """Return how many hits the busiest two seconds hold, and the first and last of them."""
    best = (0, 0, 0)
    first = 0
    for last, tick in enumerate(at):
        while tick - at[first] >= OVER:
            first += 1
        if last - first + 1 > best[0]:
            best = (last - first + 1, first, last)
    return best


def _advice(
    line: Spoken, hits: Sequence[tuple[int, int]], busiest: tuple[int, int, int], rate: float, brief: Brief
) -> list[str]:
    out = []
    count, first, last = busiest
    most = math.floor(MOST_HITS[brief.speech] * OVER * TICK_S)
    if count > most:
        a, b = (line.words[max(hits[k][1], 0)] for k in (first, last))
        slower = (
            ""
            if line.from_recording
            else f", or speak it at {rate * most / count:.1f} syllables a second instead of {rate:.1f}"
        )
        out.append(
            f"too many hits in line {line.line}: drop {_number(count - most)} of the {count} between {a!r} and {b!r}{slower} "
            f"(a mouth played as {brief.speech!r} makes {most} in two seconds)"
        )
    if rate > SPOKEN_FAST:
        out.append(
            f"line {line.line} is spoken at {rate:.1f} syllables a second: slow it down to {SPOKEN_FAST:.0f} or cut words"
        )
    for phrase in phrases(line):
        if phrase.stop - phrase.start > LONGEST_BREATH:
            inside = [p.word for p in line.phones[phrase.first : phrase.last + 1] if p.word >= 0]
            middle = line.words[_middle_break(line, inside)]
            out.append(
                f"no breath for {_s(phrase.stop - phrase.start):.0f} s in line {line.line}, from {line.words[inside[0]]!r}: "
                f"put a comma or a (beat) before {middle!r}"
            )
    return out


def _middle_break(line: Spoken, words: Sequence[int]) -> int:
    """Return the word before which a breath would stand: the one that begins nearest to the middle of the phrase."""
    distinct = list(dict.fromkeys(words))
    middle = (line.word_spans[distinct[0]][0] + line.word_spans[distinct[-1]][1]) / 2
    after = [b for _, b in pairwise(distinct)] or distinct
    return min(after, key=lambda w: (abs(line.word_spans[w][0] - middle), w))


def _number(count: int) -> str:
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
    return words[count] if count < len(words) else str(count)
