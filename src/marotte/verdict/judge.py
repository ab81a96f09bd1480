"""From what is gathered to a finding: find, working, band, grade, words. Kept as a cell per requirement and subject."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Decides, Finding, Grade, Settle, Working
from marotte.basis.digest import digest
from marotte.basis.given import Given, Ref, Source, less_sure
from marotte.creature.naming import agrees, named
from marotte.verdict.cells import Cache
from marotte.verdict.enough import to_measure
from marotte.verdict.formula import FormulaError
from marotte.verdict.ledger import Ledger, Ledgers, Walked
from marotte.verdict.margins import Rule, Spread, marks, spread, undecided
from marotte.verdict.near import alike
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.settle import called, settle, test_of
from marotte.verdict.workings import WorkingError, Writer, source_of

DISAGREE: Final = "engine and working disagree, which is a defect of this program to report"
FINDING_BYTES: Final = 12_000
"""A finding with its working, about."""
LISTED: Final = 3
"""Inputs that a sentence names."""
FASTER: Final = Rule("at_least")
EMPTY: Final = Working(steps=(), method="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A finding with its working and its clause."""

    finding: Finding
    working: Working
    clause: str
    order: float
    """How bad it is, for the standing line: 0 where nothing is wrong."""


@dataclass(frozen=True, slots=True)
class _Last:
    """A finding of the last check with what it was made from."""

    requirement: Requirement[Any]
    gathered: object
    walked: tuple[Walked, ...]
    judged: Judged


def judged(kept: Cache, requirement: Requirement[Any], about: str, gathered: object, ledgers: Ledgers) -> Judged:
    """Return one finding, from the cache where everything it reads is as it was.

    What it reads is digested once; that digest is the cell's key and, in letters, the finding's. Where the very same things
    were gathered in the last check and stand on the same ledger, the finding is taken from there.
    """
    last: _Last | None = kept.beside.get((requirement.name, about))
    if (
        last is not None
        and last.requirement is requirement
        and alike(last.gathered, gathered)
        and all(ledgers.walked(one.record).mark == one.mark for one in last.walked)
    ):
        return last.judged
    walked = ledgers.records(gathered)
    ledger = ledgers.part(walked)
    mark = digest((requirement.name, requirement.method, requirement.number, about, gathered, ledger))

    def make(own: bytes) -> Judged:
        made = _judge(requirement, about, gathered, ledger)
        return replace(made, finding=replace(made.finding, key=own.hex()))

    found = kept.cell("verdict/finding", requirement.number, make, mark, by_key=True, weighs=FINDING_BYTES).value
    kept.beside[(requirement.name, about)] = _Last(requirement, gathered, walked, found)
    return found


def _judge(requirement: Requirement[Any], about: str, gathered: object, ledger: Ledger) -> Judged:
    if isinstance(gathered, NotClaimed):
        has: Quantity | Unknown = gathered.has or Unknown(why=gathered.why)
        bare = _bare(requirement, about, "not_applicable", has, gathered.why, ledger)
        return bare if gathered.shown is None else _shown(requirement, bare, gathered.shown, ledger)
    if isinstance(gathered, Unknown):
        return _bare(requirement, about, "unknown", gathered, gathered.why, ledger)
    found = requirement.find(gathered)
    if isinstance(found.has, Unknown):
        return _bare(requirement, about, "unknown", found.has, found.has.why, ledger, found)
    try:
        return _graded(requirement, about, gathered, found, found.has, ledger)
    except (WorkingError, FormulaError) as error:  # a defect of ours: no number is better than two
        why = f"{DISAGREE}: {error}"
        return _bare(requirement, about, "unknown", Unknown(why=why), why, ledger, found)


def _shown(requirement: Requirement[Any], bare: Judged, gathered: object, ledger: Ledger) -> Judged:
    """Return a finding of what nobody asked for, with the working of its number."""
    finding = bare.finding
    writer = Writer(ledger.given, requirement.method)
    try:
        if requirement.work is not None and isinstance(finding.has, Quantity):
            requirement.work(writer, gathered, Found(needed=finding.needed, has=finding.has))
            writer.same_as(finding.has.value)
    except (WorkingError, FormulaError) as error:
        why = f"{DISAGREE}: {error}"
        return _bare(requirement, finding.about, "unknown", Unknown(why=why), why, ledger)
    return replace(bare, working=writer.done())


