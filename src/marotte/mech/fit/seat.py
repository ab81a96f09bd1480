"""The servos that must sit in the skull, what each pushes, and the pose of a body. docs/methods/fit.md."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.contracts.mech import Transmission
from marotte.basis.digest import kept_digest
from marotte.basis.frames import Vec, mirrored, unit
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Mechanism
from marotte.creature.schema.functions import Function
from marotte.creature.schema.means import Box, Servo
from marotte.creature.schema.mechs import BallRod, BellCrank, Cable, FourBar, Linkage, PullPull
from marotte.creature.schema.servos import ServoClass
from marotte.mech.case import axis_of
from marotte.mech.fit.places import named_place, place_of
from marotte.mech.fit.solids import frame_of

HORN_OVER = 3e-3
"""From the top of a servo's case to the middle of its horn [m] (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Pose:
    """Where a body sits: its middle [m], and rows along, across, shaft."""

    at: F64
    frame: F64


@dataclass(frozen=True, slots=True)
class Seat:
    """One servo that must sit in the skull, with what it pushes."""

    name: str
    """Name of the means."""
    body: Vec
    """Length, width and height of one servo's case [m]."""
    shaft: float
    """From the middle of the case to the shaft, along its length [m]."""
    count: int
    side: Literal["left", "right"] | None
    record: Linkage
    input: int
    part: str
    """Anatomy of the (first) function it moves; of a tee bar the first of several."""
    neutral: float
    """Of that function."""
    goal: F64
    """A point on that function's axis [m]."""
    axis: F64
    """Unit axis (or direction) of that function."""
    eye: F64
    """Centre of the eye of its side [m], for a gimbal."""
    box: Box | None
    sweep: tuple[float, float]
    """How far the horn goes from neutral, down and up [rad]."""
    horn_angle: float | None
    """Of a four-bar or a bell-crank's first rod: the horn's angle from the ground line at neutral [rad]."""
    arm_angle: float | None
    """Of the same: the angle of its arm or crank."""
    horn_at: F64 | None
    """Of a ball-ended rod: the middle of its horn [m]; None where the place is not written."""
    horn_axis: F64
    """Of a ball-ended rod: the unit axis of its horn."""
    _digest: list[bytes] = field(default_factory=list, init=False, compare=False, repr=False)

    def __digest__(self) -> bytes:
        return kept_digest(self, self._digest)

    @property
    def sides(self) -> F64:
        """Whole sides of the body [m]; servos that are geared together stand side by side."""
        length, width, height = self.body
        return np.array([length, width * self.count, height])

    @property
    def horn(self) -> float:
        """Radius of the horn [m]; 0 where it has none."""
        return float(getattr(self.record, "horn", None) or 0.0)


def pose_of(written: Box, side: str | None) -> Pose:
    """Return where a written box sits; of the right one of a pair, mirrored. A long side that is not written gives way to the shaft."""
    at, axis, along = written.at, written.axis, written.along
    if abs(float(np.dot(unit(axis), unit(along)))) > 1.0 - 1e-6:
        along = (0.0, 0.0, 1.0)
    if side == "right":
        at, axis, along = mirrored(at), mirrored(axis), mirrored(along)
    return Pose(np.array(at), frame_of(axis, along))


def mirror_of(pose: Pose) -> Pose:
    """Return the mirrored pose of the other side."""
    flip = np.array([-1.0, 1.0, 1.0])
    return Pose(pose.at * flip, frame_of(_vec(pose.frame[2] * flip), _vec(pose.frame[0] * flip)))


def shaft_of(seat: Seat, pose: Pose) -> F64:
    """Return the middle of the horn on the shaft [m]."""
    return np.asarray(pose.at + seat.shaft * pose.frame[0] + (0.5 * seat.body[2] + HORN_OVER) * pose.frame[2])


