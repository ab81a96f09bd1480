"""Timed lines on one axis, with the others' words and the action between them: docs/methods/screenplay.md has the rules."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from marotte.basis.contracts.common import Told
from marotte.basis.contracts.script import Direction, Phone, Spoken
from marotte.basis.faults import Fault
from marotte.basis.ticks import SERIES_EVERY, on_series, ticks
from marotte.creature.schema.brief import Brief
from marotte.script import fountain
from marotte.script.business import written_s
from marotte.script.casting import Entry, only_time, same_cue
from marotte.script.doings import LAND, LETTER, chained, in_order, lasts
from marotte.script.fountain import Action, Note, Scene, Screenplay
from marotte.script.pieces import fold
from marotte.script.utter import TimedLine

RUN_IN_S: Final = 1.0
"""Before the first and after the last thing of a scene."""
TURN_S: Final = 0.25
"""Between two speakers."""
LEAST_ACTION_S: Final = 0.5
SETTLE_S: Final = 0.6
"""Beside a time that an action is written to take ("for two seconds"): to settle before, and for the next line to come on after; ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SceneSpan:
    """A scene that the creature is in."""

    heading: str
    number: str
    section: str
    file_line: int
    start: int
    stop: int
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """The creature's part: its lines, the scenes it is in, what is written for its acting."""

    lines: tuple[Spoken, ...] = ()
    scenes: tuple[SceneSpan, ...] = ()
    directions: tuple[Direction, ...] = ()
    stop: int = 0
    told: tuple[Told, ...] = ()
    faults: tuple[Fault, ...] = ()


def lay_out(play: Screenplay, brief: Brief, entries: Sequence[Entry], timed: Sequence[TimedLine]) -> Part:
    """Put timed lines on one axis, scene after scene; scenes that the creature is not in take no time.

    Cheap: no phone is computed here.
    """
    if not entries:
        return Part()
    layout = _Layout(play, brief, entries, timed)
    for s, scene in enumerate(play.scenes):
        layout.scene(s, scene)
    return layout.part()


