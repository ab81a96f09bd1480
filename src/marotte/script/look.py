"""Looks played: where head and eyes go for each look, over the series, and the hits that each look makes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from marotte.basis.contracts.common import F32, F64, Told
from marotte.basis.contracts.script import Hit
from marotte.basis.ticks import clock
from marotte.creature.schema.build import Build
from marotte.script.cast import Cast
from marotte.script.curves import Keys
from marotte.script.gaze import (
    FLICK,
    HEAD_JOINS_NOD,
    HEAD_JOINS_TURN,
    Look,
    angles,
    head_part,
    head_ticks,
    saccade_ticks,
)  # fmt: skip
from marotte.script.hits import EYE_WITHIN, HEAD_STILL, HEAD_WITHIN, STEADY, STILL_WITHIN, at_sample, spread_of, within
from marotte.script.life import SETTLE, SETTLED, Still
from marotte.script.score import Score

KNEE = 0.93
"""Share of an eye's reach from which it slows down into its limit (a rule of this project)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One look as this creature does it."""

    look: Look
    leaves: int
    """The eyes go [ticks]: when the script says, or when the look before it has arrived."""
    arrives: int
    """The eyes are on the target, as far as they go [ticks]."""
    lands: int
    """Head and eyes are there."""
    turn: float
    lift: float
    """The gaze [rad] from midway between the eyes."""
    head_turn: float
    head_nod: float


def planned(score: Score, cast: Cast) -> tuple[Seen, ...]:
    """Return the looks with their times and what the head takes of each."""
    out: list[Seen] = []
    turn = lift = head_yaw = head_pitch = 0.0
    free = head_free = 0
    for look in score.looks:
        if look.eyes_only and not cast.eyes_move:
            continue
        yaw, pitch = angles(score.targets[look.target])
        to_yaw = _head(cast, cast.head_turn, cast.turn, yaw, HEAD_JOINS_TURN)
        to_pitch = _head(cast, cast.head_nod, cast.lift, pitch, HEAD_JOINS_NOD)
        if look.eyes_only:
            to_yaw, to_pitch = head_yaw, head_pitch
        at = max(look.at, free)
        jump = math.hypot(yaw - turn, pitch - lift)
        arrives = at + (saccade_ticks(jump) if cast.eyes_move else 0)
        delta = math.hypot(to_yaw - head_yaw, to_pitch - head_pitch)
        head_at = max(at + (look.head_after if cast.eyes_move else 0), head_free)
        lands = head_at + head_ticks(delta) if delta > 1e-6 else arrives
        out.append(
            Seen(
                look=look, leaves=at, arrives=arrives, lands=max(lands, arrives), turn=yaw, lift=pitch, head_turn=to_yaw, head_nod=to_pitch
            )
        )  # fmt: skip
        turn, lift, head_yaw, head_pitch = yaw, pitch, to_yaw, to_pitch
        free, head_free = arrives, lands
    return tuple(out)


def _head(cast: Cast, row: int, eyes: tuple[int, ...], angle: float, joins: float) -> float:
    if row < 0:
        return 0.0
    reach = min((float(cast.high[e] if angle > 0 else -cast.low[e]) for e in eyes), default=0.0)
    return head_part(angle, joins, max(reach, 0.0), float(cast.low[row]), float(cast.high[row]))


def add_head(keys: Keys, seen: tuple[Seen, ...], cast: Cast) -> None:
    """Add the head's share of every look to its functions."""
    for row, name in ((cast.head_turn, "head_turn"), (cast.head_nod, "head_nod")):
        if row < 0:
            continue
        curve: list[tuple[int, float]] = []
        now = 0.0
        for item in seen:
            to = getattr(item, name) - float(cast.neutral[row])
            start = item.lands - head_ticks(_moved(seen, item))
            if to != now:
                start = max(start, curve[-1][0] if curve else 0)
                curve += [(start, now), (max(item.lands, start + 1), to)]
                now = to
        keys.curve(row, curve)


def _moved(seen: tuple[Seen, ...], item: Seen) -> float:
    place = seen.index(item)
    before = (seen[place - 1].head_turn, seen[place - 1].head_nod) if place else (0.0, 0.0)
    return math.hypot(item.head_turn - before[0], item.head_nod - before[1])


