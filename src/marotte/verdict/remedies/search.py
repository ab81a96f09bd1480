"""Remedies for one finding: the least change that cures it, screened on one mechanism and then confirmed by a full check."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from typing import Any, Final, Literal

from marotte.basis.contracts.finding import ABSENT, Edit, Finding, Grade, Remedy
from marotte.basis.faults import BadInput, BadRequest
from marotte.basis.given import Ref
from marotte.creature.creature import Creature
from marotte.creature.edit import apply, value_at
from marotte.creature.load import build
from marotte.creature.schema.means import Servo
from marotte.creature.tree import Tree
from marotte.verdict.cells import Cache
from marotte.verdict.check import Examined
from marotte.verdict.remedies.knobs import feeds, turned, turns
from marotte.verdict.remedies.levers import Lever, Setting, levers
from marotte.verdict.remedies.places import moved_boxes
from marotte.verdict.remedies.structural import AT_SERVO, Case, Proposal, proposals
from marotte.verdict.remedies.trial import RANK, Confirmed, Score, Screen, confirm
from marotte.verdict.remedies.words import afterthought, result, said, sentence
from marotte.verdict.requirements import REGISTRY
from marotte.verdict.requirements.drive import rests

COARSE: Final = 9
"""Settings of a lever that are tried first, over its whole range."""
COARSE_WHOLE: Final = 5
"""The same where each try looks at the whole creature."""
PAIR: Final = 5
"""Settings of each of two levers that are tried together."""
BEST: Final = 3
"""Remedies that are confirmed, and levers whose pairs are tried."""
ENOUGH: Final = 2
"""Confirmed remedies that perform and break nothing after which no dearer one is tried."""
ROUNDS: Final = 3
"""How often the search starts again with the windows into which its own changes moved the scarcest instant."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A change with what the screen says of it: levers turned, or a proposal."""

    settings: tuple[Setting, ...]
    score: Score
    proposal: Proposal | None = None

    @property
    def cost(self) -> float:
        """How dear it is to do and to undo."""
        own = self.proposal.cost if self.proposal is not None else 0.0
        return own + sum(setting.cost for setting in self.settings)

    @property
    def refs(self) -> tuple[Ref, ...]:
        """What it changes."""
        if self.proposal is not None:
            return tuple(edit.path for edit in self.proposal.edits)
        return tuple(ref for setting in self.settings for ref in setting.refs)

    @property
    def marks(self) -> tuple[str, ...]:
        """What it changes, a servo of the same body and one of another as two things."""
        return self.refs if self.proposal is not None else tuple(m for setting in self.settings for m in setting.marks)

    @property
    def order(self) -> tuple[int, int, int, float, tuple[Ref, ...]]:
        """Best first: grade, neighbours made worse, cost, refs."""
        score = self.score
        return RANK[score.grade] if score.known else 9, score.doubt, score.worse, self.cost, self.refs

    def turned(self, creature: Creature) -> Creature:
        """Return a creature with the levers turned."""
        return _turned(creature, self.settings)


def _turned(creature: Creature, settings: Iterable[Setting]) -> Creature:
    return turned(creature, {turn: value for setting in settings for turn, value in setting.turns})


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
    if not wants_remedy(item):
        return ()
    found: list[tuple[tuple[Any, ...], Remedy]] = []
    for candidate in _apart(candidates(tree, folder, examined, item, cache)):
        if any(_in_the_way(candidate, remedy, order[1]) for order, remedy in found):
            continue
        whole = [remedy.cost for order, remedy in found if remedy.grade == "performs" and order[1] <= 0]
        if len(whole) >= ENOUGH and candidate.cost >= min(whole):
            continue
        edits = candidate.proposal.edits if candidate.proposal is not None else edits_of(tree, candidate.settings)
        done = confirm(tree, folder, examined, item, edits, cache)
        if done is None or not _helps(item, done):
            continue
        remedy = _remedy(examined.results.creature, item, candidate, edits, done)
        order = (RANK[remedy.grade] + done.lost, done.lost, candidate.cost, len(remedy.worsens), candidate.refs)
        found.append((order, remedy))
    found.sort(key=lambda pair: pair[0])
    return tuple(remedy for _, remedy in found)


