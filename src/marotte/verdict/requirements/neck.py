"""fit.neck: what cables through the neck lose when the head moves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.fit import NeckCable, NeckFit
from marotte.basis.units import show
from marotte.creature.naming import named
from marotte.mech.fit.neck import BEND_LENGTH, ROPE_SHARE, STEEL
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

LOST_SHARE: Final = 0.05
"""Share of a cable's stroke that a move of the head may take (a rule of this project)."""


@dataclass(frozen=True, slots=True)
class NeckArgs:
    """What fit.neck reads."""

    neck: NeckFit

    @property
    def worst(self) -> int:
        """The cable that loses the largest share."""
        cables = self.neck.cables
        return max(range(len(cables)), key=lambda k: (cables[k].clearance / cables[k].stroke, -k))


def _neck(creature: Creature, results: Results, about: str) -> NeckArgs | Unknown | NotClaimed:
    found = results.fitted.neck
    if found is None:
        return NotClaimed(why="no cable runs through a neck that moves")
    for cable in found.cables:
        moved = results.mechs.transmissions.get(cable.name)
        if isinstance(moved, Unknown):
            return Unknown(why=f"what the {named(cable.name)} loses is not known: {moved.why}", wants=moved.wants)
    return NeckArgs(found)


def _neck_share(args: NeckArgs) -> float:
    cable = args.neck.cables[args.worst]
    return cable.clearance * args.neck.swing / cable.stroke


def _neck_find(args: NeckArgs) -> Found:
    refs = frozenset(cable.ref for cable in args.neck.cables if not cable.ref.startswith("default:"))
    return Found(
        needed=Quantity(value=LOST_SHARE, unit="1", percent=True),
        has=Quantity(value=_neck_share(args), unit="1", percent=True), rests_on=refs,
    )  # fmt: skip


def _neck_work(w: Writer, args: NeckArgs, found: Found) -> None:
    cable = args.neck.cables[args.worst]
    w.need(w.rule("k_max", "share of the stroke that may be lost", LOST_SHARE, "1", "a rule of this project"))
    gap = w.read("c", "bore less wire", cable.ref, cable.clearance, "m")
    swing = w.read(
        "phi", f"most that a {args.neck.swing_of} of the head bends it", "functions and brief", args.neck.swing, "rad"
    )
    _stiffness(w, args.neck, swing)
    stroke = w.read("s", f"stroke of {cable.name}", "functions", cable.stroke, "m")
    w.worked("k", "share lost when the head moves", f"{gap}*{swing}/{stroke}", "1")


def _stiffness(w: Writer, neck: NeckFit, swing: str) -> None:
    """Write the torque that the wires set against the move."""
    kinds: dict[tuple[float, bool], list[NeckCable]] = {}
    for cable in neck.cables:
        kinds.setdefault((cable.wire, cable.solid), []).append(cable)
    terms = []
    for (wire, solid), cables in kinds.items():
        names = ", ".join(dict.fromkeys(named(cable.name) for cable in cables))
        thick = w.read("d_w", f"{'wire' if solid else 'rope'} of: {names}", cables[0].ref, wire, "m")
        share = (
            "" if solid else f"{w.rule('k_r', 'stiffness of a rope over a wire as thick', ROPE_SHARE, '1', PRACTICE)}*"
        )
        terms.append(f"{len(cables)}*{share}{thick}**4")
    young = w.rule("E", "steel", STEEL, "Pa", "handbook value, from memory")
    long = w.rule("L", "length over which the bundle bends", BEND_LENGTH, "m", "a rule of this project")
    w.worked("T", "torque of the wires against that move", f"{young}*pi/64*({' + '.join(terms)})*{swing}/{long}", "N*m")


def _neck_say(args: NeckArgs, found: Found, grade: Grade) -> Said:
    neck, cable = args.neck, args.neck.cables[args.worst]
    lost = show(cable.clearance * neck.swing, "m", 2)
    text = f"the {named(cable.name)} moves by {lost} of its {show(cable.stroke, 'm', 2)} stroke when the head {neck.swing_of}s"
    count = len(neck.cables)
    bundle = f"{count} cable{'s' if count > 1 else ''} through the neck, a bundle of {show(neck.bundle, 'm', 2)}"
    stiff = f"the wires set {show(neck.stiffness, 'N*m', 2)} against the end of that move"
    return Said(sentence=f"{text[0].upper()}{text[1:]}: {bundle}; {stiff}.", clause=text)


NECK = Requirement(
    name="fit",
    number=1,
    asks="Cables through the neck lose little of their stroke when the head turns, nods or tilts.",
    unit="1",
    rule=Rule("at_most"),
    thresholds=Thresholds(0.2, 0.0, "A twentieth of the stroke is not seen; more, and it blinks when it nods (a rule of this project)."),
    method="fit-neck",
    subjects=lambda creature: ["neck"],
    gather=_neck,
    find=_neck_find,
    work=_neck_work,
    say=_neck_say,
    example="neck",
    weight=0.4,
    name_first=True,
)  # fmt: skip
