"""Looks played: where body, head and eyes go for each look, over the series."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from marotte.basis.compiled import compiled
from marotte.basis.contracts.common import F64
from marotte.basis.ticks import SERIES_EVERY
from marotte.creature.schema.build import Build
from marotte.script.cast import Cast
from marotte.script.curves import Curves, Keys
from marotte.script.gaze import (
    HEAD_JOINS_NOD,
    HEAD_JOINS_TURN,
    Look,
    angles,
    body_part,
    body_ticks,
    front_part,
    head_ticks,
    saccade_ticks,
)
from marotte.script.laid import aim
from marotte.script.score import Score


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One look as this creature does it."""

    look: Look
    leaves: int
    """The eyes go [ticks]: when the script says, or when the look before it has arrived."""
    arrives: int
    """The eyes are on the target, as far as they go [ticks]."""
    head: tuple[int, int]
    """The head's own move [ticks]; twice the same where it has none."""
    body: tuple[int, int]
    """The body's move, in which the head turns back by as much [ticks]."""
    lands: int
    """Body, head and eyes are there."""
    turn: float
    lift: float
    """The gaze [rad] from midway between the eyes."""
    head_first: float
    """Where the head turns to before the body has come [rad]."""
    head_turn: float
    """Where it stays, on the body [rad]."""
    head_nod: float
    body_turn: float


def planned(score: Score, cast: Cast) -> tuple[Seen, ...]:
    """Return the looks with their times and what head and body take of each."""
    out: list[Seen] = []
    turn = lift = 0.0
    head_yaw, head_pitch, body = (_neutral(cast, row) for row in (cast.head_turn, cast.head_nod, cast.body_turn))
    free = head_free = body_free = 0
    for look in score.looks:
        if look.eyes_only and not cast.eyes_move:
            continue
        yaw, pitch = angles(score.targets[look.target])
        if look.eyes_only:
            first, to_yaw, to_pitch, to_body = head_yaw, head_yaw, head_pitch, body
        else:
            front = front_part(yaw, HEAD_JOINS_TURN, _reach(cast, cast.turn, yaw))
            to_body = _body(cast, yaw, front)
            first, to_yaw = _kept(cast, cast.head_turn, front - body), _kept(cast, cast.head_turn, front - to_body)
            to_pitch = _kept(cast, cast.head_nod, front_part(pitch, HEAD_JOINS_NOD, _reach(cast, cast.lift, pitch)))
        at = max(look.at, free)
        arrives = at + (saccade_ticks(math.hypot(yaw - turn, pitch - lift)) if cast.eyes_move else 0)
        leaves = at + (look.head_after if cast.eyes_move else 0)
        head_at = head_to = max(leaves, head_free)
        delta = math.hypot(first - head_yaw, to_pitch - head_pitch)
        if delta > 1e-6:
            head_to += head_ticks(delta)
        body_at = body_to = max(head_at + (look.body_after if cast.head_turn >= 0 else 0), body_free)
        if abs(to_body - body) > 1e-6:
            body_to += body_ticks(to_body - body)
        moves = [end for start, end in ((head_at, head_to), (body_at, body_to)) if end > start]
        lands = max(arrives, *moves) if moves else arrives
        out.append(
            Seen(
                look=look, leaves=at, arrives=arrives, head=(head_at, head_to), body=(body_at, body_to), lands=lands, turn=yaw,
                lift=pitch, head_first=first, head_turn=to_yaw, head_nod=to_pitch, body_turn=to_body,
            )
        )  # fmt: skip
        turn, lift, head_yaw, head_pitch, body = yaw, pitch, to_yaw, to_pitch, to_body
        free, head_free, body_free = arrives, max(head_free, head_to), max(body_free, body_to)
    return tuple(out)


def _neutral(cast: Cast, row: int) -> float:
    return float(cast.neutral[row]) if row >= 0 else 0.0


def _kept(cast: Cast, row: int, angle: float) -> float:
    """Return an angle kept inside the travel of a function; 0 where there is none."""
    return min(max(angle, float(cast.low[row])), float(cast.high[row])) if row >= 0 else 0.0


def _reach(cast: Cast, rows: tuple[int, ...], angle: float) -> float:
    """Return how far the shortest of some functions reaches the way of an angle [rad]; 0 where there is none."""
    reach = min((float(cast.high[row] if angle > 0 else -cast.low[row]) for row in rows), default=0.0)
    return max(reach, 0.0)


def _body(cast: Cast, yaw: float, front: float) -> float:
    if cast.body_turn < 0:
        return 0.0
    head = (cast.head_turn,) if cast.head_turn >= 0 else ()
    return _kept(cast, cast.body_turn, body_part(yaw, front, _reach(cast, head, front)))


def add_head(keys: Keys, seen: tuple[Seen, ...], cast: Cast) -> None:
    """Add the shares of head and body in every look to their functions.

    The head's turn is two curves: its own moves, and its turning back while the body comes.
    """
    own: list[tuple[int, float]] = []
    back: list[tuple[int, float]] = []
    nod: list[tuple[int, float]] = []
    body: list[tuple[int, float]] = []
    before, a, b = _neutral(cast, cast.head_turn), 0.0, 0.0
    for item in seen:
        a += item.head_first - before
        b += item.head_turn - item.head_first
        before = item.head_turn
        _move(own, item.head, a)
        _move(back, item.body, b)
        _move(nod, item.head, item.head_nod - _neutral(cast, cast.head_nod))
        _move(body, item.body, item.body_turn - _neutral(cast, cast.body_turn))
    for row, curve in ((cast.head_turn, own), (cast.head_turn, back), (cast.head_nod, nod), (cast.body_turn, body)):
        if row >= 0:
            keys.curve(row, curve)


