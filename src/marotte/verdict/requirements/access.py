"""fit.access: whether every servo comes out, and after how many others."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.fit import Access, Fit, WayOut
from marotte.creature.naming import named, of_all
from marotte.creature.schema.build import Skull
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.fit import all_servos, has_servos, solid_name
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

OTHERS_OUT: Final = 2
"""Other servos that may have to come out first (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class AccessArgs:
    """What fit.access reads."""

    access: Access
    skull: Skull
    count: int

    @property
    def worst(self) -> WayOut:
        """The servo that is hardest to take out."""
        return max(self.access.ways, key=lambda way: (way.hatch is None, len(way.first), way.servo))

    @property
    def others(self) -> int:
        """How many others must come out first; all of them where it cannot come out at all."""
        return self.count if self.worst.hatch is None else len(self.worst.first)


def _access(creature: Creature, results: Results, about: str) -> AccessArgs | Unknown | NotClaimed:
    if not has_servos(creature):
        return NotClaimed(why="no servo, so none has to come out")
    found = results.fitted.access
    if isinstance(found, Unknown):
        return found
    if not found.ways:
        return NotClaimed(why="no servo sits in the skull, so none has to come out")
    skull = creature.build.skull
    assert skull is not None
    if found.missing_hatches:
        return AccessArgs(found, skull, len(found.ways))
    if not found.hatches:
        if found.unknown_hatches:
            return Unknown(why=found.told[0].sentence, wants=(skull.ref("hatch"),))
        return Unknown(
            why="the skull has no hatch written, so how a servo comes out cannot be told", wants=(skull.ref("hatch"),)
        )
    args = AccessArgs(found, skull, len(found.ways))
    fit = results.fitted.fit
    placed = fit.placed if isinstance(fit, Fit) else ()
    proposed = {item.of for item in placed if item.kind == "servo" and item.how == "proposed"}
    if (args.others > OTHERS_OUT or args.worst.hatch is None) and proposed & {args.worst.servo, *args.worst.first}:
        said = _access_say(args, _access_find(args), "fails").sentence.rstrip(".")
        count = of_all(len(proposed), all_servos(fit) if isinstance(fit, Fit) else args.count, "servo", "servos")
        why = (
            f"{count} {'sits' if len(proposed) == 1 else 'sit'} in proposed places, no box being written, so what comes out first cannot be "
            f"told; there: {said[0].lower()}{said[1:]}"
        )
        return Unknown(why=why, wants=(skull.ref("hatch"),))
    return args


def _access_find(args: AccessArgs) -> Found:
    shut_in = args.worst.hatch is None or bool(args.access.missing_hatches)
    return Found(
        needed=Quantity(value=float(OTHERS_OUT), unit="1"), has=Quantity(value=float(args.others), unit="1"),
        passed=False if shut_in else None,
    )  # fmt: skip


def _access_work(w: Writer, args: AccessArgs, found: Found) -> None:
    w.need(w.rule("n_max", "others that may have to come out first", OTHERS_OUT, "1", PRACTICE))
    w.read("n", f"others before the {args.worst.servo} servo", "mech: fit, drawn out straight", args.others, "1")


def _access_say(args: AccessArgs, found: Found, grade: Grade) -> Said:
    worst = args.worst
    name = named(worst.servo)
    if args.access.missing_hatches:
        servo, hatch = args.access.missing_hatches[0]
        have = ", ".join((*args.access.hatches, *args.access.unknown_hatches)) or "none"
        text = f"the {named(servo)} servo is to come out through {hatch}, and the skull has no such hatch"
        return Said(sentence=f"{text[0].upper()}{text[1:]} (it has: {have}).", clause=text)
    if worst.hatch is None:
        what = ", ".join(f"the {solid_name(item)}" for item in worst.blocked_by) or "the skull"
        stuck = sum(way.hatch is None for way in args.access.ways)
        text = f"the {name} servo cannot come out: {what} in its way"
        more = f"; {stuck - 1} more {'is' if stuck == 2 else 'are'} shut in like it" if stuck > 1 else ""
        return Said(sentence=f"{text[0].upper()}{text[1:]}{more}.", clause=text)
    if not worst.first:
        text = "every servo comes straight out without taking out another"
        return Said(sentence=f"{text[0].upper()}{text[1:]}.", clause=text)
    before = ", ".join(named(item) for item in worst.first)
    many = sum(len(way.first) > OTHERS_OUT for way in args.access.ways)
    text = f"the {name} servo comes out through the {worst.hatch} after {len(worst.first)} other{'s' if len(worst.first) > 1 else ''}"
    more = f"; {many} servos want more than {OTHERS_OUT} others out first" if many > 1 else ""
    return Said(sentence=f"{text[0].upper()}{text[1:]} ({before}){more}.", clause=text)


ACCESS = Requirement(
    name="fit",
    number=1,
    asks="Every servo comes out through a hatch, horns and rods taken off, without taking out many others first.",
    unit="1",
    rule=Rule("at_most", scale=float(OTHERS_OUT)),
    thresholds=Thresholds(
        0.4, 0.0,
        "A dead servo is changed on set in 10 to 15 minutes: one other in the way is borne, two only just (common practice, no source).",
    ),
    method="fit-access",
    subjects=lambda creature: ["access"],
    gather=_access,
    find=_access_find,
    work=_access_work,
    say=_access_say,
    example="access",
    weight=0.4,
    name_first=True,
)  # fmt: skip
