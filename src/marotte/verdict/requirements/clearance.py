"""<lid>.clearance: room between a lid's shell and its eye, for paint and lid skin."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.ticks import clock
from marotte.basis.units import show
from marotte.creature.naming import named
from marotte.creature.schema.build import Eye
from marotte.creature.schema.functions import Shell
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

ROOM: Final = 0.4e-3
"""Least room between shell and eye [m]: 0.4 to 0.8 mm for paint and lid skin (common practice, no source)."""
PRESS: Final = 0.5e-3
"""How far two lids' edges may be asked into each other [m]: their skin gives (common practice, no source)."""
OTHER: Final = {"lid_upper": "lid_lower", "lid_lower": "lid_upper"}


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two lids of one eye where they come nearest to each other."""

    other: str
    shell: Shell
    own_at: float
    """Position of this lid [rad]."""
    other_at: float
    tick: int | None
    """Of the part; None where no part asks anything and the ends of both travels are taken."""


@dataclass(frozen=True, slots=True)
class Args:
    """What the requirement reads."""

    name: str
    shell: Shell
    eye: Eye
    meeting: Meeting | None

    @property
    def gap(self) -> float | None:
        """Least room between the lids' edges, along the shell [m]; below zero they are asked into each other."""
        if self.meeting is None or self.shell.edge is None or self.meeting.shell.edge is None:
            return None
        open_rad = self.shell.edge + self.meeting.shell.edge - self.meeting.own_at - self.meeting.other_at
        return open_rad * (self.shell.inner + self.shell.thickness)

    @property
    def nested(self) -> float | None:
        """Room between the two shells where one slides under the other [m]; below zero their edges meet instead."""
        if self.meeting is None:
            return None
        shells = sorted((self.shell, self.meeting.shell), key=lambda shell: shell.inner)
        return shells[1].inner - shells[0].inner - shells[0].thickness

    @property
    def strikes(self) -> bool:
        """Whether the lids are asked into each other."""
        if self.gap is None or self.nested is None:
            return False
        return self.gap < -PRESS and self.nested < ROOM


def _subjects(creature: Creature) -> list[str]:
    return [name for name, function in creature.functions.items() if function.part in OTHER]


def _gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
    function = creature.functions[about]
    if function.load.shell is None:
        return NotClaimed(why=f"no shell is written for the {named(about)}")
    if creature.build.eye is None:
        return Unknown(why="no eye is written under build", wants=("/build/eye",))
    return Args(about, function.load.shell, creature.build.eye, _meeting(creature, results, about))


def _meeting(creature: Creature, results: Results, about: str) -> Meeting | None:
    own = creature.functions[about]
    for name, function in creature.functions.items():
        if function.part != OTHER[own.part] or function.side != own.side or function.load.shell is None:
            continue
        demand = results.demand
        if isinstance(demand, Unknown) or not {about, name} <= set(demand.motion.names):
            return Meeting(name, function.load.shell, own.travel[1], function.travel[1], None)
        rows = [demand.motion.row(lid) for lid in (about, name)]
        k = int(np.argmax(rows[0] + rows[1]))
        return Meeting(name, function.load.shell, float(rows[0][k]), float(rows[1][k]), results.tick_of(k))
    return None


def _find(args: Args) -> Found:
    room = args.shell.inner - 0.5 * args.eye.diameter
    strikes = args.strikes and args.meeting is not None
    return Found(
        needed=Quantity(value=ROOM, unit="m"), has=Quantity(value=room, unit="m"), passed=False if strikes else None,
        at=args.meeting.tick if strikes and args.meeting is not None else None,
    )  # fmt: skip


def _work(w: Writer, args: Args, found: Found) -> None:
    w.need(w.rule("c_min", "least room between shell and eye", ROOM, "m", PRACTICE))
    inner = w.given(args.shell, "inner")
    if args.meeting is not None and args.gap is not None:
        meeting = args.meeting
        own, other = w.given(args.shell, "edge"), w.given(meeting.shell, "edge")
        where = f"script: asked at {clock(meeting.tick)}" if meeting.tick is not None else "the ends of both travels"
        this = w.read("q", "position of this lid where both are shut most", where, meeting.own_at, "rad")
        that = w.read("q_o", f"position of the {named(meeting.other)} there", where, meeting.other_at, "rad")
        thick = w.given(args.shell, "thickness")
        w.worked(
            "g", "room between the lids' edges there", f"({own} + {other} - {this} - {that})*({inner} + {thick})", "m"
        )
    eye = w.given(args.eye, "diameter")
    w.worked("c", "room between shell and eye", f"{inner} - {eye}/2", "m")


def _say(args: Args, found: Found, grade: Grade) -> Said:
    assert isinstance(found.has, Quantity)
    name = named(args.name)
    if args.strikes and args.meeting is not None and args.gap is not None:
        text = f"the {name} and the {named(args.meeting.other)} are asked {show(-args.gap, 'm', 2)} into each other"
        when = f" at {clock(args.meeting.tick)}" if args.meeting.tick is not None else ""
        return Said(
            sentence=f"{text[0].upper()}{text[1:]}{when}: let one slide under the other, or stop one earlier.",
            clause=text,
        )
    if found.has.value < 0.0:
        text = f"the {name}'s shell is {show(-found.has.value, 'm', 2)} too small for its eye"
        return Said(sentence=f"{text[0].upper()}{text[1:]}.", clause=text)
    text = f"the {name} clears its eye by {show(found.has.value, 'm', 2)}"
    sentence = f"{text[0].upper()}{text[1:]}; paint and lid skin want {show(ROOM, 'm')}{_met(args)}."
    return Said(sentence=sentence, clause=text)


def _met(args: Args) -> str:
    """Return how near the other lid comes: with a leading semicolon, or nothing where there is no other."""
    if args.meeting is None:
        return ""
    if args.gap is None:
        return "; where the lids' edges stand is not written (shell > edge), so whether they press on each other is not known"
    if args.nested is not None and args.nested >= ROOM:
        return f"; the lids slide one under the other with {show(args.nested, 'm', 2)} between them"
    if args.gap > PRESS:
        return f"; {show(args.gap, 'm', 2)} stay open between the lids where they are shut most"
    return "; the lids meet"


CLEARANCE = Requirement(
    name="clearance",
    number=2,
    asks="Between a lid's shell and its eye there is room for paint and lid skin, over the whole blink (both turn about the same centre), "
    "and two lids are not asked into each other.",
    unit="m",
    rule=Rule("at_least"),
    thresholds=Thresholds(
        0.0, -0.25, "0.4 to 0.8 mm for paint and lid skin; 0.3 mm goes with care (common practice, no source)."
    ),
    method="clearance",
    subjects=_subjects,
    gather=_gather,
    find=_find,
    work=_work,
    say=_say,
    local=True,
    example="lid_upper_left",
    weight=0.6,
)
