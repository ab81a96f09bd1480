"""The demand: the score played on one creature's functions, at 240 Hz, with its hits, windows and spans."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F32, F64, Motion, Told, f32
from marotte.basis.contracts.script import Beat, Demand, Spans
from marotte.basis.ticks import SERIES_EVERY
from marotte.creature.schema.build import Build
from marotte.creature.schema.functions import Function
from marotte.creature.schema.poses import Poses
from marotte.script.cast import Cast, alike, cast
from marotte.script.closures import RAMP, RAMP_FULL, Contact
from marotte.script.colour import add_breath, add_business, add_idle, add_moods
from marotte.script.curves import Keys, add_steps, settle
from marotte.script.hits import VOICES, gives_way, lid_hits, mouth_hits, open_peaks
from marotte.script.laid import say, touch
from marotte.script.lids import DOWN, FOLLOW, SHUT, WHOLE
from marotte.script.look import Seen, add_head, place_eyes, planned
from marotte.script.look_hits import look_hits
from marotte.script.moods import IN_SPEECH
from marotte.script.mouth import REACH, blend_series
from marotte.script.score import Score
from marotte.script.speech import Mouthing
from marotte.script.windows import windows

WIDE: Final = round(RAMP_FULL) // SERIES_EVERY
"""Samples beside a contact in which the mouth's width counts."""


def demand(score: Score, functions: Mapping[str, Function], poses: Poses, build: Build) -> Demand:
    """Return what the script asks of every function of one creature."""
    who = cast(functions, poses, build)
    samples = score.stop // SERIES_EVERY
    told: list[Told] = list(score.told)
    for part in score.mouthings:
        told += part.told
    told += _about(score, who)
    seen = planned(score, who)
    keys = Keys()
    told += add_moods(keys, score, who, poses)
    add_breath(keys, score, who)
    add_idle(keys, score, who, seen)
    told += add_business(keys, score, who)
    add_head(keys, seen, who)
    values = np.zeros((len(who.names), samples))
    keys.add_to(values)
    _speak(values, score, who)
    settle(values, who.neutral, who.low, who.high)
    place_eyes(values, seen, score, who, build)
    shut = _shut(who, poses)
    _lids(values, score, who, shut)
    for row in (*who.turn, *who.lift, *who.lids):
        np.clip(values[row], who.low[row], who.high[row], out=values[row])
    asked = f32(values)
    del values  # half an hour of 30 functions is 100 MB
    widest = open_peaks(score, who, asked)
    hits = mouth_hits(score, who, widest) + lid_hits(score, who, build, shut)
    if score.style == "lips":
        told += gives_way(score, who, widest)
    more, out_of_reach = look_hits(seen, score, who, build, asked)
    told += out_of_reach
    return Demand(
        motion=Motion(names=who.names, units=who.units, start=0, every=SERIES_EVERY, values=asked),
        hits=tuple(sorted(hits + more, key=lambda hit: (hit.opens, hit.id))),
        windows=windows(score.lines, _stir(asked, who)),
        spans=Spans(lines=score.lines, beats=_beats(score, seen), stop=score.stop),
        told=tuple(told),
    )


def _about(score: Score, who: Cast) -> list[Told]:
    out: list[Told] = []
    if not who.mouth:
        out.append(
            Told(code="mouth.none", sentence="no jaw, no beak and no mouth shapes: it speaks with its body alone")
        )
    elif who.unwritten and len(who.unwritten) < 14:
        names = ", ".join(who.unwritten)
        out.append(Told(code="mouth.unwritten", sentence=f"mouth shapes not written, jaw opening by rule: {names}"))
    elif who.unwritten and score.style == "lips":
        out.append(
            Told(code="mouth.by_rule", sentence="no mouth shapes are written: the jaw opens by rule for all of them")
        )
    if who.mouth and score.style == "lips":
        groups = [" = ".join(group) for group in alike(who)]
        if groups:
            sentence = f"on this mouth these shapes look the same: {'; '.join(groups)}"
            out.append(Told(code="mouth.alike", sentence=sentence))
    if who.beak and score.style == "lips":
        what = "a beak has no lips: no p, b, m, f, v is asked of it; it is better played in 'flap' or 'hits'"
        out.append(Told(code="mouth.beak", sentence=what))
    if who.mouth and score.lines and score.voice == "other":
        out.append(
            Told(code="voice.other", sentence=f"{VOICES['other'].says}: hardly a hit of the mouth can be in time")
        )
    if who.eyes_move and any(who.functions[row].side is None for row in who.turn) and score.looks:
        out.append(Told(code="eyes.together", sentence="both eyes turn as one: they do not converge on what is near"))
    if score.looks and not who.eyes_move and who.head_turn < 0 and who.body_turn < 0:
        what = "neither eyes nor a head nor a body that turn: looks cannot be shown"
        out.append(Told(code="look.nothing", sentence=what))
    return out


