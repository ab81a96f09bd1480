"""What colours a part besides speech and looks: moods, breath, small shifts, business, as keyed curves on the functions."""

from __future__ import annotations

from typing import Final
from zlib import crc32

from marotte.basis.contracts.common import Told
from marotte.basis.faults import nearest
from marotte.basis.ticks import ticks
from marotte.creature.anatomy import PARTS
from marotte.creature.schema.poses import Pose, Poses
from marotte.script.business import FORMS
from marotte.script.cast import Cast
from marotte.script.curves import Keys
from marotte.script.directions import Done
from marotte.script.drawn import places
from marotte.script.life import SHIFT
from marotte.script.look import Seen
from marotte.script.moods import START_SET, by_part
from marotte.script.score import Score

BREATH_NOD: Final = 0.04
"""Way by which the head rises with a full breath where nothing else shows it (a rule of this project)."""
IDLE_GROUPS: Final = frozenset({"head", "ears", "body"})
"""What shifts a little in idle life; face and eyes do not drift."""
_PLACES: Final = 256
NO_IDLE: Final = frozenset({"gait", "hop", "breath"})


def add_moods(keys: Keys, score: Score, who: Cast, poses: Poses) -> list[Told]:
    """Add the moods to every function they move; return what is told of moods that are not written."""
    told: list[Told] = []
    known: dict[str, Pose] = dict(poses.moods)
    for name in sorted({change.name for change in score.moods} - set(known) - {""}):
        line = next(c.line for c in score.moods if c.name == name)
        if name in START_SET:
            known[name] = by_part(START_SET[name], who.functions, who.names)
            what = f"the mood {name!r} is not written under poses > moods; played as the standard describes it, by rule"
            told.append(Told(code="mood.start_set", line=line, sentence=what))
            continue
        near = nearest(name, [*known, *START_SET])
        what = f"the mood {name!r} is not among poses > moods and is not played" + (
            f"; nearest that is: {near!r}" if near else ""
        )
        told.append(Told(code="mood.unknown", line=line, sentence=what))
    moved = {name for change in score.moods for name in known.get(change.name, {})}
    for row, name in enumerate(who.names):
        if name not in moved:
            continue
        curve: list[tuple[int, float]] = []
        now = 0.0
        for change in score.moods:
            to = who.offset(row, known.get(change.name, {}).get(name, 0.0))
            if to != now:
                curve += [(change.at, now), (change.by, to)]
                now = to
        keys.curve(row, curve)
    return told


def add_breath(keys: Keys, score: Score, who: Cast) -> None:
    """Add the breaths: to the breast, or as a little rise of the head where nothing else shows them."""
    rows = [(row, who.offset(row, 0.9)) for row in who.of_part("breath")]
    if not rows and who.head_nod >= 0:
        rows = [(who.head_nod, who.offset(who.head_nod, BREATH_NOD))]
    quiet = [(still.start, still.stop) for still in score.stills if still.what == "life"]
    for breath in score.breaths:
        if any(a < breath.stop and breath.start < b for a, b in quiet):
            continue
        for row, full in rows:
            keys.curve(row, ((breath.start, 0.0), (breath.top, full * breath.amount), (breath.stop, 0.0)))


def add_idle(keys: Keys, score: Score, who: Cast, seen: tuple[Seen, ...]) -> None:
    """Add the small shifts of head, ears and body. A look takes them out of the head as it goes, or it would not land."""
    if score.idle <= 0 and not any(score.idle_by_mood.values()):
        return
    # each function has its own place in the draws of a shift, by its name: another function more leaves it as it was
    draws = [places(score.seed, shift.line, shift.count, _PLACES) for shift in score.shifts]
    sizes = [score.idle_by_mood.get(_mood_at(score, shift.at), score.idle) for shift in score.shifts]
    for row, function in enumerate(who.functions):
        part = PARTS.get(function.part)
        if part is None or part.group not in IDLE_GROUPS or part.name in NO_IDLE:
            continue
        span = float(who.high[row] - who.low[row])
        place = crc32(who.names[row].encode()) % _PLACES
        moves = [(shift.at, shift.at + SHIFT, k) for k, shift in enumerate(score.shifts)]
        if row in (who.head_turn, who.head_nod, who.body_turn):
            moves += [(item.leaves, item.lands, -1) for item in seen if not item.look.eyes_only]
            moves.sort()
        curve: list[tuple[int, float]] = []
        now, free = 0.0, 0
        for start, stop, k in moves:
            whether, where = draws[k][place].tolist() if k >= 0 else (1.0, 0.5)
            to = sizes[k] * span * (2.0 * where - 1.0) if k >= 0 else 0.0
            # half of them keep still each time, so that it never moves as one
            if whether < 0.5 or to == now:
                continue
            begin = max(start, free)
            free = max(stop, begin + 1)
            curve += [(begin, now), (free, to)]
            now = to
        keys.curve(row, curve)


def _mood_at(score: Score, tick: int) -> str:
    return next((change.name for change in reversed(score.moods) if change.at <= tick), "")


def add_business(keys: Keys, score: Score, who: Cast) -> list[Told]:
    """Add the business to the parts it moves; return what is told of parts that are not there."""
    told: list[Told] = []
    for item in score.done:
        form = FORMS[item.deed.form]
        rows = [(row, way) for part, way in form.does for row in who.of_part(part, item.deed.side)]
        if not rows:
            parts = ", ".join(part for part, _ in form.does)
            told.append(
                Told(
                    code="business.no_part", line=item.line,
                    sentence=f"{item.text!r} asks for {parts}, and this creature has none of these that move",
                )
            )  # fmt: skip
        for row, way in rows:
            sign_share = max(-1.0, min(1.0, way * item.deed.share))
            _run(keys, row, who.offset(row, sign_share), item, score.stop)
    return told


def _run(keys: Keys, row: int, to: float, item: Done, stop: int) -> None:
    form = FORMS[item.deed.form]
    go = max(ticks(form.go * item.deed.pace), ticks(0.06))
    keep = ticks(item.deed.seconds or form.keep)
    at = item.at
    if form.run == "hold":
        if item.deed.stays:
            keys.curve(row, ((at, 0.0), (at + go, to)))
        else:
            keys.bump(row, to, at, at + go, at + go + keep, at + 2 * go + keep)
        return
    if form.run == "shake":
        turns = [(at + go + 2 * go * k, to if k % 2 == 0 else -to) for k in range(2 * item.deed.times)]
        curve = [(at, 0.0), *turns, (turns[-1][0] + go, 0.0)]
        keys.curve(row, curve)
        return
    for k in range(item.deed.times):
        start = at + 2 * go * k
        keys.curve(row, ((start, 0.0), (start + go, to), (start + 2 * go, 0.0)))
