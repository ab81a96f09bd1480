"""The demand: the score played on one creature's functions, at 240 Hz, with its hits, windows and spans."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from marotte.basis.contracts.common import F32, F64, Motion, Told
from marotte.basis.contracts.script import Beat, Demand, Spans
from marotte.basis.ticks import SERIES_EVERY
from marotte.creature.schema.build import Build
from marotte.creature.schema.functions import Function
from marotte.creature.schema.poses import Poses
from marotte.script.cast import Cast, alike, cast
from marotte.script.colour import add_breath, add_business, add_idle, add_moods
from marotte.script.curves import Keys, add_steps
from marotte.script.hits import VOICES, gives_way, lid_hits, mouth_hits, open_peaks
from marotte.script.laying import lay
from marotte.script.lids import WHOLE
from marotte.script.look import Seen, add_head, planned
from marotte.script.look_hits import look_hits
from marotte.script.score import Score
from marotte.script.windows import windows


def demand(score: Score, functions: Mapping[str, Function], poses: Poses, build: Build) -> Demand:
    """Return what the script asks of every function of one creature."""
    who = cast(functions, poses, build)
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
    shut = _shut(who, poses)
    asked = lay(keys, score, who, seen, build, shut)
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
