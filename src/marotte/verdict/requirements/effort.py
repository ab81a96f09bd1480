"""<mechanism>.effort: the force that a hand or a lever must give over the travel, against what it gives at ease."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.mech import Jammed, Transmission
from marotte.basis.given import Ref
from marotte.basis.units import show
from marotte.creature.naming import named
from marotte.creature.schema.means import Hand, Lever
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.borne import Borne, borne
from marotte.verdict.requirements.drive import rests
from marotte.verdict.requirements.force import TABLES, write_torque
from marotte.verdict.workings import Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results


@dataclass(frozen=True, slots=True)
class Args:
    """What the requirement reads."""

    load: Borne
    means: Hand | Lever
    rests_on: frozenset[Ref]

    @property
    def who(self) -> str:
        """What gives the force."""
        return "hand" if isinstance(self.means, Hand) else "lever"


def _subjects(creature: Creature) -> list[str]:
    """Return the mechanisms with one input that a hand or a lever pushes."""
    return [
        name for name, mech in creature.mechs.items()
        if len(mech.inputs) == 1 and isinstance(creature.means[mech.inputs[0]], (Hand, Lever))
    ]  # fmt: skip


def _gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
    means = creature.means[creature.mechs[about].inputs[0]]
    assert isinstance(means, (Hand, Lever))
    transmission = results.mechs.transmissions[about]
    if means.force is None:
        return NotClaimed(why=f"the force that moves the {named(about)} is not written: a person does it")
    if isinstance(transmission, Jammed):
        return Unknown(why="the mechanism does not go together; see its mech finding")
    if not isinstance(transmission, Transmission):
        return transmission
    if transmission.input_units != ("m",):
        where = (creature.mechs[about].record.ref("kind"),)
        return Unknown(
            why=f"where the force takes hold of the {named(about)} is not written (plate, or a stroke)", wants=where
        )
    point = results.operating.heaviest[about]
    position = show(point.terms[0].position, results.unit_of(point.terms[0].function))
    return Args(borne(creature, results, about, point, position), means, rests(results, about))


def _find(args: Args) -> Found:
    assert args.means.force is not None
    needed = Quantity(value=args.means.force, unit="N")
    return Found(
        needed=needed, has=Quantity(value=args.load.point.torque, unit="N"), agrees=TABLES, rests_on=args.rests_on
    )


def _work(w: Writer, args: Args, found: Found) -> None:
    w.need(w.given(args.means, "force"))
    write_torque(w, args.load)


def _say(args: Args, found: Found, grade: Grade) -> Said:
    force, ease = show(args.load.point.torque, "N", 2), show(args.means.force or 0.0, "N")
    text = (
        f"the {named(args.load.name)} wants {force} of the {args.who} at {args.load.where}, which gives {ease} at ease"
    )
    return Said(sentence=f"{text[0].upper()}{text[1:]}.", clause=text)


EFFORT = Requirement(
    name="effort",
    number=1,
    asks="Over the travel, at the worst attitude and with the skin on, a hand or lever need not give more than it does at ease.",
    unit="N",
    rule=Rule("at_most"),
    thresholds=Thresholds(
        0.0, -0.5,
        "What is written is given at ease, over and over; half as much again goes for a while and tires (common practice, no source).",
    ),
    method="effort",
    subjects=_subjects,
    gather=_gather,
    find=_find,
    work=_work,
    say=_say,
    local=True,
    example="beak",
    weight=0.7,
)  # fmt: skip
