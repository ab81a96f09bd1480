"""What is asked of a linkage that is to be sized: movement and load over the travel, and the line of what pushes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np

from marotte.basis.contracts.common import F64, I64, Told

WHOLE: Final = "the whole travel"


class Line(NamedTuple):
    """What one servo (or several on one shaft) really gives: a straight line from stall to free speed."""

    stall_nm: float
    """Torque that it really gives at a stall."""
    free_rad_s: float
    """Speed at which it gives none."""
    turn: float
    """Whole turn of its output [rad]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """One thing that is moved, and what pushes it back: a function over its travel, or the bar of several over its stroke."""

    grid: F64
    """(n,) positions over the travel [rad or m]; of a bar, its stroke from neutral [m]."""
    speed: F64
    """(n,) speed asked at each position [rad/s or m/s]."""
    acceleration: F64
    """(n,) size of the acceleration asked there [rad/s2 or m/s2]."""
    force: F64
    """(n,) largest |generalised force| that it needs at rest, over all attitudes [N*m or N]."""
    skin: F64
    """(n,) the skins' share of it."""
    friction: float
    inertia: float

    @property
    def asked(self) -> F64:
        """Force while it moves [N*m or N], (n,): load, dry friction, inertia."""
        return np.asarray(self.force + self.friction + self.inertia * self.acceleration)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What is asked of a mechanism."""

    moved: tuple[Moved, ...]
    """What it moves: one, or the turn and the lift of an eye on two rods."""
    lines: tuple[Line, ...]
    """Of the servo at each input."""
    seconds: float | None
    """Time in which the whole travel is made; None: as the part asks it."""
    told: tuple[Told, ...] = ()

    @property
    def first(self) -> Moved:
        """What is moved, of a mechanism with one input."""
        return self.moved[0]

    @property
    def line(self) -> Line:
        """The servo of a mechanism with one input."""
        return self.lines[0]


def in_time(ask: Ask, seconds: float) -> Ask:
    """Return the same ask with the whole travel to be made in another time [s]; one that follows a part stays as it is."""
    if ask.seconds is None:
        return ask
    quicker = ask.seconds / seconds
    moved = tuple(
        replace(one, speed=one.speed * quicker, acceleration=one.acceleration * quicker**2) for one in ask.moved
    )
    return replace(_said(ask, f"{WHOLE} in {seconds:g} s"), moved=moved, seconds=seconds)


def paced(ask: Ask, ways: Sequence[F64], hz: float, fastest: str) -> Ask:
    """Return the same ask at the speeds of a part instead of whole travels.

    At each place the largest speed and the largest acceleration of all that the part makes there are asked, together.

    Args:
        ask: of whole travels.
        ways: (samples,) of each thing that is moved, in time [rad or m].
        hz: samples a second.
        fastest: the largest speed, as people read it.
    """
    moved = []
    for one, way in zip(ask.moved, ways, strict=True):
        speed = np.gradient(way) * hz
        there = np.clip(np.rint((way - one.grid[0]) / (one.grid[1] - one.grid[0])), 0, one.grid.size - 1).astype(
            np.int64
        )
        fast, hard = (_largest(there, np.abs(x), one.grid.size) for x in (speed, np.gradient(speed) * hz))
        moved.append(replace(one, speed=fast, acceleration=hard))
    return replace(_said(ask, f"what the part asks of it, up to {fastest}"), moved=tuple(moved), seconds=None)


def _largest(there: I64, values: F64, size: int) -> F64:
    """Return the largest value at each place, (size,); what lies between two samples is passed over with the larger of theirs."""
    out = np.zeros(size)
    np.maximum.at(out, there, values)
    for k in np.flatnonzero(np.abs(np.diff(there)) > 1):
        low, high = sorted((int(there[k]), int(there[k + 1])))
        out[low : high + 1] = np.maximum(out[low : high + 1], max(values[k], values[k + 1]))
    return out


def _said(ask: Ask, what: str) -> Ask:
    """Return an ask that is told as another one."""
    told = tuple(
        replace(one, sentence=one.sentence.replace(f"{WHOLE} in {ask.seconds:g} s", what))
        if one.code == "sized_for"
        else one
        for one in ask.told
    )
    return replace(ask, told=told)


def least_jerk(points: int, span: float, lasts: float) -> tuple[F64, F64]:
    """Return speed and size of acceleration at even places of a least-jerk move, (points,) each.

    x = 10 s^3 - 15 s^4 + 6 s^5 of the span, s of the time (Flash & Hogan 1985, Journal of Neuroscience 5:1688): its peak
    speed is 1.875 span / time, its peak acceleration 5.7735 span / time^2.
    """
    s = np.linspace(0.0, 1.0, 2001)
    x = s**3 * (10.0 - 15.0 * s + 6.0 * s * s)
    place = np.linspace(0.0, 1.0, points)
    speed = np.interp(place, x, 30.0 * s**2 * (1.0 - s) ** 2)
    acceleration = np.interp(place, x, np.abs(60.0 * s * (1.0 - s) * (1.0 - 2.0 * s)))
    return speed * span / lasts, acceleration * span / lasts**2


def share_of(line: Line, torque: F64, speed: F64) -> F64:
    """Return the share of a servo's torque that is asked, at the speed it is asked at.

    Where the servo is too slow the share is counted against a fiftieth of its stall torque.

    Args:
        line: of the servo.
        torque: |torque| at its output [N*m], any shape.
        speed: |speed| of its output [rad/s], of the same shape.
    """
    return np.asarray(torque / (line.stall_nm * np.maximum(1.0 - speed / line.free_rad_s, 0.02)))


def use_of(ask: Ask, rate: F64, efficiency: float, dry: float) -> F64:
    """Return the share of the servo's torque that is asked at each position, (n,), at the operating point there.

    Args:
        ask: what is asked, of a mechanism with one input.
        rate: (n,) output per input, over its grid.
        efficiency: of the mech, input to output.
        dry: friction at the input [N*m].
    """
    lever = np.maximum(np.abs(rate), 1e-9)
    return share_of(ask.line, lever * ask.first.asked / efficiency + dry, ask.first.speed / lever)
