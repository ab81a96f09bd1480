"""Lengths and clocking for one function: docs/methods/sizing.md.

What is asked, what may change, a search by kind (rods, an eye on two rods, wires), and of what it finds the best few. No clock,
no chance: the same file gives the same answer.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from marotte.basis.contracts.common import Told, Unknown
from marotte.basis.contracts.finding import ABSENT, Edit
from marotte.basis.units import DEG
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature, Mechanism
from marotte.creature.naming import named
from marotte.creature.schema.mechs import Cable, Direct, Linkage, PullPull, TeeBar, TwoRodGimbal
from marotte.mech import size_gimbal, size_rods, size_wire
from marotte.mech.ask import Ask, in_time
from marotte.mech.asked_of import Asking, asked_of, mechanism_of
from marotte.mech.case import Case
from marotte.mech.kinds import KINDS
from marotte.mech.mechs import eye_spacing
from marotte.mech.size_candidate import Candidate, best_of
from marotte.mech.size_free import free_of, is_clock, made, ref_of
from marotte.mech.size_judge import Trial, judged
from marotte.mech.size_start import guess

EVEN: Final = 1e-3
"""Shares of a tee bar are written in tenths of a percent."""


SLOWER_S: Final = (0.3, 0.35, 0.4, 0.5, 0.6, 0.8, 1.0, 1.5, 2.0, 3.0)
"""Times for the whole travel that are looked at where nothing performs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizing:
    """What was found for one function."""

    function: str
    mechanism: str
    moves: tuple[str, ...]
    """All that the mechanism moves."""
    now: Candidate | None
    """As it is written; None where that does not go together."""
    candidates: tuple[Candidate, ...]
    """Those that perform, by how few things they change; else the nearest of the others."""
    ask: Ask
    told: tuple[Told, ...]


def size(creature: Creature, function: str, asking: Asking = asked_of, count: int = 4) -> Sizing | Unknown:
    """Return the best few lengths and clockings for one function, and for what shares its mechanism.

    Args:
        creature: as loaded; nothing in it is changed.
        function: its name.
        asking: what asks of it: its whole travel in 0.25 s, in another time, or as the part does.
        count: how many at most.

    Returns:
        Candidates with their margins; Unknown where no servo moves the function, or its mech has nothing to size.
    """
    wanted = asking(creature, function)
    if isinstance(wanted, Unknown):
        return wanted
    trial = _trial(creature, function, wanted)
    if isinstance(trial, Unknown):
        return trial
    now = _judge(trial, trial.record)
    shared = _with_even_shares(creature, trial, asking)
    found = list(_candidates(shared))
    found += [_with_least_changes(shared, one) for one in found]
    picked = best_of(found, now, count)
    mechanism = trial.case.mechanism
    return Sizing(
        function=function, mechanism=mechanism.name, moves=mechanism.outputs, now=now, candidates=picked, ask=shared.ask,
        told=shared.ask.told + _beside(function, shared, now, picked),
    )  # fmt: skip


def as_written(creature: Creature, function: str, ask: Ask) -> Candidate | None:
    """Return a mech as it is written, judged by what is asked; None where it does not go together or has no sizes."""
    trial = _trial(creature, function, ask)
    return None if isinstance(trial, Unknown) else _judge(trial, trial.record)


def _trial(creature: Creature, function: str, ask: Ask) -> Trial | Unknown:
    mechanism = mechanism_of(creature, function)
    free = free_of(mechanism.record)
    if free is None:
        return Unknown(why=f"{named(function)}: {_why_not(mechanism)}")
    moved = tuple(creature.functions[name] for name in mechanism.outputs)
    case = Case(
        mechanism=mechanism, functions=moved, parts=tuple(PARTS[one.part] for one in moved), points=creature.points,
        stock=creature.stock_tables, eye_spacing=eye_spacing(creature),
    )  # fmt: skip
    trial = Trial(case, ask, free, mechanism.record, mechanism.outputs.index(function))
    if isinstance(mechanism.record, TwoRodGimbal) and creature.build.eye is not None:
        radius = 0.5 * creature.build.eye.diameter
        return replace(trial, reach=max(radius, size_gimbal.hold(mechanism.record)))
    return trial


def _why_not(mechanism: Mechanism) -> str:
    if isinstance(mechanism.record, Direct):
        return (
            "it sits on its servo's own shaft, so there is nothing to size: another servo, or a mech between them (a four_bar for "
            "what turns, a crank_slider for what slides)"
        )
    return (
        f"a {mechanism.record.kind} cannot be sized, for its length is where hand and function are: look at {mechanism.name}.mech and "
        "change it in the file"
    )


def _candidates(trial: Trial) -> Iterator[Candidate]:
    if isinstance(trial.record, TwoRodGimbal):
        return size_gimbal.candidates(trial)
    return size_wire.candidates(trial) if isinstance(trial.record, (Cable, PullPull)) else size_rods.candidates(trial)


def _with_least_changes(trial: Trial, candidate: Candidate) -> Candidate:
    """Return a candidate that performs with everything put back as written that it performs without, the least change first."""
    if not candidate.performs:
        return candidate
    back = [
        (_size_of(field, before, after), field, before)
        for field, (before, after) in candidate.changes.items()
        if before is not None and field in trial.free.fields
    ]
    for _, field, before in sorted(back):
        again = _judge(trial, made(candidate.record, {field: before}))
        if again is not None and again.performs:
            candidate = again
    return candidate