def _graded(
    requirement: Requirement[Any], about: str, gathered: object, found: Found, has: Quantity, ledger: Ledger
) -> Judged:
    writer = Writer(ledger.given, requirement.method)
    if requirement.work is not None:
        requirement.work(writer, gathered, found)
        has = replace(has, value=writer.same_as(has.value, found.agrees))
        if writer.needed:
            value = writer.same_as(found.needed.value, found.agrees, writer.needed)
            found = replace(found, has=has, needed=replace(found.needed, value=value))
    margin = None if found.passed is not None else requirement.rule.margin(has.value, found.needed.value)
    thresholds = requirement.thresholds_of(found)
    band: Spread | None = None
    tests: tuple[Settle, ...] = ()
    if margin is None:
        passed = found.passed if found.passed is not None else has.value >= found.needed.value
        grade: Grade = "performs" if passed else "fails"
    else:
        grade = thresholds.grade(margin)
        band = spread(writer, requirement.rule, found.needed.value, ledger.given) if writer.steps else None
        if undecided(margin, thresholds, band) and band is not None:
            line = thresholds.only_just
            refs = to_measure(margin, line, requirement.rule, band.doubted, lambda ref: test_of(ref, gathered))
            grade, tests = "undecided", settle(ledger.given, refs, gathered)
    said: Said = requirement.say(gathered, found, grade)
    if tests:
        rests = _listed([_rests_on(writer, ledger, ref) for test in tests for ref in test.inputs])
        said = Said(
            sentence=f"{said.sentence.rstrip('.')}; it rests on {rests}, which can carry it either way.",
            clause=f"{_called(requirement, about)} {agrees(requirement.name, 'rests', 'rest')} on {rests}",
        )
    finding = Finding(
        id=requirement.id_of(about),
        about=about, requirement=requirement.name, grade=grade, needed=found.needed, has=has, margin=margin,
        band=band.band if band else None, at=found.at, sentence=said.sentence, key="", settle=tests,
        decides=_decides(writer, ledger.given),
        marks=marks(requirement.rule, thresholds, found.needed.value, margin),
        **_rests(ledger, found, ("typical",) if writer.surveys else ()),
    )  # fmt: skip
    short = 1.0 if margin is None else min(max(-margin, 0.0), 1.0) + 0.01
    bad = {"fails": short, "undecided": 0.001}.get(grade, 0.0)
    return Judged(finding=finding, working=writer.done(), clause=said.clause, order=requirement.weight * bad)


def _decides(writer: Writer, given: Mapping[Ref, Given]) -> Decides | None:
    """Return what decides a finding, where its working says that the number that is graded does not."""
    if writer.decides is None:
        return None
    what, *pair = writer.decides
    needed, has = (Quantity(value=writer.values[symbol], unit=writer.unit(symbol)) for symbol in pair)
    margin = FASTER.margin(has.value, needed.value)
    assert margin is not None
    found = spread(writer, FASTER, needed.value, given, (pair[0], pair[1]))
    return Decides(what=what, needed=needed, has=has, margin=margin, band=found.band if found else None)


def _called(requirement: Requirement[Any], about: str) -> str:
    """Return a finding in the words of a clause: the drive of the jaw; of what is about the whole creature, the cost."""
    whole = about in (requirement.name, "limits")
    return f"the {requirement.name}" if whole else f"the {requirement.name} of the {named(about)}"


def _listed(names: list[str]) -> str:
    """Return names as people list them, each once, and how many more there are."""
    names = list(dict.fromkeys(names))
    if len(names) > LISTED + 1:
        names = [*names[:LISTED], f"{len(names) - LISTED} more"]
    return " and ".join((", ".join(names[:-1]), names[-1])) if len(names) > 1 else names[0]


def _rests_on(writer: Writer, ledger: Ledger, ref: Ref) -> str:
    """Return what an undecided finding rests on: ``a typical free speed``."""
    symbols = writer.inputs().get(ref, ())
    meaning = next((step.meaning for step in writer.steps if step.symbol in symbols), "input").split(",")[0]
    source = {"guess": "guessed"}.get(source_of(ledger.given, ref), "typical")
    if any(symbol in writer.surveys for symbol in symbols):  # of a survey, or past the end of a measured table
        source = "guessed" if ref.endswith("/curve") else "surveyed"
    name = called(ref, meaning)
    return f"{source} {name}" if name.startswith("hours") else f"a {source} {name}"


def _bare(
    requirement: Requirement[Any], about: str, grade: Grade, has: Quantity | Unknown, why: str, ledger: Ledger,
    found: Found | None = None,
) -> Judged:  # fmt: skip
    sentence = why[:1].upper() + why[1:].rstrip(".") + "."
    needed = found.needed if found else Quantity(value=0.0, unit=requirement.unit)
    lines = marks(requirement.rule, requirement.thresholds_of(found), needed.value, 0.0) if found else None
    finding = Finding(
        id=requirement.id_of(about), about=about, requirement=requirement.name, grade=grade, needed=needed,
        has=has, margin=None, band=None, at=found.at if found else None, sentence=sentence, key="", marks=lines,
        **_rests(ledger, found),
    )  # fmt: skip
    return Judged(finding=finding, working=replace(EMPTY, method=requirement.method), clause=why, order=0.0)


def _rests(ledger: Ledger, found: Found | None, beside: tuple[Source, ...] = ()) -> dict[str, Any]:
    """Return what a finding rests on, and how sure the least sure of it is; ``beside`` is how sure what no ledger holds is."""
    refs = ledger.refs | (found.rests_on if found else frozenset())
    return {"rests_on": refs, "worst_source": less_sure(*beside, *(given.source for given in ledger.given.values()))}
