"""The solids of a creature's head: servos with what their horns and rods sweep, eyes, mouth, hand. docs/methods/fit.md."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.contracts.fit import How, Placed, SolidKind
from marotte.basis.frames import Vec
from marotte.creature.schema.functions import Function
from marotte.mech.fit.drawn import linkage_of
from marotte.mech.fit.seat import Pose, Seat
from marotte.mech.fit.skull import Shell
from marotte.mech.fit.solids import Solid, ball, box

PAINT_GAP = 0.6e-3
"""Room round an eye or a lid's shell for paint and skin [m]: 0.4 to 0.8 mm (common practice, no source)."""
MOUTH_SHARES = (0.5, 0.3, 0.55)
"""Room that a mouth takes, as shares of the skull's width, height and depth: a rule of this project."""
COUNTED = 4e-3
"""Step of the lattice on which the room of a wearer's head is counted [m]."""
ROUND = 0.8
"""Rounding of a wearer's head over half of its least side: a rule of this project."""


@dataclass(frozen=True, slots=True)
class _Asked:
    """A seat at a pose: equal where both are."""

    content: tuple[bytes, bytes, bytes, How]
    seat: Seat = field(compare=False)
    pose: Pose = field(compare=False)


def servo_solids(seat: Seat, pose: Pose, how: How) -> tuple[tuple[Placed, Solid], ...]:
    """Return a servo's body, its swept horn and its rod; those of a seat that has not changed are the ones made before."""
    return kept_solids(_Asked((seat.__digest__(), pose.at.tobytes(), pose.frame.tobytes(), how), seat, pose))


@lru_cache(maxsize=512)
def kept_solids(asked: _Asked) -> tuple[tuple[Placed, Solid], ...]:
    """Return the solids of a seat at a pose, made once."""
    seat, pose, how = asked.seat, asked.pose, asked.content[3]
    out = [_placed(f"{seat.name} servo", "servo", seat.name, how, pose.frame, box(pose.at, pose.frame, seat.sides))]
    horn, rod = linkage_of(seat, pose)
    if horn is not None:
        out.append(_placed(f"{seat.name} horn", "horn", seat.name, how, horn[1], horn[0]))
    if rod is not None:
        out.append(_placed(f"{seat.name} rod", "rod", seat.name, how, rod[1], rod[0]))
    return tuple(out)


def _placed(name: str, kind: SolidKind, of: str, how: How, frame: F64, solid: Solid) -> tuple[Placed, Solid]:
    local = solid.points @ frame.T
    sides = local.max(axis=0) - local.min(axis=0) + 2.0 * solid.radius
    placed = Placed(
        name=name, kind=kind, of=of, how=how, at=_vec(solid.centre), frame=frame, sides=_vec(sides),
        points=solid.points, radius=solid.radius,
    )  # fmt: skip
    return placed, solid


@dataclass(frozen=True, slots=True, kw_only=True)
class Eyes:
    """Both eyes with the shells of their lids."""

    spacing: float
    left: float
    """Radius of the eye with its lid's shell [m]."""
    right: float

    @classmethod
    def of(cls, functions: Mapping[str, Function], diameter: float, spacing: float) -> Eyes:
        """Return the eyes [m], as large as the largest shell round each."""
        radii = {"left": 0.5 * diameter, "right": 0.5 * diameter}
        for function in functions.values():
            shell = function.load.shell
            for side in radii:
                if shell is not None and function.side in (side, None):
                    radii[side] = max(radii[side], shell.inner + shell.thickness)
        return cls(spacing=spacing, **radii)


def eye_solids(eyes: Eyes) -> list[tuple[Placed, Solid]]:
    """Return both eyes with their lids' shells and the room for paint."""
    return [
        _placed(
            f"{side} eye", "eye", side, "anatomy", np.eye(3), ball((x * eyes.spacing, 0.0, 0.0), radius + PAINT_GAP)
        )
        for side, x, radius in (("left", 0.5, eyes.left), ("right", -0.5, eyes.right))
    ]


def mouth_solid(shape: Vec, centre: Vec, eye_radius: float) -> tuple[Placed, Solid]:
    """Return the room of the mouth: low and in front in the skull, under the eyes."""
    sides = np.array(MOUTH_SHARES) * np.array(shape)
    top = min(centre[1] - 0.05 * shape[1], -eye_radius - 1e-3)
    at = (centre[0], top - 0.5 * sides[1], centre[2] + 0.5 * shape[2] - 0.5 * sides[2])
    return _placed("mouth", "mouth", "", "anatomy", np.eye(3), box(at, np.eye(3), sides))


def hand_solid(name: str, shape: Vec, centre: Vec, sides: Vec) -> tuple[Placed, Solid]:
    """Return a hand in the head: in the middle, fingers at the front."""
    depth = min(sides[2], 0.9 * shape[2])
    at = (centre[0], centre[1] - 0.1 * shape[1], centre[2] + 0.5 * shape[2] - 0.05 * shape[2] - 0.5 * depth)
    return _placed("hand", "hand", name, "anatomy", np.eye(3), box(at, np.eye(3), (sides[0], sides[1], depth)))


def wearer_solid(name: str, at: Vec, sides: Vec) -> tuple[Placed, Solid]:
    """Return a wearer's head with its padding: a body of some whole sides [m], rounded by as much as it can be."""
    radius = ROUND * 0.5 * min(sides)
    inner = box(at, np.eye(3), np.array(sides) - 2.0 * radius)
    solid = Solid(inner.points, radius, inner.normals, inner.edges)
    return _placed("wearer's head", "wearer", name, "anatomy", np.eye(3), solid)


def worn_room(sides: Vec, at: Vec, shell: Shell) -> float:
    """Return how much of a skull's inside a wearer's head takes [m3], counted on a lattice (good to about a hundredth)."""
    radius = ROUND * 0.5 * min(sides)
    half = 0.5 * np.array(sides)
    lines = [
        axis - 0.5 * side + COUNTED * (np.arange(math.ceil(side / COUNTED)) + 0.5)
        for axis, side in zip(at, sides, strict=True)
    ]
    points = np.stack(np.meshgrid(*lines, indexing="ij"), axis=-1).reshape(-1, 3)
    out = np.maximum(np.abs(points - np.array(at)) - (half - radius), 0.0)
    inside = ((out**2).sum(axis=1) <= radius**2) & shell.holds(points, 0.0)
    return float(inside.sum()) * COUNTED**3


def _vec(array: F64) -> Vec:
    return (float(array[0]), float(array[1]), float(array[2]))
