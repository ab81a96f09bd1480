"""The ball-ended rod in space, from a horn on any axis to an arm on any other: docs/methods/ball_rod.md.

A right-hand one is worked out as the left one, of which it is the mirror: places are mirrored back, lengths and clocking
are those written.
"""

from __future__ import annotations

import math
from typing import cast

import numpy as np

from marotte.basis.contracts.common import F64, Told, Unknown
from marotte.basis.contracts.mech import Jammed, Transmission
from marotte.basis.frames import Vec, mirrored, unit
from marotte.creature.schema.mechs import BallRod
from marotte.mech.case import Case, jammed
from marotte.mech.chain import Chain, Link
from marotte.mech.joints import place, shifted, turn
from marotte.mech.kernels import POSITION, REACH, follow
from marotte.mech.span import Extra, transmit

TOLD_FROM = math.radians(2.0)
"""A horn angle that differs by more than this from where the rod puts it is told."""


def from_forward(axis: Vec) -> tuple[Vec, Vec]:
    """Return the direction from which angles about an axis count, and the one towards which they grow.

    They count from forward (z), laid square to the axis; about an axis that points fore and aft, from up (y).
    """
    n = np.array(unit(axis))
    start = np.array([0.0, 0.0, 1.0])
    if abs(n[2]) > 0.999:
        start = np.array([0.0, 1.0, 0.0])
    e1 = start - (start @ n) * n
    e1 /= np.linalg.norm(e1)
    e2 = np.cross(n, e1)
    return (float(e1[0]), float(e1[1]), float(e1[2])), (float(e2[0]), float(e2[1]), float(e2[2]))


def point(case: Case, written: str | Vec) -> Vec | None:
    """Return a place on the left side [m]: of a name, its own side's point mirrored back; None where there is none."""
    right = case.mechanism.side == "right"
    if not isinstance(written, str):
        return (float(written[0]), float(written[1]), float(written[2]))
    side = case.mechanism.side
    found = case.points.get(f"{written}_{side}") if side is not None else None
    if found is None:
        return case.points.get(written)
    return mirrored(found) if right else found


def arm_place(case: Case, record: BallRod) -> Vec | None:
    """Return the point about which the arm turns: as written, else the function's own place, else the anatomy's."""
    function = case.functions[0]
    written = record.arm_at if record.arm_at is not None else function.at
    if written is not None:
        return point(case, written)
    return case.parts[0].place("left" if case.mechanism.side is not None else None, case.eye_spacing)


def link_of(case: Case) -> tuple[Link, float] | Unknown:
    """Return the one link of a ball-ended rod as it stands at neutral, and the horn's angle there [rad]."""
    record = cast(BallRod, case.mechanism.record)
    function, part = case.functions[0], case.parts[0]
    axis = record.arm_axis or function.axis or part.axis
    horn_at, arm_at = point(case, record.horn_at), arm_place(case, record)
    if axis is None or horn_at is None or arm_at is None:
        return Unknown(why=f"{case.said}: a place or an axis of its rod is not written", wants=(record.ref("horn_at"),))
    sense = -1.0 if case.mechanism.side == "right" and part.mirrors == "together" else 1.0
    neutral = function.neutral
    far = turn(arm_at, *from_forward(axis), record.arm, record.arm_at_neutral - sense * neutral, sense)
    near = turn(horn_at, *from_forward(record.horn_axis), record.horn, 0.0)
    angle = _horn_angle(case, record, near, far, neutral)
    if isinstance(angle, Jammed):
        return angle
    return Link(near=shifted(near, angle), far=far, rod=record.rod, at=(0.0, neutral), slop=case.slop()[0]), angle


def solve(case: Case) -> Transmission | Unknown:
    """Return the transmission of a ball-ended rod over the function's travel."""
    record = cast(BallRod, case.mechanism.record)
    found = link_of(case)
    if isinstance(found, Unknown):
        return found
    link, angle = found
    told = case.slop()[1] + _difference(case, record, angle)
    extra = Extra(told=told, clocking={"horn": angle, "arm": record.arm_at_neutral})
    return transmit(case, Chain((link,), case.functions[0].neutral), extra)


def _horn_angle(case: Case, record: BallRod, near: F64, far: F64, neutral: float) -> float | Jammed:
    """Return where the rod puts the horn at neutral, of the two places the one that is wanted."""
    at = np.array([neutral])
    both = [follow(at, far, near, record.rod, sign)[:, 0] for sign in (1.0, -1.0)]
    if both[0][REACH] <= 0.0:
        ball, axis_ = place(far, neutral), near[1:4]
        return jammed(
            case, "unclosed", _unclosed(case, record, ball - axis_, near), ("rod", "horn_at", "arm_at_neutral")
        )
    angles = [math.remainder(float(rows[POSITION]), 2 * math.pi) for rows in both]
    if record.horn_at_neutral is not None:
        wanted = record.horn_at_neutral
        return min(angles, key=lambda angle: abs(math.remainder(angle - wanted, 2 * math.pi)))
    arm = place(far, neutral) - far[1:4]
    along = [float((place(near, angle) - near[1:4]) @ arm) for angle in angles]
    return angles[int(np.argmax(along))] if record.branch == "open" else angles[int(np.argmin(along))]


def _unclosed(case: Case, record: BallRod, away: F64, near: F64) -> str:
    e1, e2 = near[4:7] / record.horn, near[7:10] / record.horn
    flat = math.hypot(float(away @ e1), float(away @ e2))
    off2 = max(float(away @ away) - flat * flat, 0.0)
    low, high = math.sqrt(off2 + (flat - record.horn) ** 2), math.sqrt(off2 + (flat + record.horn) ** 2)
    return (
        f"{case.said}: a rod of {record.rod * 1e3:.1f} mm cannot join horn and arm at neutral: between "
        f"{low * 1e3:.1f} and {high * 1e3:.1f} mm would"
    )


def _difference(case: Case, record: BallRod, angle: float) -> tuple[Told, ...]:
    wanted = record.horn_at_neutral
    if wanted is None or abs(math.remainder(angle - wanted, 2 * math.pi)) < TOLD_FROM:
        return ()
    sentence = (
        f"{case.said}: with this rod the horn stands at {math.degrees(angle):.0f} deg at neutral, not at the "
        f"{math.degrees(wanted):.0f} that is written"
    )
    return (Told(code="horn_angle", sentence=sentence, ref=record.ref("horn_at_neutral")),)
