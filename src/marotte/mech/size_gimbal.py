"""Sizing of an eye on two rods: horns, rods and where they take hold, for turn and lift at once. docs/methods/sizing.md."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final, cast

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.units import DEG
from marotte.creature.schema.mechs import Linkage, TwoRodGimbal
from marotte.mech.ask import Ask, share_of
from marotte.mech.kernels_gimbal import needed
from marotte.mech.kinds.two_rod_gimbal import rods_of
from marotte.mech.size_candidate import GOOD_ANGLE, GOOD_USE, Candidate, is_good
from marotte.mech.size_free import changes, made
from marotte.mech.size_judge import Trial, solved
from marotte.mech.size_search import ROOM, TURNED, Search, Ways
from marotte.mech.size_start import SWINGS

EVERY: Final = 6
"""Of the places of each travel, how many are passed over: 11 x 11 looks are searched with."""
SLOPE: Final = 1e-5
"""Turn or lift over which a horn's rate is taken [rad]."""
TALK: Final = 0.05 / DEG
"""How much is counted for cross-talk, a radian."""
HOLD: Final = 0.4
"""Height of the rods over the eye's centre, by their spacing, where none is written: turn and lift then ask for like strokes."""


def candidates(trial: Trial) -> Iterator[Candidate]:
    """Yield proposals for an eye on two rods, judged."""
    begin = cast(TwoRodGimbal, trial.record)
    if begin.arms.height == 0.0:
        begin = cast(TwoRodGimbal, made(begin, {"arms/height": round(HOLD * begin.arms.spacing / 0.5e-3) * 0.5e-3}))
    return Search(trial, begin, Ways(misses, judged, _starts)).candidates()


def misses(trial: Trial, record: Linkage) -> F64:
    """Return what the least squares makes small, (2 n + 5,): angles short, torque over, swings over, hold too far out, cross-talk."""
    ask, eye = trial.ask, cast(TwoRodGimbal, record)
    turn, lift = (one.grid[::EVERY] for one in ask.moved)
    neutral = trial.case.functions[0].neutral, trial.case.functions[1].neutral
    rods = rods_of(eye, neutral, trial.case.mechanism.side)
    sign = np.full(2, 1.0 if math.sin(eye.horn_at_neutral) >= 0.0 else -1.0)
    t, s = (np.ravel(axis) for axis in np.meshgrid(turn, lift, indexing="ij"))
    at = needed(t, s, rods, sign)
    closed = at[3] > 0.0
    slopes: F64 = np.where(closed, _slopes(t, s, rods, sign), np.eye(2)[:, :, None])
    use = _use(ask, t, s, slopes, eye.efficiency, eye.friction)
    n = t.size
    flat = np.maximum(math.sin(ROOM * GOOD_ANGLE) - np.where(closed, at[2], at[3]), 0.0)
    weak = np.maximum(np.log(np.maximum(use, 1e-6) / (0.9 * GOOD_USE)), 0.0)
    far = [max(float(np.ptp(at[i])) / (TURNED * ask.lines[i].turn) - 1.0, 0.0) for i in range(2)]
    out = max(hold(eye) / trial.reach - 1.0, 0.0)
    talk = TALK * np.array(_cross_talk(turn, lift, neutral, rods, sign))
    share = 1.0 / math.sqrt(n)
    return np.concatenate((3.0 * share * flat, share * weak, 5.0 * np.array([*far, out]), np.minimum(talk, 1.0)))


def judged(trial: Trial, record: Linkage) -> Candidate | None:
    """Return a record of an eye with its margins, by its own transmission; None where it does not go together."""
    found, ask = solved(trial, record), trial.ask
    if found is None or found.angle is None or found.inside is None or not found.inside.any():
        return None
    inside = found.inside
    t, s = found.position[0][inside], found.position[1][inside]
    rates = found.rate[:, :, inside]  # (out, in, n)
    slopes: F64 = np.moveaxis(np.linalg.inv(np.moveaxis(rates, -1, 0)), 0, -1).astype(np.float64)  # (in, out, n)
    use = _use(ask, t, s, slopes, found.forward, found.dry)
    worst = int(np.argmax(use))
    swing = max(float(axis[-1] - axis[0]) for axis in found.grid)
    faults = tuple(fault for fault in found.faults if fault.serious)
    angle, most = float(found.angle[inside].min()), float(use[worst])
    return Candidate(
        record=record, changes=changes(trial.written, record, trial.free), least_angle=angle, use=most,
        use_at=(float(t[worst]), float(s[worst])), swing=swing, play=float(found.play[trial.output]), faults=faults,
        performs=is_good(angle, most, swing, ask, faults),
        cross_talk=(found.facts["turning_lifts_rad"], found.facts["lifting_turns_rad"]),
    )  # fmt: skip