def _in_the_way(candidate: Candidate, shown: Remedy, lost: int) -> bool:
    """Return whether nobody would take a candidate over a confirmed remedy: that reaches a better grade, breaks nothing, and
    is no dearer; or it is sure, where the candidate is not."""
    hoped: Grade = "undecided" if candidate.score.doubt else candidate.score.grade
    better = RANK[shown.grade] < RANK[hoped] and lost <= 0
    return better and (candidate.score.doubt > 0 or shown.cost <= candidate.cost)


def wants_remedy(item: Finding) -> bool:
    """Return whether there is anything to cure: an undecided finding that holds as written wants a measurement instead."""
    if item.grade != "undecided" or item.margin is None:
        return item.grade in ("fails", "undecided", "only_just")
    return next(r for r in REGISTRY if r.name == item.requirement).thresholds.grade(item.margin) == "fails"


def _helps(item: Finding, done: Confirmed) -> bool:
    """Return whether a change betters the finding and makes no other one fail."""
    breaks = any(text.endswith("-> fails") for text in done.worsens)
    return RANK[done.finding.grade] < RANK[item.grade] and done.finding.grade != "unknown" and not breaks


def _apart(found: Sequence[Candidate]) -> list[Candidate]:
    """Return the best few that are not one another with something added."""
    chosen: list[Candidate] = []
    for candidate in found:
        if len(chosen) < BEST and not any(set(one.marks) <= set(candidate.marks) for one in chosen):
            chosen.append(candidate)
    return chosen


def candidates(tree: Tree, folder: Path, examined: Examined, item: Finding, cache: Cache) -> list[Candidate]:
    """Return changes that the screen finds promising, best first: single levers; where none cures, pairs and proposals."""
    screen = Screen(examined, item, cache)
    creature = examined.results.creature
    knobs = turns(creature, _reach(screen, item), _side(examined, item))
    rows = levers(creature, examined.results.mechs, knobs) if screen.by_levers else ()
    for _ in range(ROUNDS):
        found = _singles(screen, rows)
        if not screen.widened(candidate.turned(creature) for candidate in found[:BEST]):
            break
    dearest = min((one.cost for one in found if one.score.good), default=math.inf)
    case = Case(
        creature=creature, results=examined.results, tree=tree, finding=item, mechs=tuple(sorted(screen.mechs)),
        performs=screen.requirement.thresholds.performs,
    )  # fmt: skip
    found += [
        one
        for each in sorted((*proposals(case), *moved_boxes(case)), key=lambda one: one.cost)
        if each.cost < dearest and not (each.asks and dearest < math.inf)
        if (one := _tried(screen, tree, folder, each)) is not None
    ]
    if not _cured(found) and screen.requirement.local:
        for _ in range(ROUNDS):
            pairs = _pairs(screen, rows, found)
            if not screen.widened(candidate.turned(creature) for candidate in pairs[:BEST]):
                break
        found += pairs
    found.sort(key=lambda candidate: candidate.order)
    return [one for one in found if RANK[one.score.grade] < RANK[item.grade]] or found[:1]


def _reach(screen: Screen, item: Finding) -> frozenset[Ref]:
    """Return what a finding rests on, and what feeds the servos that it is about.

    One of a simulation rests on what the mechanisms that it is about rest on.
    """
    refs: set[Ref] = set() if screen.proxied else set(item.rests_on)
    for name in screen.mechs:
        if screen.proxied:
            refs |= rests(screen.results, name)
        for given in screen.creature.mechs[name].inputs:
            means = screen.creature.means[given]
            if screen.proxied:
                refs |= {ref for ref in means.refs() if not ref.startswith("default:")}
            if isinstance(means, Servo) and (screen.proxied or item.requirement in AT_SERVO):
                refs |= feeds(screen.creature, means)
    return frozenset(refs)