def place_eyes(values: F64, seen: tuple[Seen, ...], score: Score, cast: Cast, build: Build) -> None:
    """Put the eyes where the look is, head and all, into ``values`` (rows, samples) [rad].

    The head is taken to turn about the middle of the eyes. Once there has been a look the eyes stay on its target while the head
    moves, as far as they go. Two eyes converge by their spacing; eyes that turn as one look from the middle.
    """
    if not seen or not cast.eyes_move:
        return
    samples = values.shape[1]
    first = min(max(seen[0].leaves // 5, 0), samples)
    count = samples - first
    if count <= 0:
        return
    half = 0.5 * build.eye.spacing if build.eye else 0.0
    toe = build.eye.toe_in if build.eye else 0.0
    yaw_h = values[cast.head_turn, first:] if cast.head_turn >= 0 else np.zeros(count)
    pitch_h = values[cast.head_nod, first:] if cast.head_nod >= 0 else np.zeros(count)
    rows = {
        side: [r for r in (*cast.turn, *cast.lift) if cast.functions[r].side == side]
        for side in ("left", "right", None)
    }
    for side, some in rows.items():
        if not some:
            continue
        out_x = half if side == "left" else -half if side == "right" else 0.0
        toe_s = toe if side == "left" else -toe if side == "right" else 0.0
        world = np.zeros((3, count))
        keys = Keys()
        curves: tuple[list[tuple[int, float]], list[tuple[int, float]]] = ([], [])
        now = (0.0, 0.0)
        for item in seen:
            to = angles(score.targets[item.look.target], (out_x, 0.0, 0.0))
            for curve, a, b in zip(curves, now, to, strict=True):
                curve += [(item.leaves - first * 5, a), (item.arrives - first * 5, b)]
            now = to
        keys.curve(0, curves[0])
        keys.curve(1, curves[1])
        start = seen[0]
        keys.curve(2, ((start.leaves - first * 5, 0.0), (start.arrives - first * 5, 1.0)))
        keys.add_to(world)
        yaw, pitch, on = world
        in_yaw, in_pitch = _runs(yaw, pitch, yaw_h, pitch_h)
        for row in some:
            wanted = in_yaw + toe_s if row in cast.turn else in_pitch
            values[row, first:] += on * (
                _eased(wanted, float(cast.low[row]), float(cast.high[row])) - values[row, first:]
            )


def _runs(yaw: F64, pitch: F64, yaw_h: F64, pitch_h: F64) -> tuple[F64, F64]:
    """Return ``in_head`` over series, reckoned once for each run of samples in which nothing changes: much of a part is held."""
    fresh = np.ones(len(yaw), np.bool_)
    fresh[1:] = (np.diff(yaw) != 0) | (np.diff(pitch) != 0) | (np.diff(yaw_h) != 0) | (np.diff(pitch_h) != 0)
    at = np.flatnonzero(fresh)
    length = np.diff(at, append=len(yaw))
    in_yaw, in_pitch = in_head(yaw[at], pitch[at], yaw_h[at], pitch_h[at])
    return np.repeat(in_yaw, length), np.repeat(in_pitch, length)


def in_head(yaw: F64, pitch: F64, yaw_h: F64, pitch_h: F64) -> tuple[F64, F64]:
    """Return a gaze (turn, lift) [rad] as seen from a head that is turned and nodded: undo the turn, then the nod."""
    yaw, cosine = yaw - yaw_h, np.cos(pitch)
    x, y, z = np.sin(yaw) * cosine, np.sin(pitch), np.cos(yaw) * cosine
    c, s = np.cos(pitch_h), np.sin(pitch_h)
    y, z = c * y - s * z, s * y + c * z
    return np.arctan2(x, z), np.arctan2(y, np.hypot(x, z))


def _eased(angle: F64, low: float, high: float) -> F64:
    """Return an angle kept inside a reach: as it is up to the knee, then slowing into the limit instead of hitting it."""
    out = angle.copy()
    for limit, over in ((high, angle > KNEE * high), (low, angle < KNEE * low)):
        if limit == 0.0:
            out[over] = 0.0
            continue
        room = (1 - KNEE) * abs(limit)
        past = np.abs(angle[over]) - KNEE * abs(limit)
        out[over] = math.copysign(1.0, limit) * (KNEE * abs(limit) + room * (1.0 - np.exp(-past / room)))
    return out


def look_hits(
    seen: tuple[Seen, ...], score: Score, cast: Cast, build: Build, values: F32
) -> tuple[list[Hit], list[Told]]:
    """Return the hits of looks and stillness, and what is out of reach."""
    out: list[Hit] = []
    told: list[Told] = []
    eyes = (*cast.turn, *cast.lift)
    heads = tuple(row for row in (cast.head_turn, cast.head_nod) if row >= 0)
    stop = score.stop
    for place, item in enumerate(seen):
        look = item.look
        following = seen[place + 1].leaves if place + 1 < len(seen) else stop
        if eyes:
            needs = tuple(
                n for row in eyes for n in within(cast, row, at_sample(values, row, item.arrives), EYE_WITHIN)
            )
            out.append(
                Hit(
                    id=f"eyes_arrived.{look.line}.{look.count}", kind="eyes_arrived", opens=item.leaves,
                    shuts=min(item.arrives + FLICK, following), hold=5, needs=needs, line=look.line, word=look.target,
                    weight=0.3 if look.eyes_only else 1.0,
                )
            )  # fmt: skip
        if look.eyes_only:
            continue
        aims = _aims(item, score, cast, build, values)
        missed = [(row, at) for row, at in aims if abs(at - at_sample(values, row, item.lands)) > EYE_WITHIN]
        needs = tuple(n for row, at in aims for n in within(cast, row, at, EYE_WITHIN))
        needs += tuple(n for row in heads for n in within(cast, row, at_sample(values, row, item.lands), HEAD_WITHIN))
        if needs and item.lands < min(following, stop):
            out.append(
                Hit(
                    id=f"landed.{look.line}.{look.count}", kind="landed", opens=item.leaves, shuts=min(item.lands + STEADY, following),
                    hold=10, needs=needs, line=look.line, word=look.target,
                )
            )  # fmt: skip
        if missed:
            row, at = max(missed, key=lambda pair: abs(pair[1] - at_sample(values, pair[0], item.lands)))
            short = math.degrees(abs(at - at_sample(values, row, item.lands)))
            told.append(
                Told(
                    code="look.out_of_reach", line=look.line,
                    sentence=f"line {look.line}: the look to {look.target!r} stays {short:.0f} deg short at {cast.names[row]}, "
                    "eyes and head at their ends",
                )
            )  # fmt: skip
    for still in _after_looks(seen, stop) + [s for s in score.stills if s.what == "life"]:
        hit = _still(still, cast, eyes, heads, values, stop)
        if hit is not None:
            out.append(hit)
        elif still.what == "life" and (eyes or heads):
            told.append(
                Told(
                    code="still.broken", line=still.line,
                    sentence=f"line {still.line}: stillness is asked at {clock(still.start)} while eyes or head are asked to move",
                )
            )  # fmt: skip
    return out, told


def _aims(item: Seen, score: Score, cast: Cast, build: Build, values: F32) -> list[tuple[int, float]]:
    """Return where each eye function should be when the look has landed, whether it can or not; the head where none moves."""
    half = 0.5 * build.eye.spacing if build.eye else 0.0
    toe = build.eye.toe_in if build.eye else 0.0
    if not cast.eyes_move:
        pairs = ((cast.head_turn, item.turn), (cast.head_nod, item.lift))
        return [(row, at) for row, at in pairs if row >= 0]
    yaw_h = at_sample(values, cast.head_turn, item.lands) if cast.head_turn >= 0 else 0.0
    pitch_h = at_sample(values, cast.head_nod, item.lands) if cast.head_nod >= 0 else 0.0
    out: list[tuple[int, float]] = []
    for row in (*cast.turn, *cast.lift):
        side = cast.functions[row].side
        sign = 1.0 if side == "left" else -1.0 if side == "right" else 0.0
        yaw, pitch = angles(score.targets[item.look.target], (sign * half, 0.0, 0.0))
        in_yaw, in_pitch = in_head(*(np.float64(angle) for angle in (yaw, pitch, yaw_h, pitch_h)))  # type: ignore[arg-type]
        out.append((row, float(in_yaw) + sign * toe if row in cast.turn else float(in_pitch)))
    return out


def _after_looks(seen: tuple[Seen, ...], stop: int) -> list[Still]:
    out: list[Still] = []
    for place, item in enumerate(seen):
        end = seen[place + 1].leaves if place + 1 < len(seen) else stop
        end = min(end, item.lands + SETTLED)
        if end - item.lands > SETTLE and not item.look.eyes_only:
            out.append(Still(start=item.lands, stop=end, line=item.look.line, count=item.look.count, what="eyes"))
    return out


def _still(
    still: Still, cast: Cast, eyes: tuple[int, ...], heads: tuple[int, ...], values: F32, stop: int
) -> Hit | None:
    end = min(still.stop, stop)
    if end <= still.start:
        return None
    middle = (still.start + end) // 2
    by = [(row, STILL_WITHIN) for row in eyes]
    if still.what == "life" or not eyes:
        by += [(row, HEAD_STILL) for row in heads]
    # stillness is asked only where nothing else is asked to move: a nod in it is business, not a fault
    if any(spread_of(values, row, still.start, end) > size for row, size in by):
        return None
    needs = tuple(n for row, size in by for n in within(cast, row, at_sample(values, row, middle), size))
    if not needs:
        return None
    return Hit(
        id=f"still.{still.what}.{still.line}.{still.count}", kind="still", opens=still.start, shuts=end, hold=max(end - still.start - SETTLE, 5),
        needs=needs, line=still.line, word=still.what,
    )  # fmt: skip