def _use(ask: Ask, turn: F64, lift: F64, slopes: F64, efficiency: float, dry: float) -> F64:
    """Return the larger share of torque that is asked of the two servos at some looks, (n,), turning and lifting at once.

    Args:
        ask: of turn and lift.
        turn: (n,) [rad].
        lift: (n,) [rad].
        slopes: (in, out, n) of each horn by turn and by lift.
        efficiency: of the mech.
        dry: friction at each horn [N*m].
    """
    asked = np.stack([np.interp(q, one.grid, one.asked) for q, one in zip((turn, lift), ask.moved, strict=True)])
    speeds = np.stack([np.interp(q, one.grid, one.speed) for q, one in zip((turn, lift), ask.moved, strict=True)])
    det = slopes[0, 0] * slopes[1, 1] - slopes[0, 1] * slopes[1, 0]
    det = np.where(np.abs(det) < 1e-9, 1e-9, det)
    rates = np.abs(np.stack(((slopes[1, 1], -slopes[0, 1]), (-slopes[1, 0], slopes[0, 0]))) / det)  # (out, in, n)
    uses = []
    for i, line in enumerate(ask.lines):
        torque = (rates[:, i] * asked).sum(axis=0) / efficiency + dry
        uses.append(share_of(line, torque, (np.abs(slopes[i]) * speeds).sum(axis=0)))
    return np.asarray(np.maximum(*uses))


def _slopes(t: F64, s: F64, rods: F64, sign: F64) -> F64:
    """Return (in, out, n): how far each horn goes for turn and for lift."""
    by_turn = (needed(t + SLOPE, s, rods, sign)[:2] - needed(t - SLOPE, s, rods, sign)[:2]) / (2.0 * SLOPE)
    by_lift = (needed(t, s + SLOPE, rods, sign)[:2] - needed(t, s - SLOPE, rods, sign)[:2]) / (2.0 * SLOPE)
    return np.stack((by_turn, by_lift), axis=1)


def _cross_talk(turn: F64, lift: F64, neutral: tuple[float, float], rods: F64, sign: F64) -> tuple[float, float]:
    """Return about how far it lifts when only turned and turns when only lifted [rad]: horns' common and unlike parts, by their slopes."""
    slopes = _slopes(np.array([neutral[0]]), np.array([neutral[1]]), rods, sign)[:, :, 0]
    turned = needed(turn, np.full(turn.size, neutral[1]), rods, sign)[:2]
    lifted = needed(np.full(lift.size, neutral[0]), lift, rods, sign)[:2]
    together, apart = slopes[0, 1] + slopes[1, 1], slopes[0, 0] - slopes[1, 0]
    lifts = float(np.abs(turned.sum(axis=0)).max()) / max(abs(float(together)), 1e-6)
    turns = float(np.abs(lifted[0] - lifted[1]).max()) / max(abs(float(apart)), 1e-6)
    return lifts, turns


def hold(eye: TwoRodGimbal) -> float:
    """Return how far from the eye's middle its rods take hold [m]."""
    return math.hypot(eye.arms.spacing / 2.0, eye.arms.height, eye.arms.back)


def _starts(trial: Trial, record: Linkage, written: F64) -> Iterator[F64]:
    """Yield starts with the horns square at neutral and long enough for a swing.

    For small angles a horn's ball goes spacing / 2 for each radian of turn and height for each of lift, so that a horn swings by
    (spacing / 2 x turn + height x lift) / horn from corner to corner.
    """
    fields, eye = trial.free.fields, cast(TwoRodGimbal, record)
    strokes = [float(np.ptp(one.grid)) for one in trial.ask.moved]
    way = 0.5 * eye.arms.spacing * strokes[0] + abs(eye.arms.height) * strokes[1]
    for swing in SWINGS:
        if swing <= min(line.turn for line in trial.ask.lines):
            start = dict(zip(fields, map(float, written), strict=True))
            start["horn"], start["horn_at_neutral"] = (
                way / swing,
                math.copysign(90 * DEG, math.sin(eye.horn_at_neutral)),
            )
            yield np.array([start[field] for field in fields])
