"""power.spares: whether the packs in the box last for the calls of the day."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.units import show
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.power import Minutes, gather_minutes
from marotte.verdict.workings import Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results


@dataclass(frozen=True, slots=True)
class Args:
    """What the requirement reads."""

    pack: Minutes

    @property
    def packs(self) -> int:
        """Charged packs: the one in use and the spares."""
        return 1 + self.pack.pack.spares

    @property
    def needed(self) -> int:
        """Packs that the day empties, swapped between calls where one lasts a call, and within a call where it does not."""
        call, lasts = self.pack.show.call_length, self.pack.lasts
        calls = self.pack.show.calls
        if lasts >= call:
            return math.ceil(calls / math.floor(lasts / call))
        return calls * math.ceil(call / lasts)


def _gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
    found = gather_minutes(creature, results, about)
    return Args(found) if isinstance(found, Minutes) else found


def _find(args: Args) -> Found:
    return Found(
        needed=Quantity(value=float(args.needed), unit="1"), has=Quantity(value=float(args.packs), unit="1"),
        rests_on=args.pack.pack.refs(),
    )  # fmt: skip


def _work(w: Writer, args: Args, found: Found) -> None:
    pack, day = args.pack.pack, args.pack.show
    charge, usable = w.given(pack, "capacity"), w.given(pack, "usable")
    mean = w.read("I_mean", "mean current of the part", "drive: rails.mean_a", args.pack.mean_a, "A")
    w.worked("t_pack", "time that one pack lasts", f"{charge}*{usable}/{mean}", "s")
    w.given(day, "call_length")
    w.read("n_calls", "calls in the day", day.ref("calls"), day.calls, "1")
    w.need(
        w.read(
            "n_need", "packs that the day empties: whole calls to a pack, or whole packs to a call",
            "counted from the three above", args.needed, "1",
        )
    )  # fmt: skip
    w.read("n_packs", "packs charged: one in use and the spares", pack.ref("spares"), args.packs, "1")


def _say(args: Args, found: Found, grade: Grade) -> Said:
    day = args.pack.show
    calls = f"{day.calls} calls" if day.calls > 1 else "one call"
    packs = f"{args.needed} packs" if args.needed > 1 else "one pack"
    have = f"{args.packs} packs" if args.packs > 1 else "one pack"
    text = (
        f"the day of {calls} of {show(day.call_length, 's')} wants {packs}, charged before it, and {have} are written"
    )
    if args.packs == 1:
        text = text.replace("are written", "is written")
    return Said(sentence=f"{text[0].upper()}{text[1:]}.", clause=text)


SPARES = Requirement(
    name="spares",
    number=1,
    asks="The packs charged before the day last for all its calls, without charging in between.",
    unit="1",
    rule=Rule("at_least", scale=1.0),
    thresholds=Thresholds(
        1.0, 0.0, "One pack more than the day empties: a pack fails, or a call runs long (common practice, no source)."
    ),
    method="power",
    subjects=lambda creature: ["power"],
    gather=_gather,
    find=_find,
    work=_work,
    say=_say,
    example="power",
    weight=0.5,
)  # fmt: skip
