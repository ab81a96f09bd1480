"""Quieter servos: another class in the same body, no load at neutral, or a voice with which noise matters less.

The finding ranks the loudest servo of the creature, and one more where one whines while it holds; so nothing is proposed that
leaves one as loud, or one whining, behind. A servo that is carried elsewhere is as loud by that rank, and is no remedy.
"""

from __future__ import annotations

from itertools import product
from typing import Final

from marotte.basis.contracts.finding import Edit
from marotte.creature.naming import several
from marotte.creature.schema.means import CHANGE_SERVO, Servo
from marotte.verdict.remedies.part import COVER, SPRING_COST, SPRINGS, sprung
from marotte.verdict.remedies.proposal import Case, Proposal
from marotte.verdict.remedies.words import both, servo_said, spaced
from marotte.verdict.requirements.noise import RANKS, whining

PLAYBACK_COST: Final = 5.0
"""To record the whole part, to cue it, and to answer nobody (a rule of this project)."""


def quieter_servos(case: Case) -> tuple[Proposal, ...]:
    """Every loud servo as a quieter one of the same body, every whining one with a balance spring, or both."""
    if case.finding.requirement != "noise":
        return ()
    swaps = [found for rank in range(max(RANKS.values())) if (found := _swapped(case, rank)) is not None]
    relieved = _relieved(case)
    alone = [*swaps, *([relieved] if relieved is not None else [])]
    together = [_joined(swap, relieved) for swap, relieved in product(swaps, alone[len(swaps) :])]
    return (*alone, *together)


def _swapped(case: Case, rank: int) -> Proposal | None:
    """Return the swap of all servos above a rank for the strongest class of the same body that is not; None where one has none."""
    creature = case.creature
    classes = {**creature.stock_tables.servos, **creature.servos}
    edits: dict[str, Edit] = {}
    counts: dict[tuple[str, str], int] = {}
    for means in creature.means.values():
        if not isinstance(means, Servo) or RANKS[creature.servos[means.model].noise] <= rank:
            continue
        now = creature.servos[means.model]
        fits = [
            name
            for name, servo in classes.items()
            if RANKS[servo.noise] <= rank and servo.same_body(now) and not servo.measured
        ]
        block = means.ref("")
        if not fits or not block.startswith("/"):
            return None
        other = max(fits, key=lambda name: (classes[name].points[-1].stall, name))
        edits.setdefault(f"{block}/model", case.edit(f"{block}/model", other))
        counts[other, means.model] = counts.get((other, means.model), 0) + means.count
    if not edits:
        return None
    swaps = [f"{servo_said(new)}s in place of {count} x {spaced(old)}" for (new, old), count in counts.items()]
    return Proposal(
        edits=tuple(edits.values()), says=f"take {both(swaps)} (same body)",
        then="a quieter servo of the same body is a slower or a weaker one: listen to one on the bench first",
        cost=CHANGE_SERVO.cost,
    )  # fmt: skip


def _relieved(case: Case) -> Proposal | None:
    """Return a balance spring on everything that whines while it holds at neutral; None where one cannot have any."""
    names = tuple(whining(case.creature, case.results))
    hung = [sprung(case, name, SPRINGS[-1]) for name in names]
    edits = {found[0].path: found[0] for found in hung if found is not None}
    if not edits or None in hung:
        return None
    text = f"hang a long soft balance spring on {several(names)}, so that nothing is held at neutral"
    return Proposal(edits=tuple(edits.values()), says=text, then=COVER, cost=SPRING_COST + SPRINGS[-1])


def _joined(one: Proposal, other: Proposal) -> Proposal:
    return Proposal(
        edits=one.edits + other.edits, says=f"{one.says}, and {other.says}", then=f"{one.then}; {other.then}",
        cost=one.cost + other.cost,
    )  # fmt: skip


def played_back(case: Case) -> tuple[Proposal, ...]:
    """A voice that is recorded, before or after, and covers what whirrs under it."""
    brief = case.creature.brief
    if case.finding.requirement != "noise" or brief.voice == "playback" or not brief.ref("").startswith("/"):
        return ()
    filmed = case.creature.audience.camera is not None
    return (
        Proposal(
            edits=(case.edit("/brief/voice", "playback"),),
            says="play the voice from a recording" + (", or revoice it later" if filmed else ""),
            then="record and cue the whole part first; nobody can be answered off the script, so ask the director",
            cost=PLAYBACK_COST, asks=True,
        ),
    )  # fmt: skip
