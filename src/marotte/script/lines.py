"""The creature's lines on one axis of time.

``cast`` finds the lines of a cue in a screenplay; ``line`` times one of them, from 0, and is all that an edited line costs;
``lay_out`` puts the timed lines one after the other, with the others' words and the action between them; ``lines`` is all
three. How long what is between takes is a rule of this project: docs/methods/screenplay.md.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from marotte.basis.contracts.common import Told
from marotte.basis.contracts.script import Direction, Phone, Spoken
from marotte.basis.faults import Fault, nearest
from marotte.basis.ticks import on_series, ticks
from marotte.creature.schema.brief import Brief
from marotte.script import fountain
from marotte.script.fountain import Action, Note, Scene, Screenplay, Speech
from marotte.script.phones import FUNCTION_WORDS, VOWELS, check_says, pronounce
from marotte.script.spoken import SaidWord, fold, spoken
from marotte.script.timing import TimedPhone, WordPhones, by_rule, fastest

RUN_IN_S: Final = 1.0
"""Before the first and after the last thing of a scene."""
TURN_S: Final = 0.25
"""Between two speakers."""
ACTION_S_PER_LETTER: Final = 60.0 / (55 * 60)
"""A page a minute, 55 lines of 60 letters: common practice, no source."""
LEAST_ACTION_S: Final = 0.5
REST_S: Final[dict[str, float]] = {
    "beat": 1.0,
    "a beat": 1.0,
    "pause": 1.0,
    "a pause": 1.0,
    "long pause": 2.0,
    "a long pause": 2.0,
    "long beat": 2.0,
}
"""Parentheticals that are silences; ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One line of the creature as the screenplay has it: what ``line`` needs, and no more."""

    text: str
    pace: float
    """Syllables a second while speaking [1/s]."""
    rests: tuple[tuple[int, float], ...] = ()
    """(letters of the text before it, silence [s])."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedLine:
    """One line with its times from 0 [ticks]."""

    words: tuple[str, ...]
    places: tuple[int, ...]
    """Per word: letters of the text before it."""
    phones: tuple[TimedPhone, ...]
    stop: int
    syllables: int
    accents: tuple[int, ...]
    from_recording: bool = False
    quality: float | None = None
    loudness: tuple[float, ...] = ()
    told: tuple[Told, ...] = ()
    """Without line and file line: those are not this cell's to know."""

    def word_spans(self) -> tuple[tuple[int, int], ...]:
        """Return (start, stop) of every word [ticks]."""
        spans: dict[int, tuple[int, int]] = {}
        for phone in self.phones:
            if phone.word >= 0:
                start = spans.get(phone.word, (phone.start, 0))[0]
                spans[phone.word] = (start, phone.stop)
        return tuple(spans[w] for w in range(len(self.words)))


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One of the creature's lines with its place in the screenplay."""

    ask: Ask
    mood: str
    scene: int
    speech: Speech


def lines(script_text: str | None, script_name: str, brief: Brief) -> Part:
    """Return the creature's part by rules alone. Never raises on what a script may hold: see ``faults``."""
    if script_text is None:
        return Part()
    play = fountain.read(script_text, script_name)
    entries, faults = cast(play, brief)
    says = lower_says(brief.says)
    timed = tuple(line(entry.ask, says) for entry in entries)
    part = lay_out(play, brief, entries, timed)
    told = tuple(Told(code="says", sentence=text, ref=ref) for text, ref in check_says(brief.says)) + part.told
    return Part(
        lines=part.lines,
        scenes=part.scenes,
        directions=part.directions,
        stop=part.stop,
        told=told,
        faults=play.faults + faults,
    )


def lower_says(says: Mapping[str, str]) -> dict[str, str]:
    """Return the file's own words as ``line`` wants them: lower case, without accents."""
    return {fold(word).lower().replace("’", "'"): phones for word, phones in says.items()}


def same_cue(name: str) -> str:
    """Return a cue name in the form in which two are compared: no accents, no case, single spaces."""
    return " ".join(fold(name).casefold().replace(".", " ").split())


