"""Lengths and clocking for one function: docs/methods/sizing.md.

Starts: what is written; what is written with its clocking swept; and, for a planar four-bar, the three-position syntheses
whose horn follows the function as evenly as can be. From each, a bounded least squares with a fixed count of steps; then
round to what can be made, and judge by the transmission itself. No clock, no chance: the same file gives the same answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np

from marotte.basis.contracts.common import Told, Unknown
from marotte.basis.contracts.finding import Edit
from marotte.basis.units import DEG
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature
from marotte.creature.naming import named
from marotte.creature.schema.quantities import quantity
from marotte.mech.asked_of import Ask, asked_of
from marotte.mech.case import Case
from marotte.mech.mechs import eye_spacing
from marotte.mech.size_candidate import Candidate, best_of
from marotte.mech.size_search import FREE, Search


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizing:
    """What was found for one function."""

    function: str
    mechanism: str
    now: Candidate | None
    """As it is written; None where that does not go together."""
    candidates: tuple[Candidate, ...]
    """Best first: those that perform by least change, then the others by how near they come."""
    ask: Ask
    told: tuple[Told, ...]


def size(creature: Creature, function: str, ask: Ask | None = None, count: int = 4) -> Sizing | Unknown:
    """Return the best few lengths and clockings for one function.

    Args:
        creature: as loaded; nothing in it is changed.
        function: its name.
        ask: what is asked of it, where the caller knows (the part's own speeds); else its whole travel in 0.25 s.
        count: how many at most.

    Returns:
        Candidates with their margins; Unknown where the function has no servo, or a mech that has nothing to size.
    """
    case = _case(creature, function)
    if isinstance(case, Unknown):
        return case
    wanted = ask if ask is not None else asked_of(creature, function)
    if isinstance(wanted, Unknown):
        return wanted
    search = Search(case, wanted)
    now = search.judged("as written", case.mechanism.record)
    found = [candidate for what, start in search.starts() if (candidate := search.from_start(what, start)) is not None]
    picked = best_of(found, now, count)
    return Sizing(
        function=function, mechanism=case.mechanism.name, now=now, candidates=picked, ask=wanted,
        told=wanted.told + _why_none(function, wanted, now, picked),
    )  # fmt: skip


def as_written(creature: Creature, function: str, ask: Ask) -> Candidate | None:
    """Return the linkage as it is written, judged by what is asked; None where it does not go together or has no sizes."""
    case = _case(creature, function)
    return None if isinstance(case, Unknown) else Search(case, ask).judged("as written", case.mechanism.record)


def _case(creature: Creature, function: str) -> Case | Unknown:
    mechanism = next((m for m in creature.mechs.values() if m.outputs == (function,) and len(m.inputs) == 1), None)
    if mechanism is None or type(mechanism.record) not in FREE:
        kinds = ", ".join(sorted(cast(str, kind.model_fields["kind"].default) for kind in FREE))
        what = (
            f"a {mechanism.record.kind} cannot be sized"
            if mechanism is not None and mechanism.record.kind != "direct"
            else "there is nothing to size"
        )
        return Unknown(why=f"{named(function)}: {what}; what can be sized are {kinds}")
    record = creature.functions[function]
    return Case(
        mechanism=mechanism, functions=(record,), parts=(PARTS[record.part],), points=creature.points,
        stock=creature.stock_tables, eye_spacing=eye_spacing(creature),
    )  # fmt: skip


def edits(creature: Creature, candidate: Candidate) -> tuple[Edit, ...]:
    """Return the edits of the written file that make one candidate the creature's own."""
    made = []
    for field, (_, to) in sorted(candidate.changes.items()):
        ref = candidate.record.ref(field)
        if ref.startswith("default:"):
            block = candidate.record.ref(FREE[type(candidate.record)][0][0]).rpartition("/")[0]
            ref = f"{block}/{field}"
        given = creature.given.get(ref)
        kind = quantity(type(candidate.record), field)
        angle = kind is not None and kind.kinds[0].name == "angle"
        text = f"{to / DEG:.0f} deg" if angle else f"{to * 1e3:.1f}".rstrip("0").rstrip(".") + " mm"
        made.append(Edit(path=ref, from_=given.written if given is not None else None, to=text))
    return tuple(made)


def _why_none(function: str, ask: Ask, now: Candidate | None, picked: tuple[Candidate, ...]) -> tuple[Told, ...]:
    """Return what to say where no linkage performs: what bears on it most."""
    if any(candidate.performs for candidate in (*picked, *([now] if now else []))):
        return ()
    worst = int(np.argmax(ask.force))
    share = float(ask.skin[worst]) / max(float(ask.force[worst]), 1e-12)
    sentence = f"{named(function)}: no lengths or clocking alone make it perform with this servo"
    if share > 0.5:
        sentence += "; most of what it bears is skin: thin it, relieve it, or sculpt it part-way"
    return (Told(code="no_linkage", sentence=sentence),)
