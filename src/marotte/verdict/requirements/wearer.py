"""fit.wearer: whether the head of who wears a creature goes into its head, with padding."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.fit import WearerFit
from marotte.basis.frames import Vec
from marotte.basis.given import Ref
from marotte.basis.units import show
from marotte.creature.schema.base import Only
from marotte.creature.schema.build import Skull
from marotte.mech.fit.hand import SURVEY
from marotte.mech.fit.wearer import WEARER, wearer_of
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.hand import SURVEY_SAID, goes_in, nineteen
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results


@dataclass(frozen=True, slots=True)
class Args:
    """What fit.wearer reads: the head, and the direction in which it is tighter."""

    wearer: WearerFit
    measured: Only
    """The measures of that person themselves."""
    across: bool
    """Whether from side to side is tighter than from front to back."""
    skull: Skull
    at: Vec
    """Middle of the wearer's head [m]."""

    @property
    def own(self) -> tuple[float, str, float, Ref]:
        """Its size [m] in that direction, where that comes from, its spread [m], and where it is written."""
        w = self.wearer
        return (
            (w.breadth, w.breadth_from, w.breadth_spread, w.breadth_ref)
            if self.across
            else (w.length, w.length_from, w.length_spread, w.length_ref)
        )

    @property
    def inside(self) -> float:
        """Room inside in that direction [m]."""
        return self.wearer.inner_width if self.across else self.wearer.inner_depth

    @property
    def wants(self) -> float:
        """Room that it wants in that direction [m]."""
        return self.own[0] + 2.0 * self.wearer.pad


def _gather(creature: Creature, results: Results, about: str) -> Args | NotClaimed:
    found = results.fitted.wearer
    if found is not None:
        own = Only(creature.performers[found.performer], ("head_breadth", "head_length"))
        skull = creature.build.skull
        assert skull is not None  # without one nothing was found
        across, along = (Args(found, own, side, skull, creature.points[WEARER]) for side in (True, False))
        return across if across.inside / across.wants <= along.inside / along.wants else along
    if wearer_of(creature.performers) is None:
        return NotClaimed(why="no one is in it")
    if WEARER in creature.points:
        return NotClaimed(why="no skull is written under build that a head could go into")
    return NotClaimed(
        why=f"where the wearer's head sits is not written: a point {WEARER} under build > points, its middle"
    )


def _find(args: Args) -> Found:
    return Found(
        needed=Quantity(value=args.wants, unit="m"), has=Quantity(value=args.inside, unit="m"),
        rests_on=frozenset({args.own[3], "/build/skull/shape", f"/build/points/{WEARER}"}),
    )  # fmt: skip


def _work(w: Writer, args: Args, found: Found) -> None:
    size, where, half, ref = args.own
    meaning = "breadth of the head" if args.across else "length of the head, brow to back"
    if where == "written":
        own = w.given(args.measured.record, "head_breadth" if args.across else "head_length", symbol="b_k")
    else:
        own = w.surveyed("b_k", meaning, size, "m", where, ref, half)
    pad = w.rule("t_p", "padding on each side", args.wearer.pad, "m", PRACTICE)
    w.need(w.worked("b", "room that it wants", f"{own} + 2*{pad}", "m"))
    _room(w, args)


def _room(w: Writer, args: Args) -> None:
    """Write the room in the working: of an ellipsoid by its equation, of a mesh as measured."""
    sides = "sides" if args.across else "front and back"
    if args.skull.mesh is not None or args.skull.shape is None or args.inside <= 0.0:
        where = "mech: fit, at the middle of the wearer's head"
        w.read("w", f"twice the shorter way to the shell's {sides}", where, args.inside, "m")
        return
    names = ("x", "y", "z")
    half, off = [], []
    for k, axis in enumerate(names):
        symbol, word = (("w", "width"), ("h", "height"), ("d", "depth"))[k]
        whole = w.given(args.skull, "shape", k, symbol=symbol, meaning=f"inner {word}")
        half.append(f"({whole}/2)")
        middle = w.read(f"c_{axis}", f"middle of the skull, {axis}", "/build/skull/centre", args.skull.centre[k], "m")
        place = w.read(f"p_{axis}", f"middle of the wearer's head, {axis}", f"/build/points/{WEARER}", args.at[k], "m")
        off.append(f"({place} - {middle})")
    own = 0 if args.across else 2
    rest = " - ".join(f"({off[k]}/{half[k]})**2" for k in range(3) if k != own)
    formula = f"2*({half[own]}*sqrt(1 - {rest}) - abs{off[own]})"
    w.worked("b_i", f"twice the shorter way to the shell's {sides}, an ellipsoid", formula, "m")


def _say(args: Args, found: Found, grade: Grade) -> Said:
    size, where, spread, _ = args.own
    verb = goes_in(grade)
    way = "across" if args.across else "from front to back"
    text = (
        f"the head of the performer {args.wearer.performer} {verb} the creature's: with padding it wants {show(args.wants, 'm')} {way}, "
        f"where it sits there are {show(args.inside, 'm')}"
    )
    if args.inside <= 0.0:
        text = f"the middle of the head of the performer {args.wearer.performer} lies outside the skull (build > points > {WEARER})"
    own = f"{'breadth' if args.across else 'length'} {show(size, 'm')}"
    own += (
        " as written"
        if where == "written"
        else f", the {where.replace(SURVEY, SURVEY_SAID)}; {nineteen(where)} heads lie within {show(spread, 'm', 2)} of it"
    )
    return Said(sentence=f"{text[0].upper()}{text[1:]} ({own}).", clause=text)


WEARER_HEAD = Requirement(
    name="fit",
    number=2,
    asks="The wearer's head goes into the creature's head, with padding all round.",
    unit="m",
    rule=Rule("at_least"),
    thresholds=Thresholds(
        0.1, 0.0, "Ears, spectacles, a cap under the harness and air want a tenth more than head and padding (common practice, no source)."
    ),
    method="fit-wearer",
    subjects=lambda creature: ["wearer"],
    gather=_gather,
    find=_find,
    work=_work,
    say=_say,
    example="wearer",
    weight=0.9,
    name_first=True,
)  # fmt: skip