def cast(play: Screenplay, brief: Brief) -> tuple[tuple[Entry, ...], tuple[Fault, ...]]:
    """Return the lines of the brief's cue, in order, or the fault that nobody has that cue."""
    if not play.scenes:
        return (), ()
    cues = play.cues()
    if brief.cue is None:
        try_ = f"cue: {cues[0]}" if cues else ""
        return (), (
            Fault(
                code="missing",
                what="the brief names a script but no cue",
                path="/brief/cue",
                allowed=_some(cues),
                try_=try_,
            ),
        )
    cue = same_cue(brief.cue)
    out: list[Entry] = []
    for s, scene in enumerate(play.scenes):
        for element in scene.elements:
            if not isinstance(element, Speech):
                continue
            if cue in {same_cue(name) for name in _names(element.cue)}:
                out.append(_entry(element, s, brief))
    if out:
        return tuple(out), ()
    near = nearest(cue, [same_cue(name) for name in cues])
    try_ = next((name for name in cues if same_cue(name) == near), "")
    what = f"nobody in the script has the cue {brief.cue!r}"
    return (), (Fault(code="no_such", what=what, path="/brief/cue", found=brief.cue, allowed=_some(cues), try_=try_),)


def _some(cues: Sequence[str]) -> str:
    return ", ".join(sorted(cues)[:12]) + (f" and {len(cues) - 12} more" if len(cues) > 12 else "")


def _names(cue: str) -> list[str]:
    """Return the names of a shared cue: ``TANSY AND PIP``, ``TANSY & PIP``, ``TANSY / PIP``; and the cue as it stands."""
    return [cue, *(re.split(r"\s*(?:/|&|,|\bAND\b)\s*", cue) if re.search(r"/|&|,|\bAND\b", cue) else [])]


def mood_of(text: str, brief: Brief) -> str:
    """Return the mood that a parenthetical asks for, by the brief's list, or an empty string.

    The whole of it counts first, then its parts between commas, semicolons, "and" and "then"; the first that is listed.
    """
    wanted = {" ".join(key.lower().split()): mood for key, mood in brief.moods.items()}
    whole = " ".join(text.lower().split())
    for piece in (whole, *(p.strip() for p in re.split(r"[,;]|\band\b|\bthen\b|\bbut\b", whole))):
        if piece in wanted:
            return wanted[piece]
    return ""


def _entry(speech: Speech, scene: int, brief: Brief) -> Entry:
    moods = [mood_of(aside.text, brief) for aside in speech.asides if aside.at == 0]
    mood = next((m for m in moods if m), "")
    rests = tuple(
        (a.at, REST_S[a.text.lower().strip(" .")])
        for a in speech.asides
        if a.text.lower().strip(" .") in REST_S and a.at > 0
    )
    pace = brief.pace.by_mood.get(mood, brief.pace.syllables)
    return Entry(ask=Ask(text=speech.text, pace=pace, rests=rests), mood=mood, scene=scene, speech=speech)


def line(ask: Ask, says: Mapping[str, str]) -> TimedLine:
    """Return one line, timed by rule from 0.

    Args:
        ask: its text, pace and rests.
        says: the file's own words, through ``lower_says``.
    """
    utterance = spoken(ask.text)
    words, guessed = word_phones(utterance.words, says)
    told: list[Told] = [_guess(word, arpabet) for word, arpabet in guessed.items()]
    told += [Told(code="unread", sentence=f"{piece!r} has no reading and is left out") for piece in utterance.skipped]
    phones = _with_rests(by_rule(words, ask.pace), utterance.words, ask.rests)
    if words and ask.pace > fastest(words):
        told.append(
            Told(code="pace", sentence=f"{ask.pace:.1f} syllables a second is faster than its phones at their shortest")
        )
    return TimedLine(
        words=tuple(w.written for w in utterance.words), places=tuple(w.at for w in utterance.words), phones=phones,
        stop=phones[-1].stop if phones else 0, syllables=sum(p in VOWELS for w in words for p in w.phones),
        accents=tuple(k for k, w in enumerate(words) if w.accent), told=tuple(told),
    )  # fmt: skip


def _guess(word: str, arpabet: str) -> Told:
    return Told(
        code="letters",
        sentence=f"{word!r} is in no dictionary and was read by its letters, {arpabet}; write it under brief > says",
    )


