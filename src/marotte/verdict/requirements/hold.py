"""<mechanism>.hold: what holding still takes of the servo, at neutral and in every mood, as a share of its real stall."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.given import Ref
from marotte.basis.units import show
from marotte.creature.naming import named
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.drive import rests, servo_mechs, whys
from marotte.verdict.requirements.force import TABLES, write_torque
from marotte.verdict.requirements.motor import Pull, pulled, write_stall
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

MOST = 0.30
"""Share of the real stall torque that may be held for long (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Args:
    """What the requirement reads."""

    pull: Pull
    pose: str
    rests_on: frozenset[Ref]


def _gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
    missing = whys(creature, results, about)
    if missing is not None:
        return missing
    held = results.held[about]
    if isinstance(held, Unknown):
        return held
    places = [(pose, i) for pose in range(len(held)) for i in range(len(held[pose]))]
    pose, index = max(
        places, key=lambda place: (held[place[0]][place[1]].torque / held[place[0]][place[1]].has, -place[0], -place[1])
    )
    name = results.poses[about][pose]
    where = "neutral" if name == "neutral" else f"the mood {name}"
    return Args(pulled(creature, results, about, held[pose][index], index, where), where, rests(results, about))


def _find(args: Args) -> Found:
    share = args.pull.point.torque / args.pull.stall_nm
    return Found(
        needed=Quantity(value=MOST, unit="1", percent=True),
        has=Quantity(value=share, unit="1", percent=True),
        agrees=TABLES,
        rests_on=args.rests_on,
    )


def _work(w: Writer, args: Args, found: Found) -> None:
    w.need(w.rule("s_max", "share of stall that may be held for long", MOST, "1", PRACTICE))
    wanted = write_torque(w, args.pull)
    stall = write_stall(w, args.pull)
    w.worked("s_hold", "share of the real stall torque", f"{wanted}/{stall}", "1")


def _say(args: Args, found: Found, grade: Grade) -> Said:
    name, share = named(args.pull.name), args.pull.point.torque / args.pull.stall_nm
    text = f"holding the {name} at {args.pose} takes {show(share, '%', 2)} of its servo's real stall torque"
    tail = "" if grade == "performs" else ": it hums, draws current and gets hot in every silence"
    return Said(sentence=f"{text[0].upper()}{text[1:]}{tail}.", clause=text)


HOLD = Requirement(
        name="hold",
        number=1,
        asks="Held still at neutral and in every mood, at the worst attitude, the servo gives a small share of its real stall torque.",
        unit="1",
        rule=Rule("at_most"),
        thresholds=Thresholds(
            0.0, -2.0 / 3.0,
            "Under 30 % of stall a servo holds all day; to 50 % it holds for a take and hums; beyond that it cooks (common "
            "practice, no source).",
        ),
        method="operating-point",
        subjects=servo_mechs,
        gather=_gather,
        find=_find,
        work=_work,
        say=_say,
    local=True,
        weight=0.7,
)  # fmt: skip
