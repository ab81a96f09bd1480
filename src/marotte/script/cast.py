"""Which functions of a creature play which role: mouth, eyes, head, lids; and where each shape puts each of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64, I64
from marotte.creature.anatomy import PARTS
from marotte.creature.schema.build import Build
from marotte.creature.schema.functions import Function
from marotte.creature.schema.poses import Pose, Poses
from marotte.script.visemes import JAW, SHAPES

JAWS: Final = ("jaw", "beak")
SEALS: Final = ("jaw", "beak", "lip_lower", "lip_upper")
"""Parts that close a mouth: for all of them least is shut."""


@dataclass(frozen=True, slots=True)
class Cast:
    """Functions by row, and the rows by role."""

    names: tuple[str, ...]
    functions: tuple[Function, ...]
    units: tuple[str, ...]
    low: F64
    high: F64
    neutral: F64
    mouth: tuple[int, ...]
    """Rows that a mouth shape moves, rising."""
    jaws: tuple[int, ...]
    seals: tuple[int, ...]
    """Rows of the mouth that have to be shut for a closure."""
    eyes_move: bool
    turn: tuple[int, ...]
    lift: tuple[int, ...]
    head_turn: int
    """Row, or -1."""
    head_nod: int
    body_turn: int
    lids: tuple[int, ...]
    upper: tuple[int, ...]
    shapes: F64
    """(15, mouth) position [rad or m] of each shape."""
    lip: I64
    """(mouth,) 1 for lips, 0 for jaws: whose pull counts."""
    unwritten: tuple[str, ...]
    """Mouth shapes that the creature does not write."""

    @property
    def beak(self) -> bool:
        """Whether what opens is a beak, with no lips on it."""
        return bool(self.jaws) and all(self.functions[row].part == "beak" for row in self.seals)

    def offset(self, row: int, way: float) -> float:
        """Return how far from neutral [rad or m] a way (-1 to 1) puts a function."""
        room = self.high[row] - self.neutral[row] if way > 0 else self.neutral[row] - self.low[row]
        return float(way * room)

    def of_part(self, part: str, side: str | None = None) -> tuple[int, ...]:
        """Return the rows of a part, of one side where one is named (a function of both sides counts for either)."""
        return tuple(
            row for row, f in enumerate(self.functions) if f.part == part and (side is None or f.side in (side, None))
        )


def cast(functions: Mapping[str, Function], poses: Poses, build: Build) -> Cast:
    """Return the cast of a creature's functions, in their order."""
    names = tuple(functions)
    list_ = tuple(functions.values())
    low = np.array([f.travel[0] for f in list_], np.float64)
    high = np.array([f.travel[1] for f in list_], np.float64)
    neutral = np.array([f.neutral for f in list_], np.float64)
    fixed = build.eye is not None and build.eye.fixed

    def rows(*parts: str) -> tuple[int, ...]:
        return tuple(row for row, f in enumerate(list_) if f.part in parts)

    named = {name for pose in poses.mouth.values() for name in pose}
    jaws = rows(*JAWS)
    mouth = tuple(row for row, name in enumerate(names) if row in jaws or name in named)
    shapes = np.empty((len(SHAPES), len(mouth)))
    for number, shape in enumerate(SHAPES):
        pose: Pose = poses.mouth.get(shape, {})
        for column, row in enumerate(mouth):
            way = pose.get(names[row])
            if way is None:
                way = JAW[shape] if row in jaws and shape not in poses.mouth else 0.0
            room = high[row] - neutral[row] if way > 0 else neutral[row] - low[row]
            shapes[number, column] = neutral[row] + way * room
    turn = () if fixed else rows("eye_turn")
    lift = () if fixed else rows("eye_lift")
    return Cast(
        names=names, functions=list_, units=tuple("rad" if _turns(f) else "m" for f in list_), low=low, high=high,
        neutral=neutral, mouth=mouth, jaws=jaws,
        seals=tuple(row for row in mouth if list_[row].part in SEALS), eyes_move=bool(turn or lift), turn=turn, lift=lift,
        head_turn=next(iter(rows("head_turn")), -1), head_nod=next(iter(rows("head_nod")), -1),
        body_turn=next(iter(rows("body_turn")), -1),
        lids=rows("lid_upper", "lid_lower"), upper=rows("lid_upper"), shapes=shapes,
        lip=np.array([0 if row in jaws else 1 for row in mouth], np.int64),
        unwritten=tuple(shape for shape in SHAPES[1:] if shape not in poses.mouth),
    )  # fmt: skip


TOLD_APART: Final = 0.05
"""Share of travel by which two shapes must differ in some function to be told apart (a rule of this project)."""


def alike(who: Cast) -> tuple[tuple[str, ...], ...]:
    """Return groups of mouth shapes that this mouth cannot tell apart: nowhere more than a twentieth of travel between them.

    Groups are in the order of the shapes; each shape joins the first group to whose first member it is alike.
    """
    span = (who.high - who.low)[list(who.mouth)]
    groups: list[list[int]] = []
    for number in range(len(SHAPES)):
        for group in groups:
            if np.all(np.abs(who.shapes[number] - who.shapes[group[0]]) <= TOLD_APART * span):
                group.append(number)
                break
        else:
            groups.append([number])
    return tuple(tuple(SHAPES[n] for n in group) for group in groups if len(group) > 1)


def _turns(function: Function) -> bool:
    part = PARTS.get(function.part)
    return part is None or part.kind == "turn"