def _speak(values: F64, score: Score, who: Cast) -> None:
    """Lay speech on the mouth: what colours it gives way by half, what is a contact is reached whatever else is asked."""
    if not who.mouth or not score.mouthings:
        return
    samples = values.shape[1]
    rows = np.array(who.mouth)
    rest = who.shapes[0] - who.neutral[rows]
    speech = np.zeros((len(rows), samples))
    if score.style == "lips":
        for part in score.mouthings:
            _blended(speech, part, who)
    wide = _wide(speech, who) if score.style == "lips" else np.zeros(0)
    keys = Keys()
    for part in score.mouthings:
        if part.keys or part.shapes.size:
            keys.bump(0, 1.0, part.start - 200, part.start, part.stop, part.stop + 300)
        keys.curve(1, part.keys)
        for k, item in enumerate(part.contacts):
            row = (2 if item.kind == "closure" else 4) + k % 2
            into, out = _ramps(item, wide) if wide.size else (item.ramp_in, item.ramp_out)
            keys.bump(row, 1.0, item.start - into, item.start, item.stop, item.stop + out)
    lanes = np.zeros((6, samples))
    keys.add_to(lanes)
    np.clip(lanes, 0.0, 1.0, out=lanes)
    if score.style != "lips":
        speech += lanes[1] * (who.shapes[10] - who.shapes[0])[:, None]
    for column, row in enumerate(who.mouth):
        say(values[row], speech[column], rest[column], lanes[0], IN_SPEECH)
    for lane, shape in ((4, 2), (2, 1)):
        for row in who.seals:
            target = who.shapes[shape, who.mouth.index(row)] - who.neutral[row]
            touch(values[row], lanes[lane], lanes[lane + 1], target)


def _wide(speech: F64, who: Cast) -> F64:
    """Return (samples,) how wide the blended mouth is: of each jaw's way from shut to its widest shape, the most."""
    out = np.zeros(speech.shape[1])
    for row in who.jaws:
        column = who.mouth.index(row)
        shut, widest = who.shapes[1, column], who.shapes[:, column].max()
        if widest > shut:
            np.maximum(out, (who.shapes[0, column] + speech[column] - shut) / (widest - shut), out=out)
    return out


def _ramps(item: Contact, wide: F64) -> tuple[int, int]:
    """Return the time into and out of a contact [ticks]: a jaw that is wide open beside it takes longer than one that is not."""
    first, last = item.start // SERIES_EVERY, item.stop // SERIES_EVERY
    into = wide[max(first - WIDE, 0) : first].max(initial=0.0)
    out = wide[last : last + WIDE].max(initial=0.0)
    return (
        max(item.ramp_in, round(RAMP_FULL * into)) if item.ramp_in == RAMP else item.ramp_in,
        max(item.ramp_out, round(RAMP_FULL * out)) if item.ramp_out == RAMP else item.ramp_out,
    )


def _blended(speech: F64, part: Mouthing, who: Cast) -> None:
    if not part.shapes.size:
        return
    first = max(0, (int(part.centres[0]) - REACH) // SERIES_EVERY)
    last = min(speech.shape[1], (int(part.centres[-1]) + REACH) // SERIES_EVERY)
    if last <= first:
        return
    targets = who.shapes[part.shapes] - who.shapes[0]
    speech[:, first:last] += blend_series(first, last - first, part.centres, part.alphas, part.thetas, targets, who.lip)


def _shut(who: Cast, poses: Poses) -> F64:
    """Return where each lid is shut: the pose "lids_shut" where the creature writes one, else the end of its travel."""
    pose = poses.named.get("lids_shut", {})
    return np.array(
        [
            who.neutral[row] + who.offset(row, pose[who.names[row]]) if who.names[row] in pose else who.high[row]
            for row in who.lids
        ],
        np.float64,
    )


def _lids(values: F64, score: Score, who: Cast, shut: F64) -> None:
    """Let upper lids follow the eyes up and down, then lay blinks over everything."""
    for row in who.upper:
        side = who.functions[row].side
        lifts = [r for r in who.lift if side is None or who.functions[r].side in (side, None)]
        if lifts and who.units[row] == "rad":
            values[row] -= FOLLOW * values[lifts].mean(axis=0)
    lane = np.zeros((1, values.shape[1]))
    keys = Keys()
    for blink in score.blinks:
        keys.bump(0, 1.0, blink.at, blink.at + DOWN, blink.at + DOWN + SHUT, blink.at + WHOLE)
    keys.add_to(lane)
    on = np.flatnonzero(lane[0])
    weight = np.minimum(lane[0, on], 1.0)
    for k, row in enumerate(who.lids):
        values[row, on] += weight * (shut[k] - values[row, on])


def _stir(values: F32, who: Cast) -> F64:
    """Return (samples,) how much moves at each sample, each function by its own travel."""
    out = np.zeros(values.shape[1])
    add_steps(values, who.high - who.low, out)
    return out


def _beats(score: Score, seen: tuple[Seen, ...]) -> tuple[Beat, ...]:
    out = list(score.scenes)
    out += [
        Beat(kind="look", what=item.look.target, start=item.leaves, stop=item.lands, line=item.look.line)
        for item in seen
    ]
    for place, change in enumerate(score.moods):
        if change.name:
            end = score.moods[place + 1].by if place + 1 < len(score.moods) else score.stop
            out.append(Beat(kind="mood", what=change.name, start=change.at, stop=end, line=change.line))
    out += [Beat(kind="blink", what=b.why, start=b.at, stop=b.at + WHOLE, line=b.line) for b in score.blinks]
    out += [Beat(kind="breath", what="", start=b.start, stop=b.stop, line=b.line) for b in score.breaths]
    out += [Beat(kind="business", what=d.text, start=d.at, stop=d.at + d.deed.ticks, line=d.line) for d in score.done]
    out += [
        Beat(kind="rest", what=s.what, start=s.start, stop=s.stop, line=s.line)
        for s in score.stills
        if s.what == "life"
    ]
    return tuple(sorted(out, key=lambda b: (b.start, b.kind, b.line, b.what)))
