"""Remedies for one finding: the least change that cures it, screened on one mechanism and then confirmed by a full check."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final, Literal

from marotte.basis.contracts.finding import Edit, Finding, Grade, Remedy
from marotte.basis.faults import BadInput, BadRequest
from marotte.basis.given import Ref
from marotte.creature.creature import Creature
from marotte.creature.edit import apply
from marotte.creature.load import build
from marotte.creature.schema.means import Servo
from marotte.creature.tree import Tree
from marotte.verdict.cells import Cache
from marotte.verdict.check import Examined
from marotte.verdict.remedies.candidate import Candidate, edits_of
from marotte.verdict.remedies.confirm import Confirmed, confirm
from marotte.verdict.remedies.fed import feeds
from marotte.verdict.remedies.knobs import turns
from marotte.verdict.remedies.levers import levers
from marotte.verdict.remedies.places import moved_boxes
from marotte.verdict.remedies.proposal import AT_SERVO, Case, Proposal
from marotte.verdict.remedies.score import RANK, Score
from marotte.verdict.remedies.screen import Screen
from marotte.verdict.remedies.structural import proposals
from marotte.verdict.remedies.sweep import BEST, pairs_of, singles
from marotte.verdict.remedies.words import afterthought, result, said, sentence
from marotte.verdict.requirements.drive import rests

ENOUGH: Final = 2
"""Confirmed remedies that perform and break nothing after which no dearer one is tried."""
ROUNDS: Final = 3
"""How often the search starts again with the windows into which its own changes moved the scarcest instant."""


def remedies(
    tree: Tree, folder: Path, examined: Examined, finding: str, cache: Cache, tried: list[str] | None = None
) -> tuple[Remedy, ...]:
    """Return up to three confirmed remedies for a finding, best first; none where it needs none or nothing helps.

    Args:
        tree: the written file, of which ``examined`` is the verdict; it is as it was when this returns.
        folder: of the creature.
        examined: the standing verdict with its results.
        finding: its id.
        cache: of the checks.
        tried: takes what was tried by a full check, in words, the most hopeful first; helpful or not.

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
        if found and candidate.asks and RANK[candidate.score.grade] >= RANK[item.grade]:
            continue  # it was kept for where nothing that is built helps
        whole = [remedy.cost for order, remedy in found if remedy.grade == "performs" and order[1] <= 0]
        if len(whole) >= ENOUGH and candidate.cost >= min(whole):
            continue
        edits = candidate.proposal.edits if candidate.proposal is not None else edits_of(tree, candidate.settings)
        if tried is not None:
            tried.append(_what(examined.results.creature, candidate)[0])
        done = confirm(tree, folder, examined, item, edits, cache)
        if done is None or not _helps(item, done):
            continue
        remedy = _remedy(examined.results.creature, item, candidate, edits, done)
        order = (RANK[remedy.grade] + done.lost, done.lost, candidate.cost, len(remedy.worsens), candidate.refs)
        found.append((order, remedy))
    if any(RANK[remedy.grade] < RANK["undecided"] for _, remedy in found):
        # what only shifts a doubt is no help then
        found = [pair for pair in found if RANK[pair[1].grade] < RANK[item.grade]]
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
    marks = item.marks
    if item.grade != "undecided" or item.margin is None or marks is None or marks.only_just is None:
        return item.grade in ("fails", "undecided", "only_just")
    return item.margin < marks.only_just - 1e-12


def _helps(item: Finding, done: Confirmed) -> bool:
    """Return whether a change betters the finding and makes no other one fail.

    What is undecided and fails as written is bettered, too, where it then holds as written.
    """
    breaks = any(text.endswith("-> fails") for text in done.worsens)
    holds = done.finding.grade == item.grade == "undecided" and not wants_remedy(done.finding)
    better = RANK[done.finding.grade] < RANK[item.grade] or holds
    return better and done.finding.grade != "unknown" and not breaks


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
        found = singles(screen, rows)
        if not screen.widened(candidate.turned(creature) for candidate in found[:BEST]):
            break
    dearest = min((one.cost for one in found if one.score.good), default=math.inf)
    own = item.marks.performs if item.marks is not None else None
    case = Case(
        creature=creature, results=examined.results, tree=tree, finding=item, mechs=tuple(sorted(screen.mechs)),
        performs=screen.requirement.thresholds.performs if own is None else own,
    )  # fmt: skip
    found += [
        one
        for each in sorted((*proposals(case), *moved_boxes(case)), key=lambda one: one.cost)
        if each.cost < dearest and not (each.asks and dearest < math.inf)
        if (one := _tried(screen, tree, folder, each)) is not None
    ]
    if not _cured(found) and screen.requirement.local:
        for _ in range(ROUNDS):
            pairs = pairs_of(screen, rows, found)
            if not screen.widened(candidate.turned(creature) for candidate in pairs[:BEST]):
                break
        found += pairs
    found.sort(key=lambda candidate: candidate.order)
    hopeful = [one for one in found if RANK[one.score.grade] < RANK[item.grade]] or found[:1]
    return [*hopeful, *(one for one in found if one.asks and one not in hopeful)]


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


def _tried(screen: Screen, tree: Tree, folder: Path, proposal: Proposal) -> Candidate | None:
    """Return a proposal with what the screen says; one that changes what is asked is left to the full check."""
    if proposal.asks or screen.proxied:
        return Candidate(settings=(), score=Score(proposal.hopes, 0.0, 0), proposal=proposal)
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


def _remedy(creature: Creature, item: Finding, candidate: Candidate, edits: Sequence[Edit], done: Confirmed) -> Remedy:
    what, then = _what(creature, candidate)
    return Remedy(
        edits=tuple(edits), finding=item.id, before=item.margin, after=done.finding.margin, grade=done.finding.grade,
        worsens=done.worsens, cost=round(candidate.cost, 6), sentence=sentence(what, result(item, done.finding), done.finding, then),
    )  # fmt: skip


def _what(creature: Creature, candidate: Candidate) -> tuple[str, str]:
    """Return what a candidate changes, in words, and what else goes with it."""
    if candidate.proposal is not None:
        return candidate.proposal.says, candidate.proposal.then
    changes = [pair for setting in candidate.settings for pair in setting.turns]
    return said(creature, changes), afterthought(changes)