class _Layout:
    """One pass over the scenes with a clock."""

    def __init__(self, play: Screenplay, brief: Brief, entries: Sequence[Entry], timed: Sequence[TimedLine]) -> None:
        self.brief = brief
        self.by_speech = {id(entry.speech): (k, entry, timed[k]) for k, entry in enumerate(entries)}
        assert brief.cue is not None
        self.name = re.compile(rf"\b{re.escape(same_cue(brief.cue))}\b")
        self.cues = {same_cue(cue) for cue in play.cues()}
        self.cue = same_cue(brief.cue)
        self.names = tuple(sorted(brief.looks))
        self.now = self.busy = 0
        self.last = 0
        self.spoken: list[Spoken] = []
        self.scenes: list[SceneSpan] = []
        self.directions: list[Direction] = []
        self.told: list[Told] = []

    def scene(self, index: int, scene: Scene) -> None:
        """Add a scene, if the creature speaks in it or is named in its action."""
        if not any(id(e) in self.by_speech or (isinstance(e, Action) and self._about(e)) for e in scene.elements):
            return
        start, first = self.now, self.last
        self.now += ticks(RUN_IN_S)
        begun = self.now
        for element in scene.elements:
            if isinstance(element, Action):
                self._action(element, scene.heading)
                continue
            at = begun if element.dual else self.now
            begun = at
            mine = self.by_speech.get(id(element))
            stop = (
                self._mine(*mine, at, index, scene)
                if mine is not None
                else at + ticks(_others_s(element.text, self.brief.pace.syllables))
            )
            self.now = max(self.now, stop + ticks(TURN_S))
        self.now = on_series(self.now + ticks(RUN_IN_S)) + 5
        self.scenes.append(
            SceneSpan(
                heading=scene.heading, number=scene.number, section=scene.section, file_line=scene.file_line, start=start, stop=self.now,
                lines=tuple(range(first + 1, self.last + 1)),
            )
        )  # fmt: skip

    def _about(self, action: Action) -> bool:
        return bool(self.name.search(same_cue(action.text))) or any(
            self._is_mine(note) for note in action.notes if ":" in note.text
        )

    def _is_mine(self, note: Note) -> bool:
        """A note in action is the creature's unless it begins with another's cue and a colon."""
        head, colon, _ = note.text.partition(":")
        return not colon or same_cue(head) == self.cue or same_cue(head) not in self.cues

    def _note(self, note: Note, tick: int, scene: str, at: tuple[int, int] | None = None) -> None:
        head, colon, rest = note.text.partition(":")
        text = rest.strip() if colon and same_cue(head) == self.cue else note.text
        number, word = (self.last + 1, 0) if at is None else at
        self.directions.append(
            Direction(kind="note", text=text, tick=tick, line=number, word=word, file_line=note.file_line, scene=scene)
        )

    def _action(self, action: Action, scene: str) -> None:
        notes = [note for note in action.notes if self._is_mine(note)]
        takes = lasts([note.text for note in notes], self.names)
        for note in notes:
            self._note(note, self.now, scene)
        if action.text:
            self.directions.append(
                Direction(
                    kind="action", text=action.text, tick=self.now, line=self.last + 1, file_line=action.file_line, scene=scene,
                    ours=bool(self.name.search(same_cue(action.text))),
                )
            )  # fmt: skip
            asked_s = written_s(action.text)
            reading = max(ticks(LEAST_ACTION_S), round(len(action.text) * LETTER))
            _, begins, done = in_order(action.text, self.names)
            self.busy = self.now + done
            takes = max(takes, begins)
            takes = max(takes, reading + ticks(asked_s + SETTLE_S if asked_s else 0.0))
        self.now += takes

    def _mine(self, k: int, entry: Entry, timed: TimedLine, at: int, index: int, scene: Scene) -> int:
        speech = entry.speech
        self.last = k + 1
        heads = [note.text for note in speech.notes if note.at == 0]
        heads += [a.text for a in speech.asides if a.at == 0 and not only_time(a.text, self.brief)]
        ready = at
        if any(chained(text, self.names)[1] for text in heads):
            ready = max(at, self.busy + LAND)  # what the action asks for is done first
        start = on_series(ready + ticks(self.brief.life.thinking_beat) + lasts(heads, self.names) + SERIES_EVERY - 1)
        name = scene.heading or f"scene {index + 1}"
        spans = timed.word_spans()
        self.spoken.append(
            Spoken(
                line=k + 1, scene=name, file_line=speech.text_line, text=fountain.plain(speech.text), mood=entry.mood, start=start,
                stop=start + timed.stop, words=timed.words, word_spans=tuple((a + start, b + start) for a, b in spans),
                phones=tuple(Phone(name=p.name, stress=p.stress, start=p.start + start, stop=p.stop + start, word=p.word) for p in timed.phones),
                syllables=timed.syllables, from_recording=timed.from_recording, quality=timed.quality, seen=not speech.off_screen,
                accents=timed.accents, loudness=timed.loudness, word_quality=timed.word_quality,
            )
        )  # fmt: skip
        self.told += [
            Told(code=t.code, sentence=f"line {k + 1}: {t.sentence}", ref=t.ref, line=speech.text_line)
            for t in timed.told
        ]

        def place(letters: int) -> tuple[int, tuple[int, int]]:
            """Return the tick and (line, word) of what stands after some letters of the text; its end counts as before the next."""
            word = next((w for w, at in enumerate(timed.places) if at >= letters), len(timed.places))
            if word >= len(spans) or not letters:
                return (start, (k + 1, 0)) if not letters else (start + timed.stop, (k + 2, 0))
            return start + spans[word][0], (k + 1, word)

        for note in speech.notes:
            tick, at_word = place(note.at)
            self._note(note, tick, name, at_word if at_word[0] == k + 1 else (k + 1, len(spans)))
        for found in re.finditer(r"\([^()]+\)", speech.text):
            what = f"line {k + 1}: {found[0]!r} stands among the words and is spoken; a parenthetical has a line of its own, a note [[brackets]]"
            self.told.append(Told(code="aside.spoken", sentence=what, line=speech.text_line))
        for aside in speech.asides:
            if only_time(aside.text, self.brief):
                continue
            tick, (number, word) = place(aside.at)
            self.directions.append(
                Direction(
                    kind="parenthetical",
                    text=aside.text,
                    tick=tick,
                    line=number,
                    word=word,
                    file_line=aside.file_line,
                    scene=name,
                )
            )
        return start + timed.stop

    def part(self) -> Part:
        """Return what was laid out."""
        directions = tuple(sorted(self.directions, key=lambda d: (d.tick, d.file_line)))
        return Part(
            lines=tuple(self.spoken),
            scenes=tuple(self.scenes),
            directions=directions,
            stop=self.now,
            told=tuple(self.told),
        )


_GROUPS = re.compile(r"[aeiouy]+", re.IGNORECASE)


@lru_cache(maxsize=1024)
def _others_s(text: str, pace: float) -> float:
    """Return how long another's speech takes [s]: a syllable for each group of vowels, at the same pace, and its pauses."""
    count = 0
    for word in re.findall(r"[^\W\d_']+|\d", fold(text)):
        groups = len(_GROUPS.findall(word))
        silent = groups > 1 and word[-1:] in "eE" and word[-2:-1].lower() not in "aeiouyl"
        count += max(groups - silent, 1)
    stops = len(re.findall(r"[.!?…]+(?=\s)", text))
    commas = len(re.findall(r"[,;:—–](?=\s)", text))
    return count / pace + 0.5 * stops + 0.25 * commas
