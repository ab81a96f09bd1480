"""fit.hand: whether the hand goes into the head."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.fit import HandFit
from marotte.basis.units import show
from marotte.creature.schema.base import Only
from marotte.mech.fit.hand import SURVEY
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

SURVEY_SAID: Final = "of the open survey ANSUR II, a military population"


def goes_in(grade: Grade) -> str:
    """Return whether something goes in, as a verb."""
    if grade == "undecided":
        return "may not go into"
    return "goes into" if grade != "fails" else "does not go into"


def nineteen(where: str) -> str:
    """Return of whom a survey says how far they lie apart, from what it is the mean of: of one sex, or of both where it is unsaid."""
    return "19 of 20 men's and women's" if "sex unsaid" in where else "19 of 20"


@dataclass(frozen=True, slots=True)
class HandArgs:
    """What fit.hand reads."""

    hand: HandFit
    own: Only
    """The measures of that person themselves."""


def _hand(creature: Creature, results: Results, about: str) -> HandArgs | Unknown | NotClaimed:
    found = results.fitted.hand
    if found is None:
        return NotClaimed(why="no hand works inside the head")
    if isinstance(found, Unknown):
        return found
    return HandArgs(found, Only(creature.performers[found.performer], ("hand_breadth",)))


def _hand_find(args: HandArgs) -> Found:
    hand = args.hand
    return Found(
        needed=Quantity(value=hand.breadth + 2.0 * hand.foam, unit="m"), has=Quantity(value=hand.inner, unit="m"),
        rests_on=frozenset({hand.ref, "/build/skull/shape"}),
    )  # fmt: skip


def _hand_work(w: Writer, args: HandArgs, found: Found) -> None:
    hand = args.hand
    if hand.breadth_from == "written":
        breadth = w.given(args.own.record, "hand_breadth")
    else:
        breadth = w.surveyed("b_h", "breadth of the hand", hand.breadth, "m", hand.breadth_from, hand.ref, hand.spread)
    foam = w.rule("t_f", "foam on each side", hand.foam, "m", PRACTICE)
    w.need(w.worked("b", "room that the hand wants", f"{breadth} + 2*{foam}", "m"))
    w.read("w", "widest inside of the head", "/build/skull/shape/0", hand.inner, "m")


def _hand_say(args: HandArgs, found: Found, grade: Grade) -> Said:
    hand = args.hand
    wants, has = show(found.needed.value, "m"), show(hand.inner, "m")
    verb = goes_in(grade)
    text = f"the hand of the {hand.performer} performer {verb} the head: with its foam it wants {wants}, inside there are {has}"
    own = f"breadth {show(hand.breadth, 'm')}"
    own += (
        " as written"
        if hand.breadth_from == "written"
        else f", the {hand.breadth_from.replace(SURVEY, SURVEY_SAID)}; {nineteen(hand.breadth_from)} hands lie within "
        f"{show(hand.spread, 'm', 2)} of it"
    )
    plates = ""
    if hand.plate is not None:
        short = hand.plate <= hand.fingers
        fit = "the fingers reach along the whole plate" if short else "the plate is longer than the fingers"
        plates = f"; mouth plate {show(hand.plate, 'm')} from the hinge, fingers of about {show(hand.fingers, 'm', 2)}: {fit}"
    return Said(sentence=f"{text[0].upper()}{text[1:]} ({own}){plates}.", clause=text)


HAND = Requirement(
    name="fit",
    number=2,
    asks="The performer's hand goes into the head, with foam on both sides.",
    unit="m",
    rule=Rule("at_least"),
    thresholds=Thresholds(
        0.03, 0.0, "A few millimetres more than hand and foam let it come out again without the glove (common practice, no source)."
    ),
    method="fit-hand",
    subjects=lambda creature: ["hand"],
    gather=_hand,
    find=_hand_find,
    work=_hand_work,
    say=_hand_say,
    example="hand",
    weight=0.9,
    name_first=True,
)  # fmt: skip
