"""Remedies for one finding: the least turn of a knob that cures it, or of two, screened and then confirmed by a full check."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from typing import Final

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import Edit, Finding, Remedy
from marotte.basis.faults import BadRequest, shown_path
from marotte.basis.units import show
from marotte.creature.edit import value_at
from marotte.creature.tree import Tree
from marotte.verdict.cells import Cache
from marotte.verdict.check import Examined
from marotte.verdict.remedies.knobs import Turn, Value, turned, turns
from marotte.verdict.requirements.base import named
from marotte.verdict.remedies.trial import RANK, Confirmed, Score, Screen, confirm, requirement_of

COARSE: Final = 13
"""Values of a knob that are tried first, over its whole range."""
COARSE_WHOLE: Final = 4
"""The same where each takes a simulation."""
PAIR: Final = 7
"""Values of each of two knobs that are tried together."""
BEST: Final = 3
"""Remedies that are confirmed, and single knobs whose pairs are tried."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """Knobs at other values, with what the screen says."""

    turns: tuple[tuple[Turn, Value], ...]
    score: Score

    @property
    def cost(self) -> float:
        """How dear it is: of the knobs, and a little for how far they are turned."""
        return sum(turn.cost + 0.5 * _share(turn, value) for turn, value in self.turns)

    @property
    def order(self) -> tuple[int, int, float, str]:
        """Best first: grade, neighbours made worse, cost, ref."""
        reached = RANK[self.score.grade] if self.score.margin > -9.0 else 9
        return reached, self.score.worse, self.cost, ",".join(turn.ref for turn, _ in self.turns)


def _share(turn: Turn, value: Value) -> float:
    """Return how far a knob is turned, as a share of all that it can be."""
    if isinstance(value, str) or isinstance(turn.now, str):
        return turn.choices.index(value) / max(len(turn.choices), 1)
    far = max((abs(c - turn.now) for c in turn.choices if not isinstance(c, str)), default=1.0)
    return abs(value - turn.now) / far


def remedies(tree: Tree, folder: Path, examined: Examined, finding: str, cache: Cache) -> tuple[Remedy, ...]:
    """Return up to three confirmed remedies for a finding, best first; none where it needs none or nothing helps.

    Args:
        tree: the written file, of which ``examined`` is the verdict; it is as it was when this returns.
        folder: of the creature.
        examined: the standing verdict with its results.
        finding: its id.
        cache: of the checks.

    Raises:
        BadRequest: no finding has that id.
    """
    item = next((one for one in examined.verdict.findings if one.id == finding), None)
    if item is None:
        raise BadRequest(f"no finding is called {finding!r}")
    if item.grade not in ("fails", "undecided", "only_just") or not _wanting(examined, item):
        return ()
    found: list[tuple[tuple[object, ...], Remedy]] = []
    for candidate in candidates(examined, item, cache)[:BEST]:
        edits = edits_of(tree, candidate)
        done = confirm(tree, folder, examined, item, edits, cache)
        if done is None or not _helps(item, done):
            continue
        remedy = _remedy(item, candidate, edits, done)
        found.append(((RANK[remedy.grade], done.lost, len(remedy.worsens), candidate.cost, candidate.order[3]), remedy))
    found.sort(key=lambda pair: pair[0])
    return tuple(remedy for _, remedy in found)


def _wanting(examined: Examined, item: Finding) -> bool:
    """Return whether there is anything to cure: an undecided finding that holds as written wants a measurement instead."""
    if item.grade != "undecided" or item.margin is None:
        return True
    return requirement_of(item, examined.results.creature).thresholds.grade(item.margin) == "fails"


def _helps(item: Finding, done: Confirmed) -> bool:
    return RANK[done.finding.grade] < RANK[item.grade]


def candidates(examined: Examined, item: Finding, cache: Cache) -> list[Candidate]:
    """Return changes that the screen finds promising, best first: single knobs, or pairs where no single one cures."""
    screen = Screen(examined, item, cache)
    knobs = turns(examined.results.creature, item.rests_on)
    singles = [found for turn in knobs if (found := _search(screen, turn)) is not None]
    singles.sort(key=lambda c: c.order)
    if singles and singles[0].score.good:
        return singles
    by_margin = sorted(singles, key=lambda c: (-c.score.margin, c.order))
    numbers = [c.turns[0][0] for c in by_margin][:BEST]
    pairs = [
        found
        for a, b in combinations(numbers, 2)
        if screen.requirement.local and (found := _pair(screen, a, b)) is not None
    ]
    every = singles + pairs
    before = RANK[item.grade]
    every.sort(key=lambda c: c.order)
    return [c for c in every if RANK[c.score.grade] < before] or every[:1]


def _search(screen: Screen, turn: Turn) -> Candidate | None:
    """Return the least turn of one knob that performs, else that is only just, else the best it can do."""
    tried = {
        value: screen.score(turned(screen.creature, {turn: value}))
        for value in _spaced(turn, COARSE if screen.requirement.local else COARSE_WHOLE)
    }
    best = _least(turn, tried)
    if best is None:
        return None
    if turn.kind is not None and screen.requirement.local:
        best = _best(screen, turn, tried, best) if turn.re_clocks else _refined(screen, turn, tried, best)
    return Candidate(((turn, best),), tried[best])


def _spaced(turn: Turn, count: int) -> list[Value]:
    """Return some of a knob's values, evenly over its range, ends included; every name of a ladder."""
    values = sorted(turn.choices) if turn.kind is not None else list(turn.choices)
    if turn.kind is None or len(values) <= count:
        return values
    return [values[round(k * (len(values) - 1) / (count - 1))] for k in range(count)]


