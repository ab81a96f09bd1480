"""The planar four-bar: docs/methods/four_bar.md.

Plane coordinates: the input axle at the origin, the output axle at (ground, 0); angles from the ground line, which runs
from the input axle to the output axle, counter-clockwise.
"""

from __future__ import annotations

import math
from typing import Literal, cast

from marotte.basis.contracts.common import F64, Unknown
from marotte.basis.contracts.mech import Jammed, Transmission
from marotte.basis.frames import Vec
from marotte.creature.schema.mechs import FourBar
from marotte.mech.case import Case, jammed
from marotte.mech.chain import Chain, Link
from marotte.mech.joints import EX, EY, turn
from marotte.mech.kernels import POSITION, REACH, follow
from marotte.mech.span import Extra, transmit

Branch = Literal["open", "crossed"]
ORIGIN: Vec = (0.0, 0.0, 0.0)


def arm_from_horn(
    horn: float, rod: float, arm: float, ground: float, horn_angle: float, branch: Branch
) -> float | None:
    """Return the arm's angle [rad] for a horn's angle, or None where the lengths [m] do not close.

    Open: horn and arm on the same side of the ground line, the rod does not cross it.
    """
    sign = -_side(horn_angle, branch)
    return _closed(turn(ORIGIN, EX, EY, horn, 0.0), turn((ground, 0.0, 0.0), EX, EY, arm, 0.0), rod, horn_angle, sign)


def horn_from_arm(horn: float, rod: float, arm: float, ground: float, arm_angle: float, branch: Branch) -> float | None:
    """Return the horn's angle [rad] for an arm's angle, or None where the lengths [m] do not close."""
    sign = _side(arm_angle, branch)
    return _closed(turn((ground, 0.0, 0.0), EX, EY, arm, 0.0), turn(ORIGIN, EX, EY, horn, 0.0), rod, arm_angle, sign)


def _side(angle: float, branch: Branch) -> float:
    above = 1.0 if math.sin(angle) >= 0.0 else -1.0
    return above if branch == "open" else -above


def _closed(near: F64, far: F64, rod: float, angle: float, sign: float) -> float | None:
    rows = follow([angle], near, far, rod, sign)  # type: ignore[arg-type]
    return float(rows[POSITION, 0]) if rows[REACH, 0] > 0.0 else None


def closing_sentence(name: str, lengths: tuple[float, float, float, float], angle: float, of: str) -> str:
    """Return why horn, rod, arm and ground do not close with one of them clocked, and the rods that would."""
    horn, rod, arm, ground = lengths
    if of == "arm":  # its ball, seen from the other axle
        away, free = math.hypot(ground + arm * math.cos(angle), arm * math.sin(angle)), horn
    else:
        away, free = math.hypot(ground - horn * math.cos(angle), horn * math.sin(angle)), arm
    return (
        f"{name}: horn {horn * 1e3:.1f}, rod {rod * 1e3:.1f}, arm {arm * 1e3:.1f} and ground {ground * 1e3:.1f} mm "
        f"cannot be joined with the {of} at {math.degrees(angle):.0f} deg: a rod between "
        f"{abs(away - free) * 1e3:.1f} and {(away + free) * 1e3:.1f} mm would"
    )


def clocked(case: Case, record: FourBar) -> tuple[float, float] | Jammed:
    """Return the angles of horn and arm [rad] at neutral."""
    lengths = (record.horn, record.rod, record.arm, record.ground)
    if record.arm_at_neutral is not None:
        arm = record.arm_at_neutral
        horn = horn_from_arm(*lengths, arm, record.branch)
        if horn is not None:
            return horn, arm
        return jammed(case, "unclosed", closing_sentence(case.said, lengths, arm, "arm"), ("rod", "arm_at_neutral"))
    horn = cast(float, record.horn_at_neutral)
    found = arm_from_horn(*lengths, horn, record.branch)
    if found is not None:
        return horn, found
    return jammed(case, "unclosed", closing_sentence(case.said, lengths, horn, "horn"), ("rod", "horn_at_neutral"))


def link_of(case: Case) -> Link | Unknown:
    """Return the one link of a planar four-bar, as it stands at neutral."""
    record = cast(FourBar, case.mechanism.record)
    angles = clocked(case, record)
    if isinstance(angles, Jammed):
        return angles
    neutral = case.functions[0].neutral
    sense = 1.0 if record.arm_turns == "with" else -1.0
    return Link(
        near=turn(ORIGIN, EX, EY, record.horn, angles[0]),
        far=turn((record.ground, 0.0, 0.0), EX, EY, record.arm, angles[1] - sense * neutral, sense),
        rod=record.rod,
        at=(0.0, neutral),
        slop=case.slop()[0],
    )


def solve(case: Case) -> Transmission | Unknown:
    """Return the transmission of a planar four-bar over the function's travel."""
    record = cast(FourBar, case.mechanism.record)
    angles, link = clocked(case, record), link_of(case)
    if isinstance(angles, Jammed) or isinstance(link, Unknown):
        return angles if isinstance(angles, Jammed) else cast(Unknown, link)
    extra = Extra(told=case.slop()[1], clocking={"horn": angles[0], "arm": angles[1]})
    return transmit(case, Chain((link,), case.functions[0].neutral), extra)
