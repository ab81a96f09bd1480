"""Levers swept over their range: each alone for the least setting that cures, then two together."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import Final

from marotte.verdict.remedies.candidate import Candidate, turned_by
from marotte.verdict.remedies.levers import Lever
from marotte.verdict.remedies.score import RANK, Score
from marotte.verdict.remedies.screen import Screen

COARSE: Final = 9
"""Settings of a lever that are tried first, over its whole range."""
COARSE_WHOLE: Final = 5
"""The same where each try looks at the whole creature."""
BEST: Final = 3
"""Remedies that are confirmed, and levers whose pairs are tried."""
PAIR: Final = 5
"""Settings of each of two levers that are tried together."""


def singles(screen: Screen, rows: Sequence[Lever]) -> list[Candidate]:
    """Return the best of every lever, best first."""
    found = [one for row in rows if (one := _search(screen, row)) is not None]
    return sorted(found, key=lambda candidate: candidate.order)


def pairs_of(screen: Screen, rows: Sequence[Lever], singles: Sequence[Candidate]) -> list[Candidate]:
    """Return pairs of the three levers that gain most, best first; ``singles`` holds what each does alone."""
    alone = {
        k: one
        for k, row in enumerate(rows)
        for one in singles
        if one.proposal is None and one.settings[0] in row.settings
    }
    far = sorted(alone, key=lambda k: (alone[k].score.worse > 0, -alone[k].score.margin, alone[k].order))[:BEST]
    pairs = [one for a, b in combinations(sorted(far), 2) if (one := _pair(screen, rows[a], rows[b])) is not None]
    return sorted(pairs, key=lambda candidate: candidate.order)


class _Row:
    """One lever on one screen, every setting scored once."""

    def __init__(self, screen: Screen, row: Lever) -> None:
        self.screen, self.row, self.settings = screen, row, row.settings
        self.scores: dict[int, Score] = {}

    def score(self, k: int) -> Score:
        if k not in self.scores:
            one = self.settings[k]
            self.scores[k] = self.screen.score(turned_by(self.screen.creature, (one,)), one.turns)
        return self.scores[k]


def spaced(row: Lever, count: int) -> list[int]:
    """Return some of a lever's settings, evenly over its range, ends included; every rung of a ladder."""
    last = len(row.settings) - 1
    if not row.ordered or last < count:
        return list(range(last + 1))
    return sorted({round(k * last / (count - 1)) for k in range(count)})


def _search(screen: Screen, row: Lever) -> Candidate | None:
    """Return the least setting of one lever that performs, else that is only just, else the best it can do."""
    tries = _Row(screen, row)
    for k in spaced(row, COARSE if screen.requirement.local or screen.proxied else COARSE_WHOLE):
        tries.score(k)
    known = [k for k in tries.scores if tries.scores[k].known]
    if not known:
        return None
    top = min(tries.scores[k].rank for k in known)
    same = [k for k in known if tries.scores[k].rank == top]
    if top[0] >= RANK["fails"] or row.free:
        best = max(same, key=lambda k: (tries.scores[k].margin, -row.settings[k].share, -k))
    else:
        best = min(same, key=lambda k: (row.settings[k].share, k))
    if row.ordered and top[0] < RANK["fails"]:
        best = _most(tries, best) if row.free else _nearest(tries, best)
    return Candidate(settings=(row.settings[best],), score=tries.score(best))


def _most(tries: _Row, best: int) -> int:
    """Return the setting with the most margin near a good one: where turning costs nothing it is as cheap as the least turn."""
    last = len(tries.settings) - 1
    step = max(last // (COARSE - 1), 1)
    while True:
        step = (step + 1) // 2
        near = [k for k in (best - step, best, best + step) if 0 <= k <= last]
        best = min(near, key=lambda k: (*tries.score(k).rank, -tries.score(k).margin, tries.settings[k].share, k))
        if step == 1:
            return best


def _nearest(tries: _Row, best: int) -> int:
    """Go back towards where the lever stands as far as the grade holds, by halving."""
    wanted, below = tries.scores[best], tries.row.below
    inwards = 1 if best < below else -1
    edge = below if inwards > 0 else below - 1  # the first index on the other side
    tried = [k for k in tries.scores if (best < k < edge if inwards > 0 else edge < k < best)]
    bad = edge if not tried else (min(tried) if inwards > 0 else max(tried))
    good = best
    while abs(bad - good) > 1:
        middle = (bad + good) // 2
        if tries.score(middle).rank <= wanted.rank and tries.score(middle).known:
            good = middle
        else:
            bad = middle
    return good


def _pair(screen: Screen, a: Lever, b: Lever) -> Candidate | None:
    """Return the best of two levers turned together: on a coarse net, and then each as little as the grade bears."""
    if set(a.settings[0].refs) & set(b.settings[0].refs):
        return None
    scores: dict[tuple[int, int], Score] = {}

    def score(i: int, j: int) -> Score:
        if (i, j) not in scores:
            both = (a.settings[i], b.settings[j])
            scores[i, j] = screen.score(turned_by(screen.creature, both), both[0].turns + both[1].turns)
        return scores[i, j]

    def order(place: tuple[int, int]) -> tuple[object, ...]:
        found, cost = score(*place), a.settings[place[0]].cost + b.settings[place[1]].cost
        return *found.rank, cost if found.grade != "fails" else -found.margin, place

    net = [(i, j) for i in spaced(a, PAIR) for j in spaced(b, PAIR) if score(i, j).known]
    if not net:
        return None
    best = min(net, key=order)
    for step in (4, 2, 1):
        near = [(best[0] + di, best[1] + dj) for di in (-step, 0, step) for dj in (-step, 0, step)]
        inside = [p for p in near if _same_side(a, best[0], p[0]) and _same_side(b, best[1], p[1])]
        best = min((p for p in inside if score(*p).known), key=order)
    return Candidate(settings=(a.settings[best[0]], b.settings[best[1]]), score=score(*best))


def _same_side(row: Lever, k: int, other: int) -> bool:
    if other == k:
        return True
    return row.ordered and 0 <= other < len(row.settings) and (other < row.below) == (k < row.below)
