"""power.startup: what is drawn in the moment in which power comes on and every servo runs to its place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.units import show
from marotte.creature.schema.supply import Cells, Link, Mains, Regulator
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.drive import servo_mechs
from marotte.verdict.requirements.power import NO_SERVOS
from marotte.verdict.workings import Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results


@dataclass(frozen=True, slots=True)
class Startup:
    """All servos that come on behind one limit."""

    where: str
    source: Mains | Cells | Regulator
    limit: float
    link: Link
    together: float
    """Sum of stall currents [A]."""
    largest: float
    """Of one servo [A]."""
    count: int

    @property
    def amps(self) -> float:
        """What is drawn in the first moment [A]."""
        return self.together if self.link.start == "together" else self.largest


def _gather_startup(creature: Creature, results: Results, about: str) -> Startup | Unknown | NotClaimed:
    if not servo_mechs(creature):
        return NotClaimed(why=NO_SERVOS)
    supply = creature.supply
    if supply is None:
        return NotClaimed(why="no supply is written")
    model = results.model
    found: list[Startup] = []
    for k, row in enumerate(model.leads):
        lead = supply.leads.get(row.name)
        source = lead.regulator if lead is not None else supply.battery if k == 0 else None
        if source is None or source.limit is None:
            continue
        below = [drive for drive in model.drives if _hangs_on(results, drive.lead, k)]
        stalls = [drive.count * drive.motor.stall_current_a for drive in below]
        if stalls:
            found.append(Startup(row.name, source, source.limit, supply.link, sum(stalls), max(stalls), len(stalls)))
    if not found:
        return Unknown(why="no current limit is written for the supply", wants=("/supply/battery/limit",))
    return max(found, key=lambda item: (item.amps / item.limit, item.where))


def _hangs_on(results: Results, lead: int, root: int) -> bool:
    at = lead
    while at >= 0:
        if at == root:
            return True
        at = results.model.leads[at].parent
    return False


def _find_startup(args: Startup) -> Found:
    return Found(
        needed=Quantity(value=args.limit, unit="A"), has=Quantity(value=args.amps, unit="A"), rests_on=args.link.refs()
    )


def _work_startup(w: Writer, args: Startup, found: Found) -> None:
    w.need(w.given(args.source, "limit"))
    w.read("n", "servos behind this limit", "counted in the file", args.count, "1")
    if args.link.start == "together":
        w.read(
            "I_all",
            "sum of their stall currents: all start at once",
            f"drive: motors behind {args.where}",
            args.together,
            "A",
        )
    else:
        w.read(
            "I_one",
            "stall current of the largest: they start one after another",
            f"drive: motors behind {args.where}",
            args.largest,
            "A",
        )


def _say_startup(args: Startup, found: Found, grade: Grade) -> Said:
    where = "the supply" if args.where == "battery" else f"the regulator of {args.where}"
    how = "all servos jump at once" if args.link.start == "together" else "servos start one after another"
    text = f"at power-up {where} is asked for {show(args.amps, 'A')} of {show(args.limit, 'A')}"
    return Said(sentence=f"{text[0].upper()}{text[1:]}: {how}.", clause=text)


STARTUP = Requirement(
    name="startup",
    number=1,
    asks="When power comes on and every servo runs to its place, the supply does not fold.",
    unit="A",
    rule=Rule("at_most"),
    thresholds=Thresholds(
        0.25, 0.0, "Stall currents of all that start in the same moment, with a quarter in hand (common practice, no source)."
    ),
    method="power",
    subjects=lambda creature: ["power"],
    gather=_gather_startup,
    find=_find_startup,
    work=_work_startup,
    say=_say_startup,
    example="power",
    weight=0.6,
)  # fmt: skip