def word_phones(words: Sequence[SaidWord], says: Mapping[str, str]) -> tuple[tuple[WordPhones, ...], dict[str, str]]:
    """Return the words as they are spoken in this sentence, and those that were read by their letters.

    Function words lose their stress unless the writer set them off; of every phrase (up to a pause) the last word with stress
    carries the weight. ``the`` before a vowel is DH IY.
    """
    said = [pronounce(w.word, says) for w in words]
    guessed = {w.written: p.arpabet for w, p in zip(words, said, strict=True) if p.origin == "letters"}
    first = 0
    out: list[WordPhones] = []
    while first < len(words):
        last = first
        while last < len(words) - 1 and not words[last].pause:
            last += 1
        span = range(first, last + 1)
        weak = {k: words[k].word in FUNCTION_WORDS and not words[k].emphasis for k in span}
        strong = [k for k in span if not weak[k] and 1 in said[k].stress]
        main = strong[-1] if strong else next((k for k in reversed(span) if 1 in said[k].stress), last)
        for k in span:
            phones, stress = said[k].phones, said[k].stress
            if weak[k] and k != main:
                stress = tuple(0 if s > 0 else s for s in stress)
            if (
                words[k].word == "the"
                and k < len(words) - 1
                and said[k + 1].phones[:1]
                and said[k + 1].phones[0] in VOWELS
            ):
                phones = ("DH", "IY")
            accent = k == main or (words[k].emphasis and not weak[k])
            out.append(
                WordPhones(
                    phones=phones, stress=stress, accent=accent, weak=weak[k] and k != main, pause=words[k].pause
                )
            )
        first = last + 1
    return tuple(out), guessed


def _with_rests(
    phones: tuple[TimedPhone, ...], words: Sequence[SaidWord], rests: Sequence[tuple[int, float]]
) -> tuple[TimedPhone, ...]:
    """Put silences before the words that follow them; a pause already there grows to the silence."""
    if not rests or not phones:
        return phones
    before = {next((k for k, w in enumerate(words) if w.at >= at), len(words)): length for at, length in rests}
    out: list[TimedPhone] = []
    shift = 0
    for phone in phones:
        if phone.word > 0 and phone.word in before and (not out or out[-1].word != phone.word):
            length = ticks(before.pop(phone.word))
            here = phone.start + shift
            start = here
            if out and out[-1].name == "SIL":
                start = out.pop().start
            stop = max(start + length, here)
            out.append(TimedPhone(name="SIL", stress=-1, start=start, stop=stop, word=-1))
            shift += stop - here
        out.append(
            TimedPhone(
                name=phone.name,
                stress=phone.stress,
                start=phone.start + shift,
                stop=phone.stop + shift,
                word=phone.word,
            )
        )
    return tuple(out)


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
        self.now = 0
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
        for note in action.notes:
            if self._is_mine(note):
                self._note(note, self.now, scene)
        if action.text:
            self.directions.append(
                Direction(
                    kind="action", text=action.text, tick=self.now, line=self.last + 1, file_line=action.file_line, scene=scene,
                    ours=bool(self.name.search(same_cue(action.text))),
                )
            )  # fmt: skip
            self.now += ticks(max(LEAST_ACTION_S, len(action.text) * ACTION_S_PER_LETTER))

    def _mine(self, k: int, entry: Entry, timed: TimedLine, at: int, index: int, scene: Scene) -> int:
        speech = entry.speech
        self.last = k + 1
        start = at + ticks(self.brief.life.thinking_beat)
        name = scene.heading or f"scene {index + 1}"
        spans = timed.word_spans()
        self.spoken.append(
            Spoken(
                line=k + 1, scene=name, file_line=speech.text_line, text=fountain.plain(speech.text), mood=entry.mood, start=start,
                stop=start + timed.stop, words=timed.words, word_spans=tuple((a + start, b + start) for a, b in spans),
                phones=tuple(Phone(name=p.name, stress=p.stress, start=p.start + start, stop=p.stop + start, word=p.word) for p in timed.phones),
                syllables=timed.syllables, from_recording=timed.from_recording, quality=timed.quality, seen=not speech.off_screen,
                accents=timed.accents, loudness=timed.loudness,
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
            self._note(note, tick, name, at_word)
        for aside in speech.asides:
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