def _least(turn: Turn, tried: dict[Value, Score]) -> Value | None:
    """Return the value, nearest to where the knob stands, of those with the best grade and no neighbour made worse."""
    known = [value for value, score in tried.items() if score.margin > -9.0]
    if not known:
        return None
    top = min((tried[value].worse > 0, RANK[tried[value].grade]) for value in known)
    same = [value for value in known if (tried[value].worse > 0, RANK[tried[value].grade]) == top]
    if top[1] >= RANK["fails"]:
        return max(same, key=lambda value: (tried[value].margin, -_share(turn, value)))
    return min(same, key=lambda value: (_share(turn, value), str(value)))


def _best(screen: Screen, turn: Turn, tried: dict[Value, Score], best: Value) -> Value:
    """Return the best value near a good one: where turning costs nothing, the most margin is as cheap as the least turn."""
    if tried[best].grade == "fails":
        return best
    same = [v for v in tried if (tried[v].grade, tried[v].worse) == (tried[best].grade, tried[best].worse)]
    top = max(same, key=lambda v: (tried[v].margin, -_share(turn, v)))
    numbers = sorted(v for v in turn.choices if not isinstance(v, str))
    near = numbers.index(top) if not isinstance(top, str) else 0
    step = max(len(numbers) // (COARSE - 1), 1)
    while step > 1:
        step = (step + 1) // 2
        for k in (near - step, near + step):
            if 0 <= k < len(numbers) and numbers[k] not in tried:
                tried[numbers[k]] = screen.score(turned(screen.creature, {turn: numbers[k]}))
        near = max(
            (k for k in (near - step, near, near + step) if 0 <= k < len(numbers)),
            key=lambda k: (-tried[numbers[k]].worse, tried[numbers[k]].margin, -abs(k - near)),
        )
        if step == 1:
            break
    return numbers[near]


def _refined(screen: Screen, turn: Turn, tried: dict[Value, Score], best: Value) -> Value:
    """Go back towards where the knob stands as far as the grade holds, by halving the steps in between."""
    assert not isinstance(best, str)
    assert not isinstance(turn.now, str)
    wanted = tried[best]
    if wanted.grade == "fails":
        return best
    sign = 1.0 if best > turn.now else -1.0
    nearer = [float(v) for v in tried if not isinstance(v, str) and turn.now < v * 1.0 < best] if sign > 0 else [
        float(v) for v in tried if not isinstance(v, str) and best < v < turn.now
    ]  # fmt: skip
    bad = max(nearer) if sign > 0 and nearer else min(nearer) if nearer else turn.now
    between = sorted(v for v in turn.choices if not isinstance(v, str) and min(bad, best) < v < max(bad, best))
    if sign < 0:
        between.reverse()  # from the bad end to the good one
    low, high = -1, len(between)  # between[low] is bad, between[high] (best) is good
    while high - low > 1:
        middle = (low + high) // 2
        value = between[middle]
        score = screen.score(turned(screen.creature, {turn: value}))
        tried[value] = score
        if score.grade == wanted.grade and score.worse <= wanted.worse:
            high = middle
        else:
            low = middle
    return between[high] if high < len(between) else best


def _pair(screen: Screen, a: Turn, b: Turn) -> Candidate | None:
    """Return the best of two knobs turned together, on a coarse net."""
    best: Candidate | None = None
    for first in _spaced(a, PAIR):
        for second in _spaced(b, PAIR):
            score = screen.score(turned(screen.creature, {a: first, b: second}))
            candidate = Candidate(((a, first), (b, second)), score)
            if score.margin > -9.0 and (best is None or _pair_order(candidate) < _pair_order(best)):
                best = candidate
    return best


def _pair_order(candidate: Candidate) -> tuple[int, int, float]:
    cure = candidate.score.grade != "fails"
    return RANK[candidate.score.grade], candidate.score.worse, candidate.cost if cure else -candidate.score.margin


def edits_of(tree: Tree, candidate: Candidate) -> tuple[Edit, ...]:
    """Return the edits of the written file that turn a candidate's knobs."""
    return tuple(
        Edit(path=turn.ref, from_=value_at(tree, turn.ref), to=turn.text(value)) for turn, value in candidate.turns
    )


def _remedy(item: Finding, candidate: Candidate, edits: Sequence[Edit], done: Confirmed) -> Remedy:
    what = " and ".join(_said(turn, value) for turn, value in candidate.turns)
    before, after = _has(item), _has(done.finding)
    sentence = f"{what[0].upper()}{what[1:]}: {before} -> {after} ({done.finding.grade.replace('_', ' ')})."
    return Remedy(
        edits=tuple(edits), finding=item.id, before=item.margin, after=done.finding.margin, grade=done.finding.grade,
        worsens=done.worsens, cost=round(candidate.cost, 6), sentence=sentence,
    )  # fmt: skip


def _has(item: Finding) -> str:
    if not isinstance(item.has, Quantity):
        return "not known"
    if item.margin is None:
        return "fails" if item.grade == "fails" else "holds"
    if item.requirement == "drive":
        return f"{show(item.has.value, item.has.unit)} for {show(item.needed.value, item.needed.unit)} wanted"
    if item.has.unit == "1":
        return show(item.has.value, "%")
    return show(item.has.value, item.has.unit)


def _said(turn: Turn, value: Value) -> str:
    """Return a turn of a knob in words."""
    where = _where(turn)
    if isinstance(value, str):
        return f"put a {_spaced_name(value)} servo in place of the {_spaced_name(str(turn.now))} on {where}"
    assert not isinstance(turn.now, str)
    now, then = turn.text(turn.now), turn.text(value)
    if turn.re_clocks:
        by = abs(math.degrees(value - turn.now))
        return f"re-clock {where} by {by:.0f} deg ({_field(turn)} {now} -> {then})"
    if turn.says.startswith("sculpted at"):
        held = named(turn.says.removeprefix("sculpted at "))
        return f"sculpt {where} with the {held} at {then} instead of {now}"
    return f"{turn.says} of {where} {now} -> {then}"


def _field(turn: Turn) -> str:
    return _spaced_name(shown_path(turn.ref).rsplit(" > ", 1)[-1])


def _spaced_name(name: str) -> str:
    return name.replace("_", " ")


def _where(turn: Turn) -> str:
    """Return what a knob belongs to, with its article."""
    parts = turn.ref.strip("/").split("/")
    section, name = parts[0], parts[1] if len(parts) > 1 else ""
    if section == "skins":
        return f"the skin {_spaced_name(name)}"
    if section == "supply":
        return f"the lead {_spaced_name(parts[2])}" if name == "leads" and len(parts) > 2 else "the supply"
    return f"the {named(name)}" if name else section