def _size_of(field: str, before: float, after: float) -> float:
    """Return how large a change is: of a length as a share of it, of a clocking as a share of a radian."""
    return abs(after - before) / (1.0 if is_clock(field) or before == 0.0 else abs(before))


def _judge(trial: Trial, record: Linkage) -> Candidate | None:
    if isinstance(record, TwoRodGimbal):
        return size_gimbal.judged(trial, record)
    return size_wire.judged_wire(trial, record) if isinstance(record, (Cable, PullPull)) else judged(trial, record)


def _with_even_shares(creature: Creature, trial: Trial, asking: Asking) -> Trial:
    """Return a tee bar's trial with shares by the travels of its tabs, where one comes to its end before another; else the same."""
    record, functions = trial.record, trial.case.functions
    if not isinstance(record, TeeBar):
        return trial
    found = judged(trial, guess(trial))
    if found is None or not any(fault.kind == "shares" for fault in found.faults):
        return trial
    largest = max(functions, key=lambda one: one.span)
    most = max(map(abs, record.shares))
    shares = tuple(
        float(np.copysign(round(most * one.span / largest.span / EVEN) * EVEN, share))
        for one, share in zip(functions, record.shares, strict=True)
    )
    case = trial.with_record(record.model_copy(update={"shares": shares}))
    changed = replace(creature, mechs={**creature.mechs, case.mechanism.name: case.mechanism})
    ask = asking(changed, case.mechanism.outputs[trial.output])
    return trial if isinstance(ask, Unknown) else replace(trial, case=case, ask=ask)


def edits(creature: Creature, candidate: Candidate) -> tuple[Edit, ...]:
    """Return the edits of the written file that make one candidate the creature's own."""
    return tuple(
        Edit(
            path=ref_of(candidate.record, field),
            from_=given.written
            if (given := creature.given.get(ref_of(candidate.record, field))) is not None
            else ABSENT,
            to=_written(field, to),
        )
        for field, (_, to) in sorted(candidate.changes.items())
    )


def _written(field: str, value: float) -> str:
    """Return a value as it is written into the file."""
    if is_clock(field):
        return f"{value / DEG:.0f} deg"
    number, unit = (100.0 * value, "%") if field.startswith("shares/") else (1e3 * value, "mm")
    return f"{number:.1f}".rstrip("0").rstrip(".") + f" {unit}"


def _beside(function: str, trial: Trial, now: Candidate | None, picked: tuple[Candidate, ...]) -> tuple[Told, ...]:
    """Return what to say beside the table: what bears on it most where nothing performs, and what goes with a proposal."""
    good = [one for one in (*picked, *([now] if now else [])) if one.performs]
    told = []
    if now is None:
        wrong = KINDS[type(trial.written)](trial.with_record(trial.written))
        if isinstance(wrong, Unknown):
            told.append(Told(code="as_written", sentence=wrong.why))
    if not good:
        told.append(_why_none(function, trial, now, picked))
    if isinstance(trial.record, (Cable, PullPull)) and any(one.swing > size_wire.DRUM for one in (picked or good)):
        sentence = f"{named(function)}: past 60 deg either way its wire wants a drum or a quadrant; a straight horn's lever is there down to half"
        told.append(Told(code="drum", sentence=sentence))
    if isinstance(trial.record, TwoRodGimbal) and picked:
        sentence = (
            f"{named(trial.case.name)}: its servos' shafts stand where rods and horns put them: move their boxes by as much, then check "
            "what goes into the skull"
        )
        told.append(Told(code="boxes", sentence=sentence))
    return tuple(told)


def _why_none(function: str, trial: Trial, now: Candidate | None, picked: tuple[Candidate, ...]) -> Told:
    """Return what bears on it most where nothing performs, and whether more time would do."""
    heaviest = max(trial.ask.moved, key=lambda one: float(one.force.max()))
    worst = int(np.argmax(heaviest.force))
    share = float(heaviest.skin[worst]) / max(float(heaviest.force[worst]), 1e-12)
    sentence = f"{named(function)}: no lengths or clocking alone make it perform with this servo"
    slower = _slower(trial, [*([now] if now else []), *picked])
    if slower is not None:
        seconds, one = slower
        which = "as it is written it would" if one is now else "number 1 would"
        sentence += f" in {trial.ask.seconds:g} s; with {seconds:g} s for the whole travel {which}"
    if share > 0.5:
        sentence += "; most of what it bears is skin: thin it, relieve it, or sculpt it part-way"
    elif trial.ask.seconds is None:
        sentence += ": a stronger servo, less to move, or a slower part"
    elif slower is None:
        sentence += ", nor does more time: a stronger servo, or less to move"
    return Told(code="no_linkage", sentence=sentence)


def _slower(trial: Trial, ones: list[Candidate]) -> tuple[float, Candidate] | None:
    """Return the least of some longer times in which one of some candidates performs."""
    now = trial.ask.seconds
    for seconds in SLOWER_S if now is not None else ():
        if now is not None and seconds <= now:
            continue
        given = replace(trial, ask=in_time(trial.ask, seconds))
        for one in ones:
            again = _judge(given, one.record)
            if again is not None and again.performs:
                return seconds, one
    return None
