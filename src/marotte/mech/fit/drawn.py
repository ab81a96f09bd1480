"""What a servo's horn sweeps and where its rod runs, from where its shaft is. docs/methods/fit.md."""

from __future__ import annotations

import math

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.frames import Vec, rotation
from marotte.creature.schema.mechs import BellCrank, Cable, CrankSlider, Direct, FourBar, PullPull, TwoRodGimbal
from marotte.mech.fit.seat import Pose, Seat, shaft_of
from marotte.mech.fit.solids import Solid, capsule, cross, frame_of, sector
from marotte.mech.fit.wants import Behind, Ring, want_of
from marotte.mech.kinds.two_rod_gimbal import rods_of

HORN_THICK = 4e-3
"""Thickness of a horn with its ball and screw [m] (common practice, no source)."""
ROD_RADIUS = 2e-3
"""Of a rod with its ball cups [m] (common practice, no source)."""
MUCH_TURNED = math.radians(30.0)
"""A shaft turned by more than this from what its linkage can use does not push along the slide's way."""


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
        first, end = _planar(seat, centre, seat.goal, normal, pose.frame[0], (record.ground, record.arm))
        return first, (normal * sense if record.branch == "open" else -normal * sense), end
    turn = -shaft if seat.side == "right" else shaft  # the right one is the left one's mirror
    if isinstance(record, TwoRodGimbal):
        row = rods_of(record, (seat.neutral, 0.0), seat.side)[seat.input]
        straight = np.array([0.0, math.sin(record.horn_at_neutral), math.cos(record.horn_at_neutral)])
        ball_at = seat.eye + row[3:6] + row[6] * straight + np.array([0.0, 0.0, row[8]])
        first = _flat(straight, shaft, pose.frame[0])
        return first, turn, _reached(centre + seat.horn * first, ball_at, float(row[8]))
    want = want_of(seat)
    if isinstance(want, Behind) and isinstance(record, BellCrank) and seat.horn_angle is not None:
        lengths = (record.ground, record.in_arm)
        first, end = _planar(seat, centre, want.crank(centre), turn, pose.frame[0], lengths)
        return first, turn, end
    if isinstance(want, Ring) and isinstance(record, CrankSlider) and want.turned(centre, shaft) < MUCH_TURNED:
        first, turn = _pushing(want, record, centre, turn)
        return first, turn, _reached(centre + seat.horn * first, seat.goal, record.rod)
    line = _flat(seat.goal - centre, shaft, pose.frame[0])
    angle = getattr(record, "horn_at_neutral", None)
    first = rotation(_vec(turn), 0.5 * math.pi if angle is None else angle) @ line
    if isinstance(record, (Cable, PullPull)):
        return first, turn, None
    rod = getattr(record, "rod", None)
    return first, turn, None if rod is None else _reached(centre + seat.horn * first, seat.goal, rod)


def _planar(
    seat: Seat, centre: F64, axle: F64, normal: F64, instead: F64, lengths: tuple[float, float]
) -> tuple[F64, F64]:
    """Return the horn's unit direction and the far end of the rod of a planar linkage whose ground line runs to an axle.

    Args:
        seat: with both angles from the ground line at neutral.
        centre: middle of the horn on its shaft [m].
        axle: a point on the axle of the arm or crank [m].
        normal: unit normal of the plane, about which angles count.
        instead: the ground line's way where the axle lies straight before the shaft.
        lengths: of ground and arm [m].
    """
    assert seat.horn_angle is not None  # the caller asked
    assert seat.arm_angle is not None
    line = _flat(axle - centre, normal, instead)
    square = cross(normal, line)
    first = math.cos(seat.horn_angle) * line + math.sin(seat.horn_angle) * square
    foot = centre + lengths[0] * line
    return first, foot + lengths[1] * (math.cos(seat.arm_angle) * line + math.sin(seat.arm_angle) * square)


def _pushing(want: Ring, record: CrankSlider, centre: F64, turn: F64) -> tuple[F64, F64]:
    """Return the horn's unit direction, and the unit axis about which it turns, where it pushes a slide along its own way."""
    way = _flat(want.way, turn, want.way)
    if record.offset != 0.0:  # the slide's side of the shaft is the one to which the offset counts
        beside = float((want.at - centre) @ cross(turn, way)) * record.offset
        turn = turn if beside >= 0.0 else -turn
    square = cross(turn, way)
    return math.cos(record.horn_at_neutral) * way + math.sin(record.horn_at_neutral) * square, turn


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


def _vec(array: F64) -> Vec:
    return (float(array[0]), float(array[1]), float(array[2]))