def _move(curve: list[tuple[int, float]], span: tuple[int, int], to: float) -> None:
    now = curve[-1][1] if curve else 0.0
    if abs(to - now) > 1e-12:
        start = max(span[0], curve[-1][0] if curve else 0)
        curve += [(start, now), (max(span[1], start + 1), to)]


class _Side(NamedTuple):
    """The eyes of one side, or those that turn as one."""

    toe: float
    rows: tuple[int, ...]
    gaze: Curves
    """Rows of it: turn, lift [rad], and whether they look at all (0 to 1)."""


@dataclass(frozen=True, slots=True)
class Eyes:
    """Where the eyes of a creature look over the part."""

    first: int
    """Sample at which the first look leaves."""
    cast: Cast
    sides: tuple[_Side, ...]

    def place(self, values: F64, start: int) -> None:
        """Put the eyes where the look is, head and all, into ``values`` (rows, samples) [rad] from sample ``start`` on.

        Head and body are taken to turn about the middle of the eyes. Once there has been a look the eyes stay on its target while
        the head or the body moves, as far as they go.
        """
        cast, skip = self.cast, max(self.first - start, 0)
        count = values.shape[1] - skip
        if count <= 0:
            return
        yaw_h = np.zeros(count)
        for row in (cast.head_turn, cast.body_turn):
            if row >= 0:
                yaw_h += values[row, skip:]
        pitch_h = values[cast.head_nod, skip:] if cast.head_nod >= 0 else np.zeros(count)
        nod = np.stack((np.cos(pitch_h), np.sin(pitch_h)))
        for side in self.sides:
            world = np.zeros((3, count))
            side.gaze.add_to(world, start + skip)
            yaw, pitch, on = world
            in_yaw, in_pitch = np.empty(count), np.empty(count)
            _in_head(yaw, pitch, yaw_h, nod, in_yaw, in_pitch)
            for row in side.rows:
                low, high = float(cast.low[row]), float(cast.high[row])
                if row in cast.turn:
                    aim(values[row, skip:], in_yaw, side.toe, on, low, high)
                else:
                    aim(values[row, skip:], in_pitch, 0.0, on, low, high)


def eyes_of(seen: tuple[Seen, ...], score: Score, cast: Cast, build: Build) -> Eyes | None:
    """Return where the eyes look; None where none move. Two eyes converge by their spacing; eyes that turn as one look from the middle."""
    if not seen or not cast.eyes_move:
        return None
    half = 0.5 * build.eye.spacing if build.eye else 0.0
    toe = build.eye.toe_in if build.eye else 0.0
    sides: list[_Side] = []
    for side, sign in (("left", 1.0), ("right", -1.0), (None, 0.0)):
        rows = tuple(row for row in (*cast.turn, *cast.lift) if cast.functions[row].side == side)
        if not rows:
            continue
        keys = Keys()
        curves: tuple[list[tuple[int, float]], list[tuple[int, float]]] = ([], [])
        now = (0.0, 0.0)
        for item in seen:
            to = angles(score.targets[item.look.target], (sign * half, 0.0, 0.0))
            for curve, a, b in zip(curves, now, to, strict=True):
                curve += [(item.leaves, a), (item.arrives, b)]
            now = to
        keys.curve(0, curves[0])
        keys.curve(1, curves[1])
        keys.curve(2, ((seen[0].leaves, 0.0), (seen[0].arrives, 1.0)))
        sides.append(_Side(sign * toe, rows, keys.packed()))
    return Eyes(max(seen[0].leaves // SERIES_EVERY, 0), cast, tuple(sides))


def in_head(yaw: float, pitch: float, yaw_h: float, pitch_h: float) -> tuple[float, float]:
    """Return a gaze (turn, lift) [rad] as seen from a head that is turned and nodded: undo the turn, then the nod."""
    across = math.cos(pitch)
    x, y, z = math.sin(yaw - yaw_h) * across, math.sin(pitch), math.cos(yaw - yaw_h) * across
    c, s = math.cos(pitch_h), math.sin(pitch_h)
    y, z = c * y - s * z, s * y + c * z
    return math.atan2(x, z), math.atan2(y, math.hypot(x, z))


@compiled()
def _in_head(yaw: F64, pitch: F64, yaw_h: F64, nod: F64, out_yaw: F64, out_pitch: F64) -> None:
    """Put ``in_head`` of each sample into ``out_yaw`` and ``out_pitch``; ``nod`` (2, samples) is the cosine and sine of the head's.

    Much of a part is held: what did not change is not reckoned again.
    """
    x = up = along = 0.0
    for i in range(yaw.shape[0]):
        fresh = i == 0 or yaw[i] != yaw[i - 1] or pitch[i] != pitch[i - 1] or yaw_h[i] != yaw_h[i - 1]
        if fresh:
            across = math.cos(pitch[i])
            x, up, along = (
                math.sin(yaw[i] - yaw_h[i]) * across,
                math.sin(pitch[i]),
                math.cos(yaw[i] - yaw_h[i]) * across,
            )
        if fresh or nod[0, i] != nod[0, i - 1] or nod[1, i] != nod[1, i - 1]:
            y, z = nod[0, i] * up - nod[1, i] * along, nod[1, i] * up + nod[0, i] * along
            out_yaw[i], out_pitch[i] = math.atan2(x, z), math.atan2(y, math.sqrt(x * x + z * z))
        else:
            out_yaw[i], out_pitch[i] = out_yaw[i - 1], out_pitch[i - 1]
