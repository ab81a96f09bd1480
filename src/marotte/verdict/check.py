"""check(creature) -> Verdict: every requirement of the registry, graded, counted, and said in one standing line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from marotte import __version__
from marotte.basis.contracts.common import Quantity, Told, Unknown
from marotte.basis.contracts.finding import (
    ABSENT,
    GRADES,
    Decides,
    Edit,
    Finding,
    Grade,
    Marks,
    Remedy,
    Step,
    Verdict,
    Working,
)
from marotte.basis.digest import key
from marotte.basis.faults import BadRequest, nearest
from marotte.basis.given import SOURCES, Place, Ref, Source
from marotte.basis.unhurried import collected_after
from marotte.creature.creature import Creature
from marotte.verdict.cautions import cautions
from marotte.verdict.cells import Cache
from marotte.verdict.graph import Results, methods
from marotte.verdict.judge import Judged, judged
from marotte.verdict.ledger import Ledgers
from marotte.verdict.mass_object import masses_object
from marotte.verdict.requirements import REGISTRY
from marotte.verdict.standing import standing_line

RANK: Final[dict[Grade, int]] = {
    "fails": 0,
    "undecided": 1,
    "only_just": 2,
    "performs": 3,
    "unknown": 4,
    "not_applicable": 5,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Examined:
    """A verdict with all that it was made from."""

    verdict: Verdict
    results: Results
    workings: Mapping[str, Working]
    seconds: Mapping[str, float]
    """Per engine, of this check alone; not part of the answer."""

    @property
    def places(self) -> dict[Ref, Place]:
        """Where each thing stands in the file that something is told of; not part of the answer either: a line above moves it."""
        place_of = self.results.creature.place
        return {item.ref: place for item in self.verdict.told if item.ref and (place := place_of(item.ref))}


def check(creature: Creature, cache: Cache | None = None) -> Verdict:
    """Return where a creature stands. The same creature gives the same verdict to the bit, whatever is in the cache."""
    return examine(creature, cache).verdict


def examine(creature: Creature, cache: Cache | None = None) -> Examined:
    """Return the verdict of a creature with results, workings and the seconds that each engine took."""
    with collected_after():
        return _examined(creature, cache if cache is not None else Cache())


def _examined(creature: Creature, cache: Cache) -> Examined:
    cache.turn()
    before = dict(cache.seconds)
    results = Results(creature, cache)
    results.ahead()
    all_judged = judge_all(creature, results, cache)
    findings = tuple(item.finding for item in all_judged)
    counts = dict.fromkeys(GRADES, 0)
    for finding in findings:
        counts[finding.grade] += 1
    inputs: dict[Source, int] = dict.fromkeys(SOURCES, 0)
    for given in creature.given.values():
        inputs[given.source] += 1
    grade = overall(counts, asked=not isinstance(results.asked, Unknown))
    numbers = methods()
    hazards = cautions(creature, results)
    moved_by = {output: name for name, mech in creature.mechs.items() for output in mech.outputs}
    told = results.told
    verdict = Verdict(
        creature=creature.name, grade=grade, counts=counts,
        summary=standing_line(grade, all_judged, counts, inputs, moved_by),
        findings=findings, cautions=hazards, told=told, plan=(), inputs=inputs,
        key=key(
            creature.name, tuple((item.id, item.key) for item in findings), hazards, told, inputs, results.masses, numbers,
            creature.stock, __version__,
        ),
        methods=numbers, stock=creature.stock, version=__version__, masses=results.masses,
    )  # fmt: skip
    seconds = {name: spent - before.get(name, 0.0) for name, spent in sorted(cache.seconds.items())}
    workings = {item.finding.id: item.working for item in all_judged}
    return Examined(verdict=verdict, results=results, workings=workings, seconds=seconds)


def judge_all(creature: Creature, results: Results, cache: Cache) -> tuple[Judged, ...]:
    """Return every finding in the order of the registry, subjects in the order of the file."""
    ledgers = Ledgers({**creature.stock_tables.given, **creature.given}, cache.beside.get(Ledgers))
    wanted = [(requirement, about) for requirement in REGISTRY for about in requirement.subjects(creature)]
    found: dict[int, Judged] = {}
    for k in sorted(range(len(wanted)), key=lambda k: (not wanted[k][0].local, k)):  # what reads no window goes first
        requirement, about = wanted[k]
        found[k] = judged(cache, requirement, about, requirement.gather(creature, results, about), ledgers)
    cache.beside[Ledgers] = ledgers.seen
    return tuple(found[k] for k in range(len(wanted)))


def overall(counts: Mapping[Grade, int], *, asked: bool) -> Grade:
    """Return the grade of the whole: the worst that is known; unknown where nothing is.

    Args:
        counts: findings of each grade.
        asked: whether a script asks something of the creature. Where none does it may fail, but nobody can say that it performs.
    """
    for grade in ("fails", "undecided", "only_just", "performs") if asked else ("fails", "undecided"):
        if counts[grade]:
            return grade
    return "unknown"


def explain(creature: Creature, finding: str, cache: Cache | None = None) -> tuple[Finding, Working]:
    """Return one finding and its working. The plain name of a pair stands for its left one: ``lid_upper.mech``.

    Raises:
        BadRequest: no finding has that name; those of what it names, or the nearest, are offered.
    """
    done = examine(creature, cache)
    found = named_finding(done, finding)
    return found, done.workings[found.id]


def named_finding(done: Examined, finding: str) -> Finding:
    """Return the finding of a verdict that a name stands for, as in ``explain``.

    Raises:
        BadRequest: as there.
    """
    found = {item.id: item for item in done.verdict.findings}
    about, _, requirement = finding.replace("_left/right.", ".").rpartition(".")
    for name in (finding, f"{about}_left.{requirement}"):
        if name in found:
            return found[name]
    own = [name for name, item in found.items() if item.about in (finding, f"{finding}_left") and "." in name]
    near = f"did you mean {nearest(finding, found)}?" if nearest(finding, found) else ""
    offer = f"about {finding} there are {', '.join(sorted(own))}" if own else near
    raise BadRequest(f"no finding is called {finding!r}" + (f"; {offer}" if offer else ""))


def to_json(
    verdict: Verdict, workings: Mapping[str, Working], seconds: Mapping[str, float],
    remedies: Mapping[str, Sequence[Remedy]] | None = None, plan: Sequence[str] = (), places: Mapping[Ref, Place] | None = None,
) -> dict[str, Any]:  # fmt: skip
    """Return the object that ``check --json`` prints; its schema is docs/reference/verdict.schema.json.

    Remedies (by finding) and plan are found by a second call, the package verdict/remedies.
    """
    cures = remedies or {}
    return {
        "creature": verdict.creature,
        "grade": verdict.grade,
        "summary": verdict.summary,
        "counts": dict(verdict.counts),
        "findings": [_finding(item, workings[item.id], cures.get(item.id, ())) for item in verdict.findings],
        "plan": list(plan or verdict.plan),
        "cautions": [
            {"id": c.id, "about": c.about, "sentence": c.sentence, "advice": c.advice} for c in verdict.cautions
        ],
        "told": [_told(t, places or {}) for t in verdict.told],
        "masses": masses_object(verdict.masses),
        "inputs": dict(verdict.inputs),
        "seconds": {name: round(value, 6) for name, value in seconds.items()},
        "methods": dict(verdict.methods),
        "stock": verdict.stock,
        "version": verdict.version,
        "key": verdict.key,
    }


def _finding(item: Finding, working: Working, cures: Sequence[Remedy]) -> dict[str, Any]:
    return {
        "id": item.id, "about": item.about, "requirement": item.requirement, "grade": item.grade,
        "needed": {"value": item.needed.value, "unit": item.needed.unit},
        "has": _has(item.has),
        "margin": item.margin, "band": list(item.band) if item.band else None, "at": item.at, "sentence": item.sentence,
        "marks": _marks(item.marks), "decides": _decides(item.decides),
        "settle": [{"inputs": list(one.inputs), "test": one.test} for one in item.settle],
        "working": [_step(step) for step in working.steps], "method": working.method, "remedies": [_remedy(cure) for cure in cures],
        "rests_on": sorted(item.rests_on), "worst_source": item.worst_source, "key": item.key,
    }  # fmt: skip


def _decides(found: Decides | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {
        "what": found.what,
        "needed": {"value": found.needed.value, "unit": found.needed.unit},
        "has": {"value": found.has.value, "unit": found.has.unit},
        "margin": found.margin, "band": list(found.band) if found.band else None,
    }  # fmt: skip


def _marks(found: Marks | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {
        "rule": found.rule, "performs": found.performs, "only_just": found.only_just, "performs_at": found.performs_at,
        "only_just_at": found.only_just_at, "why": found.why,
    }  # fmt: skip


def _told(item: Told, places: Mapping[Ref, Place]) -> dict[str, Any]:
    place = places.get(item.ref) if item.ref else None
    return {
        "code": item.code, "sentence": item.sentence, "ref": item.ref, "place": str(place) if place else None, "line": item.line,
        "more": item.more,
    }  # fmt: skip


def _has(has: Quantity | Unknown) -> dict[str, Any]:
    """Return what a design has; a bound, past which nothing can be seen, says that it is that or more."""
    if isinstance(has, Unknown):
        return {"unknown": has.why}
    return {"value": has.value, "unit": has.unit, **({"more": True} if has.more else {})}


def _remedy(cure: Remedy) -> dict[str, Any]:
    return {
        "finding": cure.finding, "edits": [_edit(edit) for edit in cure.edits], "before": cure.before, "after": cure.after,
        "grade": cure.grade, "worsens": list(cure.worsens), "cost": cure.cost, "sentence": cure.sentence,
    }  # fmt: skip


def _edit(edit: Edit) -> dict[str, Any]:
    """Return an edit; what is not written, or is to be taken out, has no key."""
    out: dict[str, Any] = {"path": edit.path}
    if edit.from_ is not ABSENT:
        out["from"] = edit.from_
    if edit.to is not ABSENT:
        out["to"] = edit.to
    return out


def _step(step: Step) -> dict[str, Any]:
    return {
        "symbol": step.symbol, "meaning": step.meaning, "kind": step.kind, "formula": step.formula,
        "values": dict(step.values), "result": step.result, "unit": step.unit, "source": step.source,
    }  # fmt: skip
