"""Whether a wearer's head goes into the creature's head, and the room that it takes there. docs/methods/fit-wearer.md."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from marotte.basis.contracts.fit import WearerFit
from marotte.basis.frames import Vec
from marotte.creature.schema.people import Performer
from marotte.mech.fit.hand import SURVEY, surveyed
from marotte.mech.fit.skull import Shell

PAD: Final = 15e-3
"""Of foam or harness on each side of a worn head [m] (common practice, no source)."""
WEARER: Final = "wearer"
"""Name under build > points of the middle of the wearer's head."""
SELLION_OVER_TRAGION: Final = 0.15
"""Share of the height from tragion to crown that lies below the bridge of the nose: a rule of this project."""


@dataclass(frozen=True, slots=True)
class HeadsOf:
    """Heads of a population, straight lines over stature: slope and value at zero stature [m]."""

    people: str
    breadth: tuple[float, float]
    breadth_scatter: float
    """Standard deviation about the line [m]."""
    length: tuple[float, float]
    length_scatter: float
    face: tuple[float, float]
    """From chin to the bridge of the nose."""
    crown: tuple[float, float]
    """From the ear's tragion to the crown."""


HEADS: Final[dict[str, HeadsOf]] = {
    "man": HeadsOf(
        "4082 men", (0.006056, 0.143694), 5.517e-3, (0.037822, 0.13308), 6.529e-3, (0.029422, 0.070973), (0.017845, 0.099808)
    ),
    "woman": HeadsOf(
        "1986 women", (0.012637, 0.12719), 5.129e-3, (0.041527, 0.122194), 6.957e-3, (0.028247, 0.067095), (0.022256, 0.090232)
    ),
}  # fmt: skip
"""Least squares on stature in the survey's public table, computed for this project; tests/published holds them against it."""


def _at(line: tuple[float, float], stature: float) -> float:
    return line[0] * stature + line[1]


def wearer_of(performers: Mapping[str, Performer]) -> str | None:
    """Return who is in the suit; the first by name where there are several."""
    return min((name for name, person in performers.items() if person.posture == "in_suit"), default=None)


def wearer_fit(name: str, person: Performer, at: Vec, shell: Shell) -> WearerFit:
    """Return how a wearer's head goes into a skull where its middle is [m].

    The room there is twice the shorter way from its middle to the shell, from side to side and from front to back.
    """
    table = HEADS[person.sex or "man"]
    unsaid = "" if person.sex is not None else ", sex unsaid: the larger head is taken"
    where = f"mean of {table.people} of that stature ({SURVEY}){unsaid}"
    breadth, length = person.head_breadth, person.head_length
    man, woman = HEADS["man"], HEADS["woman"]
    across = surveyed(person, (man.breadth, man.breadth_scatter), (woman.breadth, woman.breadth_scatter))
    along = surveyed(person, (man.length, man.length_scatter), (woman.length, woman.length_scatter))
    height = _at(table.face, person.stature) + (1.0 - SELLION_OVER_TRAGION) * _at(table.crown, person.stature)
    return WearerFit(
        performer=name,
        breadth=breadth if breadth is not None else across[0],
        breadth_from="written" if breadth is not None else where,
        breadth_spread=0.0 if breadth is not None else across[1],
        length=length if length is not None else along[0],
        length_from="written" if length is not None else where,
        length_spread=0.0 if length is not None else along[1],
        height=height, pad=PAD, inner_width=2.0 * _shorter(shell, at, (1.0, 0.0, 0.0)), inner_depth=2.0 * _shorter(shell, at, (0.0, 0.0, 1.0)),
        breadth_ref=person.path_of("head_breadth"), length_ref=person.path_of("head_length"),
    )  # fmt: skip


def _shorter(shell: Shell, at: Vec, way: Vec) -> float:
    """Return the shorter of both ways from a point to a shell along a line [m]."""
    back = (-way[0], -way[1], -way[2])
    return min(shell.way_out(at, way), shell.way_out(at, back))
