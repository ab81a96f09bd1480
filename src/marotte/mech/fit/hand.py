"""Whether a performer's hand goes into the head, and how the mouth's plates sit on it. docs/methods/fit-hand.md."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, TypeAlias

from marotte.basis.contracts.fit import HandFit
from marotte.creature.creature import Mechanism
from marotte.creature.schema.functions import Function
from marotte.creature.schema.means import Hand
from marotte.creature.schema.mechs import Direct
from marotte.creature.schema.people import Performer

FOAM: Final = 10e-3
"""Of foam on each side of a hand [m] (common practice, no source)."""
WALL: Final = 6e-3
"""Of a head's own wall on each side [m], where only its outer width is written: a rule of this project."""


@dataclass(frozen=True, slots=True)
class HandsOf:
    """Hands of a population, straight lines over stature [m]."""

    people: str
    breadth: tuple[float, float]
    """Slope and value at zero stature."""
    scatter: float
    """Standard deviation about the line [m]."""
    length: tuple[float, float]
    palm: tuple[float, float]


REACH: Final = 1.96
"""Standard deviations that hold 19 of 20 to both sides."""
Scattered: TypeAlias = tuple[tuple[float, float], float]
"""A size of a population: a straight line over stature (slope, value at zero) and the standard deviation about it [m]."""
SURVEY: Final = "ANSUR II, US Army 2012 (Gordon et al. 2014), a military population"
HANDS: Final[dict[str, HandsOf]] = {
    "man": HandsOf("4082 men", (0.02985, 0.035842), 3.882e-3, (0.09767, 0.021743), (0.05344, 0.022611)),
    "woman": HandsOf("1986 women", (0.02828, 0.032101), 3.387e-3, (0.10123, 0.016234), (0.05504, 0.019058)),
}
"""Least squares on stature in the survey's public table, computed for this project; tests/published holds them against it."""


def hands_of(sex: str | None) -> HandsOf:
    """Return the hands of a population; of the larger one where the file does not say."""
    return HANDS[sex or "man"]


def surveyed(performer: Performer, man: Scattered, woman: Scattered) -> tuple[float, float]:
    """Return a size of a performer by a survey, and the half-width about it that holds 19 of 20 [m].

    Where the sex is unsaid the larger size is taken, and the half-width reaches to where that of the smaller ends.
    """
    (large, far), (small, near) = (
        (slope * performer.stature + start, REACH * scatter) for (slope, start), scatter in (man, woman)
    )
    if performer.sex == "woman":
        return small, near
    return (large, far) if performer.sex == "man" else (large, max(far, large - small + near))


def breadth_of(performer: Performer) -> tuple[float, str, float]:
    """Return a hand's breadth [m], where it comes from, and the half-width that holds 19 of 20 [m]."""
    if performer.hand_breadth is not None:
        return performer.hand_breadth, "written", 0.0
    man, woman = HANDS["man"], HANDS["woman"]
    mean, half = surveyed(performer, (man.breadth, man.scatter), (woman.breadth, woman.scatter))
    unsaid = "" if performer.sex is not None else ", sex unsaid: the larger hand is taken"
    return mean, f"mean of {hands_of(performer.sex).people} of that stature ({SURVEY}){unsaid}", half


def performer_of(means: Hand, performers: Mapping[str, Performer]) -> str | None:
    """Return who works a hand: as written, or the only performer."""
    if means.of is not None:
        return means.of if means.of in performers else None
    return next(iter(performers)) if len(performers) == 1 else None


def hand_fit(
    name: str,
    means: Hand,
    performer: str,
    performers: Mapping[str, Performer],
    mech: Mechanism,
    functions: Mapping[str, Function],
    inner: float,
) -> HandFit:
    """Return how a hand goes into a head.

    Args:
        name: of the means.
        means: the hand.
        performer: who works it.
        performers: by name.
        mech: what it moves.
        functions: by name.
        inner: widest inside of the head [m].
    """
    who = performers[performer]
    breadth, where, spread = breadth_of(who)
    table = hands_of(who.sex)
    fingers = (table.length[0] - table.palm[0]) * who.stature + table.length[1] - table.palm[1]
    record = mech.record
    return HandFit(
        performer=performer, means=name, breadth=breadth, breadth_from=where, spread=spread, foam=FOAM, inner=inner,
        fingers=fingers, plate=record.plate if isinstance(record, Direct) else None,
        gape=functions[mech.outputs[0]].span, ref=who.path_of("hand_breadth"),
    )  # fmt: skip
