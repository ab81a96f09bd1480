"""The solids of a creature's head: servos with what their horns and rods sweep, eyes, mouth, hand. docs/methods/fit.md."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.contracts.fit import How, Placed, SolidKind
from marotte.basis.contracts.mech import Transmission
from marotte.basis.digest import kept_digest
from marotte.basis.frames import Vec, mirrored, rotation, unit
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Mechanism
from marotte.creature.schema.functions import Function
from marotte.creature.schema.means import Box, Servo
from marotte.creature.schema.mechs import Cable, Direct, FourBar, Linkage, PullPull, TwoRodGimbal
from marotte.creature.schema.servos import ServoClass
from marotte.mech.case import axis_of
from marotte.mech.fit.places import place_of
from marotte.mech.fit.solids import Solid, ball, box, capsule, cross, frame_of, sector
from marotte.mech.kinds.two_rod_gimbal import rods_of

HORN_OVER = 3e-3
"""From the top of a servo's case to the middle of its horn [m] (common practice, no source)."""
HORN_THICK = 4e-3
"""Thickness of a horn with its ball and screw [m] (common practice, no source)."""
ROD_RADIUS = 2e-3
"""Of a rod with its ball cups [m] (common practice, no source)."""
PAINT_GAP = 0.6e-3
"""Room round an eye or a lid's shell for paint and skin [m]: 0.4 to 0.8 mm (common practice, no source)."""
MOUTH_SHARES = (0.5, 0.3, 0.55)
"""Room that a mouth takes, as shares of the skull's width, height and depth: a rule of this project."""

ROUND = 0.8
"""Rounding of a wearer's head over half of its least side: a rule of this project."""


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
    """Of a four-bar: the horn's angle from the ground line at neutral [rad]."""
    arm_angle: float | None
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
    remote = isinstance(mech.record, (Cable, PullPull)) and carrier not in ("skull", "shoulders")
    return not remote and carrier not in ("hand", "rod")


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
    four_bar = clocking if isinstance(mech.record, FourBar) else {}
    return Seat(
        name=name, body=servo.body, shaft=servo.shaft, count=given.count, side=mech.side or first.side,
        record=mech.record, input=i, part=first.part, neutral=first.neutral,
        goal=np.array(place_of(first, points, spacing)),
        axis=np.array(axis if axis is not None else (0.0, 1.0, 0.0)), eye=np.array([outer * spacing, 0.0, 0.0]),
        box=given.box, sweep=sweep, horn_angle=four_bar.get("horn"), arm_angle=four_bar.get("arm"),
    )  # fmt: skip


def linkage_of(seat: Seat, pose: Pose) -> tuple[tuple[Solid, F64] | None, tuple[Solid, F64] | None]:
    """Return what the horn sweeps and what the rod sweeps, each with its frame; None where a mech has none in the skull."""
    record = seat.record
    if seat.horn <= 0.0 or isinstance(record, Direct):
        return None, None
    centre, shaft = shaft_of(seat, pose), pose.frame[2]
    first, turn, end = _drawn(seat, pose, centre, shaft)
    frame = np.array([first, cross(turn, first), turn])
    low, high = seat.sweep
    swept = sector(centre, first, turn, seat.horn, low, high, HORN_THICK)
    if end is None:
        return (swept, frame), None
    tip = centre + seat.horn * first
    line = end - tip
    size = float(np.linalg.norm(line))
    if size < 1e-6:
        return (swept, frame), None
    bow = 0.5 * seat.horn * (1.0 - math.cos(min(max(-low, high), math.pi)))
    rod = capsule(tip, end, ROD_RADIUS + 0.5 * bow)
    along = line / size
    other = np.array([1.0, 0.0, 0.0]) if abs(along[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    return (swept, frame), (rod, frame_of(_vec(other - (other @ along) * along), _vec(along)))


def _drawn(seat: Seat, pose: Pose, centre: F64, shaft: F64) -> tuple[F64, F64, F64 | None]:
    """Return the horn's unit direction at neutral, the unit axis that its input turns about, and where its rod ends."""
    record = seat.record
    if isinstance(record, FourBar) and seat.horn_angle is not None and seat.arm_angle is not None:
        sense = 1.0 if record.arm_turns == "with" else -1.0
        normal = shaft * (1.0 if float(shaft @ seat.axis) >= 0.0 else -1.0) * sense
        ground = _flat(seat.goal - centre, normal, pose.frame[0])
        square = cross(normal, ground)
        first = math.cos(seat.horn_angle) * ground + math.sin(seat.horn_angle) * square
        foot = centre + record.ground * ground
        end = foot + record.arm * (math.cos(seat.arm_angle) * ground + math.sin(seat.arm_angle) * square)
        return first, (normal * sense if record.branch == "open" else -normal * sense), end
    turn = -shaft if seat.side == "right" else shaft  # the right one is the left one's mirror
    if isinstance(record, TwoRodGimbal):
        ball_at = seat.eye + rods_of(record, (seat.neutral, 0.0), seat.side)[seat.input, :3]
        first = np.array([0.0, math.sin(record.horn_at_neutral), math.cos(record.horn_at_neutral)])
        first = _flat(first, shaft, pose.frame[0])
        return first, turn, _reached(centre + seat.horn * first, ball_at, record.rod)
    line = _flat(seat.goal - centre, shaft, pose.frame[0])
    angle = getattr(record, "horn_at_neutral", None)
    first = rotation(_vec(turn), 0.5 * math.pi if angle is None else angle) @ line
    if isinstance(record, (Cable, PullPull)):
        return first, turn, None
    rod = getattr(record, "rod", None)
    return first, turn, None if rod is None else _reached(centre + seat.horn * first, seat.goal, rod)


def _flat(way: F64, normal: F64, instead: F64) -> F64:
    """Return the unit part of a way that is square to a normal; another way where nothing is left of it."""
    flat = way - float(way @ normal) * normal
    size = float(np.linalg.norm(flat))
    if size < 1e-6:
        flat = instead - float(instead @ normal) * normal
        size = float(np.linalg.norm(flat))
    return np.asarray(flat / size)


def _reached(tip: F64, goal: F64, rod: float) -> F64:
    """Return where a rod of a length ends that points from a horn's tip to a goal, no farther than the goal."""
    way = goal - tip
    far = float(np.linalg.norm(way))
    return np.asarray(goal if far <= rod else tip + way * (rod / far))


def off_its_linkage(seat: Seat, pose: Pose) -> tuple[float, float] | None:
    """Return (distance that the linkage wants, distance that it has) from shaft to the output's axle [m], where a mech says one.

    A planar four-bar wants its ground, square to the axis; a direct drive wants the shaft on the axis.
    """
    record, way = seat.record, seat.goal - shaft_of(seat, pose)
    flat = float(np.linalg.norm(way - float(way @ seat.axis) * seat.axis))
    if isinstance(record, FourBar):
        return record.ground, flat
    if isinstance(record, Direct) and PARTS[seat.part].kind == "turn":
        return 0.0, flat
    return None


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


def _vec(array: F64) -> Vec:
    return (float(array[0]), float(array[1]), float(array[2]))
