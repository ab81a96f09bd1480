"""<lid>.clearance: room between a lid's shell and its eye, for paint and lid skin."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
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


@dataclass(frozen=True, slots=True)
class Args:
    """What the requirement reads."""

    name: str
    shell: Shell
    eye: Eye


def _subjects(creature: Creature) -> list[str]:
    return [name for name, function in creature.functions.items() if function.part in ("lid_upper", "lid_lower")]


def _gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
    function = creature.functions[about]
    if function.load.shell is None:
        return NotClaimed(why=f"no shell is written for the {named(about)}")
    if creature.build.eye is None:
        return Unknown(why="no eye is written under build", wants=("/build/eye",))
    return Args(about, function.load.shell, creature.build.eye)


def _find(args: Args) -> Found:
    room = args.shell.inner - 0.5 * args.eye.diameter
    return Found(needed=Quantity(value=ROOM, unit="m"), has=Quantity(value=room, unit="m"))


def _work(w: Writer, args: Args, found: Found) -> None:
    w.need(w.rule("c_min", "least room between shell and eye", ROOM, "m", PRACTICE))
    inner, eye = w.given(args.shell, "inner"), w.given(args.eye, "diameter")
    w.worked("c", "room between shell and eye", f"{inner} - {eye}/2", "m")


def _say(args: Args, found: Found, grade: Grade) -> Said:
    assert isinstance(found.has, Quantity)
    name = named(args.name)
    if found.has.value < 0.0:
        text = f"the {name}'s shell is {show(-found.has.value, 'm', 2)} too small for its eye"
        return Said(sentence=f"{text[0].upper()}{text[1:]}.", clause=text)
    text = f"the {name} clears its eye by {show(found.has.value, 'm', 2)}"
    return Said(sentence=f"{text[0].upper()}{text[1:]}; paint and lid skin want {show(ROOM, 'm')}.", clause=text)


CLEARANCE = Requirement(
    name="clearance",
    number=1,
    asks="Between a lid's shell and its eye there is room for paint and lid skin, over the whole blink (both turn about the same centre).",
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
