"""fit.bundle: whether the cables that come into the head go through the bore of its neck."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.fit import NeckCable, NeckFit
from marotte.basis.units import show
from marotte.creature.naming import named
from marotte.creature.schema.build import Build
from marotte.mech.fit.neck import FEW, PACKING
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results


@dataclass(frozen=True, slots=True)
class Args:
    """What fit.bundle reads."""

    neck: NeckFit
    build: Build

    @property
    def bore(self) -> float:
        """Of the neck [m]."""
        bore = self.build.neck_bore
        assert bore is not None  # asked before
        return bore


def _gather(creature: Creature, results: Results, about: str) -> Args | NotClaimed:
    found = results.fitted.neck
    if found is None:
        return NotClaimed(why="no cable runs through a neck that moves")
    if creature.build.neck_bore is None:
        count = len(found.cables)
        cables = f"{count} cable{'s' if count > 1 else ''} through the neck, a bundle of {show(found.bundle, 'm', 2)}"
        return NotClaimed(why=f"{cables}; build > neck_bore is not written", has=Quantity(value=found.bundle, unit="m"))
    return Args(found, creature.build)


def _find(args: Args) -> Found:
    refs = {cable.ref for cable in args.neck.cables} | {args.build.ref("neck_bore")}
    return Found(
        needed=Quantity(value=args.neck.bundle, unit="m"), has=Quantity(value=args.bore, unit="m"),
        rests_on=frozenset(ref for ref in refs if not ref.startswith("default:")),
    )  # fmt: skip


def _work(w: Writer, args: Args, found: Found) -> None:
    w.need(laid_together(w, args.neck))
    w.given(args.build, "neck_bore")


def laid_together(w: Writer, neck: NeckFit) -> str:
    """Write how housings laid together come to the diameter of their bundle, and return its symbol."""
    sizes: dict[float, list[NeckCable]] = {}
    for cable in sorted(neck.cables, key=lambda cable: -cable.outer):
        sizes.setdefault(cable.outer, []).append(cable)
    symbols = {}
    for outer, cables in sizes.items():
        names = ", ".join(dict.fromkeys(named(cable.name) for cable in cables))
        symbols[outer] = w.read("d", f"outside of the housing of: {names}", f"its liner, {cables[0].ref}", outer, "m")
    count = len(neck.cables)
    pair = " + ".join([symbols[outer] for outer, cables in sizes.items() for _ in cables][:2])
    if count < 3:
        return w.worked("D", "housings side by side" if count == 2 else "the housing", pair, "m")
    squares = " + ".join(f"{len(cables)}*{symbols[outer]}**2" for outer, cables in sizes.items())
    if count in FEW:
        circle = w.rule(
            "K", f"smallest circle round {count} equal ones of diameter 1", FEW[count], "1", "known optimal packings"
        )
        laid = f"{circle}*sqrt(({squares})/{count})"
    else:
        share = w.rule("k_p", "share of a round bundle that is filled", PACKING, "1", PRACTICE)
        laid = f"sqrt(({squares})/{share})"
    return w.worked("D", f"{count} housings laid together, no less than the two thickest", f"max({laid}, {pair})", "m")


def _say(args: Args, found: Found, grade: Grade) -> Said:
    count = len(args.neck.cables)
    goes, does = ("go", "do") if count > 1 else ("goes", "does")
    verb = goes if grade in ("performs", "only_just") else f"{does} not go"
    text = f"the {f'{count} cables' if count > 1 else 'cable'} into the head {verb} through the neck"
    text += f": a bundle of {show(args.neck.bundle, 'm', 2)}, a bore of {show(args.bore, 'm', 2)}"
    left = 1.0 - (args.neck.bundle / args.bore) ** 2
    more = f"; {100.0 * left:.0f} % of the bore is left for a loom, and to slide past each other" if left > 0.0 else ""
    return Said(sentence=f"{text[0].upper()}{text[1:]}{more}.", clause=text)


BUNDLE = Requirement(
    name="fit",
    number=1,
    asks="The cables that come into the head go through the bore of its neck, with room to slide.",
    unit="m",
    rule=Rule("at_least"),
    thresholds=Thresholds(
        0.3, 0.0, "Housings that fill their bore bind when the head turns: a third more than the bundle lets them slide (common practice, no source)."
    ),
    method="fit-neck",
    subjects=lambda creature: ["bundle"],
    gather=_gather,
    find=_find,
    work=_work,
    say=_say,
    example="bundle",
    weight=0.5,
    name_first=True,
)  # fmt: skip
