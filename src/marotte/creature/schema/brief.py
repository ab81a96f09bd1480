"""The brief: what the creature must do."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from marotte.basis.units import ANGLE, FREQUENCY, RATIO, TIME
from marotte.creature.schema.base import Name, Record, Word
from marotte.creature.schema.quantities import Point, q


class Pace(Record):
    """How fast it speaks."""

    syllables: Annotated[float, q(FREQUENCY, "v_s", "syllables a second", gt=0.2, le=12)] = 4.6
    by_mood: dict[Name, Annotated[float, q(FREQUENCY, "v_s", "syllables a second", gt=0.2, le=12)]] = Field(
        default_factory=dict
    )


class Target(Record):
    """A named place to look at."""

    at: Point
    """From the origin between the eyes, with the head square to the front."""


class Business(Record):
    """A piece of business, in plain words."""

    line: Annotated[int, Field(ge=0, le=100000)]
    """The creature's line, counted from 1, at whose start it is done; 0 is the start of the part."""
    do: Word
    """What is done, in plain words."""


class Attitudes(Record):
    """How the head may be held while it acts."""

    nod: tuple[
        Annotated[float, q(ANGLE, "nod", "nod", ge=-3.2, le=3.2)],
        Annotated[float, q(ANGLE, "nod", "nod", ge=-3.2, le=3.2)],
    ] = (0.0, 0.0)
    turn: tuple[
        Annotated[float, q(ANGLE, "turn", "turn", ge=-3.2, le=3.2)],
        Annotated[float, q(ANGLE, "turn", "turn", ge=-3.2, le=3.2)],
    ] = (0.0, 0.0)
    tilt: tuple[
        Annotated[float, q(ANGLE, "tilt", "tilt", ge=-3.2, le=3.2)],
        Annotated[float, q(ANGLE, "tilt", "tilt", ge=-3.2, le=3.2)],
    ] = (0.0, 0.0)


class Life(Record):
    """What moves without being written."""

    blinks: Annotated[float, q(FREQUENCY, "n_b", "blinks a minute at most, as punctuation", ge=0, le=1)] = 9 / 60
    idle: Annotated[float, q(RATIO, "a_i", "idle life as a share of travel", ge=0, le=0.2)] = 0.02
    idle_by_mood: dict[Name, Annotated[float, q(RATIO, "a_i", "idle life as a share of travel", ge=0, le=0.2)]] = Field(
        default_factory=dict
    )
    """In a mood: more where it is restless, less where it is frozen."""
    breath: Annotated[float, q(FREQUENCY, "n_r", "breaths a minute at rest", ge=0, le=1)] = 16 / 60
    thinking_beat: Annotated[float, q(TIME, "t_t", "beat before a line", ge=0, le=5)] = 0.4


class Brief(Record):
    """Script, speech, voice, moods, looks, business."""

    script: Word | None = None
    """A Fountain file in the creature folder."""
    cue: Word | None = None
    """The name by which the script calls this creature."""
    speech: Literal["flap", "hits", "lips"] = "hits"
    """How this mouth is played."""
    voice: Literal["own", "playback", "other"] = "own"
    """Who speaks, and so how early the mouth can be."""
    says: dict[Word, Word] = Field(default_factory=dict)
    """Words that no dictionary has, in ARPAbet."""
    pace: Pace = Pace()
    moods: dict[Word, Name] = Field(default_factory=dict)
    """Parenthetical -> mood."""
    looks: dict[Name, Target] = Field(default_factory=dict)
    business: tuple[Business, ...] = ()
    attitudes: Attitudes = Attitudes()
    life: Life = Life()
