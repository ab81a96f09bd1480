"""The hits of looks and of stillness: eyes arrived, look landed, nothing moving after it."""

from __future__ import annotations

import math

from marotte.basis.contracts.common import F32, Told
from marotte.basis.contracts.script import Hit
from marotte.basis.ticks import clock
from marotte.creature.schema.build import Build
from marotte.script.cast import Cast
from marotte.script.gaze import FLICK, angles
from marotte.script.hits import (
    BODY_WITHIN,
    EYE_WITHIN,
    HEAD_STILL,
    HEAD_WITHIN,
    STEADY,
    STILL_WITHIN,
    at_sample,
    spread_of,
    within,
)
from marotte.script.life import SETTLE, SETTLED, Still
from marotte.script.look import Seen, in_head
from marotte.script.score import Score


def look_hits(
    seen: tuple[Seen, ...], score: Score, cast: Cast, build: Build, values: F32
) -> tuple[list[Hit], list[Told]]:
    """Return the hits of looks and stillness, and what is out of reach."""
    out: list[Hit] = []
    told: list[Told] = []
    eyes = (*cast.turn, *cast.lift)
    heads = tuple(row for row in (cast.head_turn, cast.head_nod) if row >= 0)
    bodies = (cast.body_turn,) if cast.body_turn >= 0 else ()
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
        for some, by in ((heads, HEAD_WITHIN), (bodies, BODY_WITHIN)):
            needs += tuple(n for row in some for n in within(cast, row, at_sample(values, row, item.lands), by))
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
                    f"{_ends(bool(eyes), heads, bodies)} at their ends",
                )
            )  # fmt: skip
    for still in _after_looks(seen, stop) + [s for s in score.stills if s.what == "life"]:
        hit = _still(still, cast, eyes, (*heads, *bodies), values, stop)
        if hit is not None:
            out.append(hit)
        elif still.what == "life" and (eyes or heads or bodies):
            told.append(
                Told(
                    code="still.broken", line=still.line,
                    sentence=f"line {still.line}: stillness is asked at {clock(still.start)} while eyes or head are asked to move",
                )
            )  # fmt: skip
    return out, told


def _ends(eyes: bool, heads: tuple[int, ...], bodies: tuple[int, ...]) -> str:
    names = [name for name, has in (("eyes", eyes), ("head", bool(heads)), ("body", bool(bodies))) if has]
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _aims(item: Seen, score: Score, cast: Cast, build: Build, values: F32) -> list[tuple[int, float]]:
    """Return where each eye function should be when the look has landed, whether it can or not; the head where none moves."""
    half = 0.5 * build.eye.spacing if build.eye else 0.0
    toe = build.eye.toe_in if build.eye else 0.0
    body = at_sample(values, cast.body_turn, item.lands) if cast.body_turn >= 0 else 0.0
    if not cast.eyes_move:
        turns = (cast.head_turn, item.turn - body) if cast.head_turn >= 0 else (cast.body_turn, item.turn)
        return [(row, at) for row, at in (turns, (cast.head_nod, item.lift)) if row >= 0]
    yaw_h = body + (at_sample(values, cast.head_turn, item.lands) if cast.head_turn >= 0 else 0.0)
    pitch_h = at_sample(values, cast.head_nod, item.lands) if cast.head_nod >= 0 else 0.0
    out: list[tuple[int, float]] = []
    for row in (*cast.turn, *cast.lift):
        side = cast.functions[row].side
        sign = 1.0 if side == "left" else -1.0 if side == "right" else 0.0
        yaw, pitch = angles(score.targets[item.look.target], (sign * half, 0.0, 0.0))
        in_yaw, in_pitch = in_head(yaw, pitch, yaw_h, pitch_h)
        out.append((row, in_yaw + sign * toe if row in cast.turn else in_pitch))
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
