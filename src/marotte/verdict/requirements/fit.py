"""fit.skull: whether servos, eyes, mouth and hand go into the skull."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.fit import Fit
from marotte.basis.units import show
from marotte.creature.naming import named, of_all
from marotte.creature.schema.base import Record
from marotte.creature.schema.means import Servo
from marotte.mech.fit.fit import CLEAR, how_placed
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

FAR_OFF: Final = 0.01
"""Distance [m] from where a linkage wants its servo that a longer rod no longer makes good (a rule of this project)."""


def has_servos(creature: Creature) -> bool:
    """Return whether any servo may sit in the head."""
    return any(isinstance(means, Servo) for means in creature.means.values())


def solid_name(text: str) -> str:
    """Return a solid's name as people say it: ``lid_upper_left horn`` is ``horn of the left upper lid servo``."""
    name, _, kind = text.rpartition(" ")
    if not name or kind not in ("servo", "horn", "rod"):
        return text
    return f"{named(name)} servo" if kind == "servo" else f"{kind} of the {named(name)} servo"


@dataclass(frozen=True, slots=True)
class SkullArgs:
    """What fit.skull reads."""

    fit: Fit
    records: tuple[Record, ...]


def _skull(creature: Creature, results: Results, about: str) -> SkullArgs | Unknown | NotClaimed:
    if not has_servos(creature):
        return NotClaimed(why="no servo, so nothing has to fit into the skull")
    found = results.fitted.fit
    if isinstance(found, Unknown):
        return found
    worst = found.least
    if worst is None:
        if not found.unplaced:
            return NotClaimed(why="no servo sits in the skull")
    elif worst.gap < 0.0:
        owners = {item.of for item in found.placed if item.name in (worst.first, worst.second)}
        boxes = (means.box for name, means in creature.means.items() if isinstance(means, Servo) and name in owners)
        return SkullArgs(found, tuple(box for box in boxes if box is not None))
    if found.unplaced:
        lost = ", ".join(named(name) for name in found.unplaced)
        whole = all_servos(found)
        why = (
            f"no free place was found for {of_all(len(found.unplaced), whole, 'servo', 'servos')} ({lost}), which proves nothing yet: write their "
            f"boxes, move some out of the head, or make the skull larger"
        )
        return Unknown(why=why, wants=("/build/skull/shape",))
    return SkullArgs(found, ())


def all_servos(found: Fit) -> int:
    """Return how many servos are to sit in the skull, with those that found no place."""
    return sum(how_placed(found).values()) + len(found.unplaced)


def _skull_find(args: SkullArgs) -> Found:
    assert args.fit.least is not None
    return Found(
        needed=Quantity(value=CLEAR, unit="m"), has=Quantity(value=args.fit.least.gap, unit="m"),
        rests_on=args.fit.rests_on,
    )  # fmt: skip


def _skull_work(w: Writer, args: SkullArgs, found: Found) -> None:
    worst = args.fit.least
    assert worst is not None
    w.need(w.rule("g_min", "gap that bodies want", CLEAR, "m", PRACTICE))
    between = f"{worst.first} and the skull" if worst.second == "skull" else f"{worst.first} and {worst.second}"
    w.read("g", f"least gap: {between}", f"mech: fit, {args.fit.skull}", worst.gap, "m")


def _skull_say(args: SkullArgs, found: Found, grade: Grade) -> Said:
    worst = args.fit.least
    assert worst is not None
    first, second = solid_name(worst.first), solid_name(worst.second)
    size = show(abs(worst.gap), "m", 2)
    outside = {clash.first for clash in args.fit.clashes if clash.second == "skull" and clash.gap < 0.0}
    case, horn = (f"{worst.first.rpartition(' ')[0]} {kind}" for kind in ("servo", "horn"))
    counts = how_placed(args.fit)
    proposed = of_all(counts["proposed"], all_servos(args.fit), "servo", "servos")
    where = f"in a proposed place for {proposed}" if counts["proposed"] else "as written"
    if worst.gap < 0.0:
        if second == "skull":
            both = {case, horn} <= outside
            text = f"the {f'{solid_name(case)} with its horn' if both else first} reaches {size} out of the skull"
        else:
            both = False
            text = f"the {first} and the {second} overlap by {size}"
        more = sum(clash.gap < 0.0 for clash in args.fit.clashes) - 1 - both
        rest = f"; {more} more {'overlaps or sticks' if more == 1 else 'overlap or stick'} out" if more else ""
        gone = len(args.fit.unplaced)
        lost = f"; {gone} {'servo has' if gone == 1 else 'servos have'} no place at all" if gone else ""
        return Said(sentence=f"{text[0].upper()}{text[1:]}{rest}{lost} (skull: {args.fit.skull}).", clause=text)
    between = f"the {first} and the shell" if second == "skull" else f"the {first} and the {second}"
    text = f"everything goes into the skull, {where}, with {size} between {between}"
    far = [item for item in args.fit.off if item.far > FAR_OFF]
    but = ""
    if far:
        most = max(far, key=lambda item: (item.far, item.servo))
        count = f"{len(far)} of them sit" if len(far) > 1 else "one sits"
        but = (
            f", but {count} more than {show(FAR_OFF, 'm')} from where the linkage wants it, the {named(most.servo)} "
            f"by {show(most.far, 'm', 2)}: another ground, another mech, or another place"
        )
    return Said(sentence=f"{text[0].upper()}{text[1:]}{but}.", clause=text)


SKULL = Requirement(
    name="fit",
    number=1,
    asks="Servos with their swept horns and rods, eyes, mouth and hand sit in the skull without touching.",
    unit="m",
    rule=Rule("at_least", scale=5e-3),
    thresholds=Thresholds(
        0.0, -0.2, "A millimetre between bodies is wanted; touching is put right with a file, an overlap is not (common practice, no source)."
    ),
    method="fit",
    subjects=lambda creature: ["skull"],
    gather=_skull,
    find=_skull_find,
    work=_skull_work,
    say=_skull_say,
    example="skull",
    weight=0.9,
    name_first=True,
)  # fmt: skip