def _side(examined: Examined, item: Finding) -> Literal["left", "right"] | None:
    """Return the side that alone needs a remedy; None where the other one needs it too, or there is no other."""
    for side, other in (("left", "right"), ("right", "left")):
        if f"_{side}." in item.id:
            twin = item.id.replace(f"_{side}.", f"_{other}.")
            found = next((one for one in examined.verdict.findings if one.id == twin), None)
            if found is not None and RANK[found.grade] < min(RANK[item.grade], RANK["undecided"]):
                return "left" if side == "left" else "right"
    return None


def _cured(found: Sequence[Candidate]) -> bool:
    """Return whether one of them performs, by the screen."""
    return any(candidate.score.good for candidate in found)


def _singles(screen: Screen, rows: Sequence[Lever]) -> list[Candidate]:
    """Return the best of every lever, best first."""
    found = [one for row in rows if (one := _search(screen, row)) is not None]
    return sorted(found, key=lambda candidate: candidate.order)


def _pairs(screen: Screen, rows: Sequence[Lever], singles: Sequence[Candidate]) -> list[Candidate]:
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


def _tried(screen: Screen, tree: Tree, folder: Path, proposal: Proposal) -> Candidate | None:
    """Return a proposal with what the screen says; one that changes what is asked is left to the full check."""
    if proposal.asks or screen.proxied:
        return Candidate(settings=(), score=Score("undecided", 0.0, 0), proposal=proposal)
    try:
        back = apply(tree, proposal.edits)
    except BadRequest:
        return None
    try:
        score = screen.score(build(tree, folder))
    except BadInput:
        return None
    finally:
        apply(tree, back)
    return Candidate(settings=(), score=score, proposal=proposal)


class _Row:
    """One lever on one screen, every setting scored once."""

    def __init__(self, screen: Screen, row: Lever) -> None:
        self.screen, self.row, self.settings = screen, row, row.settings
        self.scores: dict[int, Score] = {}

    def score(self, k: int) -> Score:
        if k not in self.scores:
            one = self.settings[k]
            self.scores[k] = self.screen.score(_turned(self.screen.creature, (one,)), one.turns)
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
            scores[i, j] = screen.score(_turned(screen.creature, both), both[0].turns + both[1].turns)
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


def edits_of(tree: Tree, settings: Iterable[Setting]) -> tuple[Edit, ...]:
    """Return the edits of the written file that turn a candidate's knobs; what is not written yet is put in."""
    return tuple(_edit(tree, turn.ref, turn.to_write(value)) for setting in settings for turn, value in setting.turns)


def _edit(tree: Tree, ref: Ref, to: Any) -> Edit:
    """Return the edit that writes a value, with the blocks around it where they are not written."""
    parts = ref.strip("/").split("/")
    for depth in range(len(parts) - 1, 0, -1):
        holder = "/" + "/".join(parts[:depth])
        if value_at(tree, holder) is not ABSENT:
            path = "/" + "/".join(parts[: depth + 1])
            for name in reversed(parts[depth + 1 :]):
                to = {name: to}
            return Edit(path=path, from_=value_at(tree, path), to=to)
    return Edit(path=ref, from_=ABSENT, to=to)


def _remedy(creature: Creature, item: Finding, candidate: Candidate, edits: Sequence[Edit], done: Confirmed) -> Remedy:
    if candidate.proposal is not None:
        what, then = candidate.proposal.says, candidate.proposal.then
    else:
        changes = [pair for setting in candidate.settings for pair in setting.turns]
        what, then = said(creature, changes), afterthought(changes)
    return Remedy(
        edits=tuple(edits), finding=item.id, before=item.margin, after=done.finding.margin, grade=done.finding.grade,
        worsens=done.worsens, cost=round(candidate.cost, 6), sentence=sentence(what, result(item, done.finding), done.finding, then),
    )  # fmt: skip
