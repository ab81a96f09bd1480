"""fit.skull, fit.room, fit.access, fit.hand, fit.neck: whether it goes in, comes out, takes the hand and lets the cables through."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.fit import Access, Fit, HandFit, NeckCable, NeckFit, WayOut
from marotte.basis.units import show
from marotte.creature.naming import named, of_all
from marotte.creature.schema.base import Only, Record
from marotte.creature.schema.build import Skull
from marotte.creature.schema.means import Servo
from marotte.mech.fit.fit import CLEAR, how_placed
from marotte.mech.fit.hand import SURVEY
from marotte.mech.fit.neck import BEND_LENGTH, ROPE_SHARE, STEEL
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

LOST_SHARE: Final = 0.05
"""Share of a cable's stroke that a move of the head may take (a rule of this project)."""
FAR_OFF: Final = 0.01
"""Distance [m] from where a linkage wants its servo that a longer rod no longer makes good (a rule of this project)."""
SURVEY_SAID: Final = "of the open survey ANSUR II, a military population"
OTHERS_OUT: Final = 2
"""Other servos that may have to come out first (common practice, no source)."""


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
        whole = _whole(found)
        why = (
            f"no free place was found for {of_all(len(found.unplaced), whole, 'servo', 'servos')} ({lost}), which proves nothing yet: write their "
            f"boxes, move some out of the head, or make the skull larger"
        )
        return Unknown(why=why, wants=("/build/skull/shape",))
    return SkullArgs(found, ())


def _whole(found: Fit) -> int:
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
    proposed = of_all(counts["proposed"], _whole(args.fit), "servo", "servos")
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
        count = of_all(len(proposed), _whole(fit) if isinstance(fit, Fit) else args.count, "servo", "servos")
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


@dataclass(frozen=True, slots=True)
class NeckArgs:
    """What fit.neck reads."""

    neck: NeckFit

    @property
    def worst(self) -> int:
        """The cable that loses the largest share."""
        cables = self.neck.cables
        return max(range(len(cables)), key=lambda k: (cables[k].clearance / cables[k].stroke, -k))


def _neck(creature: Creature, results: Results, about: str) -> NeckArgs | NotClaimed:
    found = results.fitted.neck
    return NotClaimed(why="no cable runs through a neck that moves") if found is None else NeckArgs(found)


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