def seats(
    functions: Mapping[str, Function],
    mechs: Mapping[str, Mechanism],
    means: Mapping[str, object],
    servos: Mapping[str, ServoClass],
    transmissions: Mapping[str, object],
    points: Mapping[str, Vec],
    spacing: float,
) -> tuple[tuple[Seat, ...], tuple[str, ...]]:
    """Return the servos that must sit in the skull, and those that ride on the jaw and so do not.

    In the skull sits what moves something on the head, and what has a box written; but not a servo that drives through a cable and is borne
    elsewhere (a pack in the base, the chest or on the back).
    """
    found: list[Seat] = []
    on_jaw: list[str] = []
    for mech in mechs.values():
        first = functions[mech.outputs[0]]
        for i, name in enumerate(mech.inputs):
            given = means[name]
            if not isinstance(given, Servo) or (given.box is None and not _in_head(mech, first, given)):
                continue
            if (
                given.box is None
                and PARTS[first.part].rides_on == "jaw"
                and not isinstance(mech.record, (Cable, PullPull))
            ):
                on_jaw.append(name)
                continue
            found.append(
                _seat(name, i, mech, first, given, servos[given.model], transmissions.get(mech.name), points, spacing)
            )
    return tuple(found), tuple(on_jaw)


def _in_head(mech: Mechanism, first: Function, given: Servo) -> bool:
    """Return whether a servo without a box sits in the head."""
    if PARTS[first.part].rides_on not in ("head", "jaw", "ear"):
        return False
    carrier = given.carried_by or first.carried_by
    return not is_remote(mech, first, given) and carrier not in ("hand", "rod")


def is_remote(mech: Mechanism, first: Function, given: Servo) -> bool:
    """Return whether a servo pulls into the head from where something else bears it: a pack in the base, the chest or on the back."""
    if given.box is not None or not isinstance(mech.record, (Cable, PullPull)):
        return False
    carrier = given.carried_by or first.carried_by
    elsewhere = given.carried_by is not None and given.carried_by != first.carried_by
    return elsewhere or carrier not in ("skull", "shoulders")


def _seat(
    name: str, i: int, mech: Mechanism, first: Function, given: Servo, servo: ServoClass, found: object,
    points: Mapping[str, Vec], spacing: float,
) -> Seat:  # fmt: skip
    half = 0.5 * servo.travel
    sweep, clocking = (-half, half), {}
    if isinstance(found, Transmission):
        grid = found.grid[i]
        sweep, clocking = (float(grid[0]), float(grid[-1])), found.clocking
    axis = axis_of(first, PARTS[first.part])
    outer = -0.5 if first.side == "right" else 0.5
    planar = clocking if isinstance(mech.record, (FourBar, BellCrank)) else {}
    horn_at, horn_axis = _horn_place(mech.record, first, points)
    return Seat(
        name=name, body=servo.body, shaft=servo.shaft, count=given.count, side=mech.side or first.side,
        record=mech.record, input=i, part=first.part, neutral=first.neutral,
        goal=np.array(place_of(first, points, spacing)),
        axis=np.array(axis if axis is not None else (0.0, 1.0, 0.0)), eye=np.array([outer * spacing, 0.0, 0.0]),
        box=given.box, sweep=sweep, horn_angle=planar.get("horn"), arm_angle=planar.get("arm", planar.get("in_arm")),
        horn_at=horn_at, horn_axis=horn_axis,
    )  # fmt: skip


def _horn_place(record: Linkage, first: Function, points: Mapping[str, Vec]) -> tuple[F64 | None, F64]:
    """Return where a ball-ended rod says that its horn is [m], and its unit axis, on the function's own side."""
    axis = np.array([1.0, 0.0, 0.0])
    if not isinstance(record, BallRod):
        return None, axis
    flip = np.array([-1.0, 1.0, 1.0]) if first.side == "right" else np.ones(3)
    at = named_place(record.horn_at, first.side, points)
    return None if at is None else np.array(at), np.array(unit(record.horn_axis)) * flip


def _vec(array: F64) -> Vec:
    return (float(array[0]), float(array[1]), float(array[2]))
