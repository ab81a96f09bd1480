"""What the script engine hands on: the demand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from marotte.basis.contracts.common import Motion, Told

HitKind: TypeAlias = Literal["open", "closure", "lip_teeth", "lids_shut", "eyes_arrived", "landed", "still"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """One condition of a hit on one function's position (SI)."""

    function: str
    sense: Literal["<=", ">="]
    bound: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Hit:
    """An instant that must come off."""

    id: str
    """"closure.12.3": kind, line, count within the line; stable under edits elsewhere."""
    kind: HitKind
    opens: int
    shuts: int
    hold: int
    """All needs true together for ``hold`` ticks somewhere in [opens, shuts]."""
    needs: tuple[Need, ...]
    line: int
    """Line of dialogue, counted from 1; 0 where it belongs to none."""
    word: str
    weight: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The unit of simulation: cut where nothing moves, 12 s at most."""

    id: str
    start: int
    stop: int
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Phone:
    """One phone of speech as timed."""

    name: str
    """ARPAbet without its stress digit; "SIL" for a pause."""
    stress: int
    """0, 1, 2 for vowels; -1 for consonants and pauses."""
    start: int
    stop: int
    word: int
    """Index into the line's words; -1 for a pause."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoken:
    """One line of the creature's part, as timed."""

    line: int
    """Counted from 1 over the creature's lines."""
    scene: str
    file_line: int
    """Line of the script file."""
    text: str
    mood: str
    start: int
    stop: int
    words: tuple[str, ...]
    word_spans: tuple[tuple[int, int], ...]
    phones: tuple[Phone, ...]
    syllables: int
    from_recording: bool
    quality: float | None = None
    """Of the alignment, 0 to 1; None where times are by rule."""
    seen: bool = True
    """False for voice-over and off-screen lines: heard, with no mouth to be seen."""
    accents: tuple[int, ...] = ()
    """Words that carry the weight of their phrase: its last content word, and what the writer set off."""
    word_quality: tuple[float, ...] = ()
    """Per word, of the alignment, 0 to 1; empty where times are by rule."""
    loudness: tuple[float, ...] = ()
    """Per word, against the line's own mean [dB]; empty where times are by rule."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Direction:
    """What the script asks for beside the words: an action, a note, a parenthetical, business of the brief."""

    kind: Literal["action", "note", "parenthetical", "brief"]
    text: str
    """As written, without brackets."""
    line: int
    """The creature's line in which it stands or which follows it, from 1; one more than the last line after that."""
    word: int = 0
    """Index of the word of that line before which it stands; 0 is before the line is spoken, one past its words after it."""
    file_line: int = 0
    scene: str = ""
    tick: int = -1
    """When it falls on the part's axis as laid out; -1 where only its place is known."""
    ours: bool = True
    """False for an action that does not name the creature: something that happens around it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Beat:
    """One look, blink, mood, breath or piece of business, with the ticks it takes."""

    kind: Literal["look", "blink", "mood", "breath", "business", "rest", "scene"]
    what: str
    start: int
    stop: int
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Spans:
    """What is when."""

    lines: tuple[Spoken, ...]
    beats: tuple[Beat, ...]
    stop: int
    """Length of the part [ticks]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """What the script asks of every function."""

    motion: Motion
    hits: tuple[Hit, ...]
    windows: tuple[Window, ...]
    spans: Spans
    told: tuple[Told, ...] = ()
