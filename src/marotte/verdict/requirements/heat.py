"""<mechanism>.heat and skull.heat: windings over the part, and what their heat does to the air in the skull."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.drive import SUMS
from marotte.basis.contracts.finding import Grade
from marotte.basis.ticks import TICK_S
from marotte.basis.units import show
from marotte.creature.anatomy import PARTS
from marotte.creature.naming import named
from marotte.creature.schema.audience import Show
from marotte.creature.schema.base import Record
from marotte.creature.schema.build import Skull
from marotte.creature.schema.means import Servo
from marotte.creature.schema.servos import ServoClass
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.drive import servo_mechs, whys
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature, Mechanism
    from marotte.verdict.graph import Results

THROUGH_FUR: Final = 4.0
"""Heat that skin and fur let through [W/m2K] (from memory, a still room; not verified)."""
VENTED: Final = 2.0
"""Times as much with vents that air goes through (a rule of this project)."""
SETTLES_S: Final = 75.0 * 60.0
"""Time constant of a head's air and shell [s] (from memory; not verified)."""
HOT_C: Final = 50.0
"""Air in the skull at which servos, glue and a hand in it have had enough [degC] (common practice, no source)."""


def skull_watts(creature: Creature, results: Results) -> float | Unknown:
    """Return the mean heat [W] that the servos in the skull make over the part.

    What servos draw ends as heat in them and in what they rub on: over a part no work is left over.
    """
    if isinstance(results.response, Unknown):
        return results.response
    drives = results.response.worst.drives
    inside = []
    for mech in creature.mechs.values():
        inside += [drives.index(name) for name in mech.inputs if name in drives and _in_skull(creature, mech, name)]
    sums = results.response.sums
    seconds = float(sums[:, :, SUMS.index("ticks")].max(axis=1, initial=0.0).sum()) * TICK_S
    if not inside or seconds <= 0.0:
        return 0.0
    return float(sums[:, sorted(inside), SUMS.index("energy_j")].sum()) / seconds


def _in_skull(creature: Creature, mech: Mechanism, name: str) -> bool:
    """Whether a servo's heat goes into the skull: it is carried by it, or moves a part of a head that the shoulders carry."""
    means, function = creature.means[name], creature.functions[mech.outputs[0]]
    if not isinstance(means, Servo):
        return False
    if (means.carried_by or function.carried_by) == "skull":
        return True
    worn = means.carried_by is None and function.carried_by == "shoulders"
    return worn and PARTS[function.part].rides_on in ("head", "jaw", "ear")


@dataclass(frozen=True, slots=True)
class SkullArgs:
    """What skull.heat reads."""

    watts: float
    skull: Skull
    show: Show

    @property
    def through(self) -> float:
        """Heat flow [W/m2K]."""
        return THROUGH_FUR * (VENTED if self.skull.vents else 1.0)

    @property
    def settled(self) -> float:
        """Share of the final rise after one call."""
        return 1.0 - math.exp(-self.show.call_length / SETTLES_S)

    @property
    def rise(self) -> float:
        """Of the air in the skull at the end of a call [K]."""
        assert self.skull.fur_area is not None
        return self.watts / (self.through * self.skull.fur_area) * self.settled


def _gather_skull(creature: Creature, results: Results, about: str) -> SkullArgs | Unknown | NotClaimed:
    if not servo_mechs(creature):
        return NotClaimed(why="no servo sits in the skull")
    watts = skull_watts(creature, results)
    if isinstance(watts, Unknown):
        return watts
    skull = creature.build.skull
    if skull is None or skull.fur_area is None:
        return Unknown(why="the area under skin and fur is not written", wants=("/build/skull/fur_area",))
    return SkullArgs(watts, skull, creature.show)


def _find_skull(args: SkullArgs) -> Found:
    return Found(needed=Quantity(value=HOT_C - args.show.ambient, unit="K"), has=Quantity(value=args.rise, unit="K"))


def _work_skull(w: Writer, args: SkullArgs, found: Found) -> None:
    hot = w.rule("T_hot", "air in the skull that has had enough", HOT_C, "K", PRACTICE)
    ambient = w.given(args.show, "ambient", unit="K")
    w.need(w.worked("dT_max", "rise that is borne", f"{hot} - {ambient}", "K"))
    watts = w.read("P", "mean heat of the servos in the skull", "drive: sums.energy_j over the part", args.watts, "W")
    area = w.given(args.skull, "fur_area")
    through = w.rule("U_f", "heat that skin and fur let through", args.through, "W/m**2/K", "from memory, not verified")
    call = w.given(args.show, "call_length")
    tau = w.rule("tau_h", "time constant of a head", SETTLES_S, "s", "from memory, not verified")
    w.worked("dT", "rise at the end of a call", f"{watts}/({through}*{area})*(1 - exp(-{call}/{tau}))", "K")


def _say_skull(args: SkullArgs, found: Found, grade: Grade) -> Said:
    end = args.show.ambient + args.rise
    text = f"the air in the skull is at {show(end, 'degC', 2)} at the end of a call"
    more = f": {show(args.watts, 'W', 2)} of servos under {show(args.skull.fur_area or 0.0, 'm2')} of skin and fur"
    return Said(sentence=f"{text[0].upper()}{text[1:]}{more}.", clause=text)


SKULL_HEAT = Requirement(
    name="heat",
    number=2,
    asks="At the end of a call the air in the skull, warmed by the servos under skin and fur, is not too hot for them and for a hand.",
    unit="K",
    rule=Rule("at_most"),
    thresholds=Thresholds(
        0.25, 0.0,
        "Up to 50 degC in the skull, with a quarter of the rise in hand (common practice, no source). The heat that fur lets through and the time "
        "a head takes are from memory.",
    ),
    method="heat-in-the-skull",
    subjects=lambda creature: ["skull"] if servo_mechs(creature) else [],
    gather=_gather_skull,
    find=_find_skull,
    work=_work_skull,
    say=_say_skull,
    example="skull",
    weight=0.5,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Args:
    """What <mechanism>.heat reads."""

    name: str
    servo: ServoClass
    rise: float
    """Of the winding over the air round it [K]."""
    around: float
    """Rise of the air in the skull [K]; 0 where it is not known."""
    records: tuple[Record, ...]


def _gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
    missing = whys(creature, results, about)
    if missing is not None:
        return missing
    if isinstance(results.response, Unknown):
        return results.response
    drives = results.response.worst.drives
    rises = {
        name: float(results.response.heat[:, drives.index(name)].max(initial=0.0))
        for name in creature.mechs[about].inputs
    }
    name = max(rises, key=lambda key: (rises[key], key))
    means = creature.means[name]
    assert isinstance(means, Servo)
    mech = creature.mechs[about]
    skull = results.once("skull.heat", lambda: _gather_skull(creature, results, "skull"))
    around = skull.rise if isinstance(skull, SkullArgs) and _in_skull(creature, mech, name) else 0.0
    return Args(about, creature.servos[means.model], rises[name], around, (means,))


def _find(args: Args) -> Found:
    needed = Quantity(value=args.servo.winding_limit, unit="K")
    return Found(needed=needed, has=Quantity(value=args.rise + args.around, unit="K"))


def _work(w: Writer, args: Args, found: Found) -> None:
    w.need(w.given(args.servo, "winding_limit"))
    rise = w.read(
        "dT_w", "rise of the winding over the air round it", f"drive: heat[{args.name}], worst window", args.rise, "K"
    )
    around = w.read("dT", "rise of that air at the end of a call", "verdict: skull.heat", args.around, "K")
    w.worked("dT_all", "rise of the winding over the room", f"{rise} + {around}", "K")


def _say(args: Args, found: Found, grade: Grade) -> Said:
    text = f"the winding in the servo of the {named(args.name)} gets {show(args.rise + args.around, 'K', 2)} hotter than the room"
    return Said(
        sentence=f"{text[0].upper()}{text[1:]}, of {show(args.servo.winding_limit, 'K')} that it bears.", clause=text
    )


HEAT = Requirement(
    name="heat",
    number=2,
    asks="Over the part the winding of the servo stays under the rise that it bears, the warmth of the skull's air included.",
    unit="K",
    rule=Rule("at_most"),
    thresholds=Thresholds(
        0.3, 0.0, "With 30 % of the rise in hand: takes follow one another, and the second starts warm (common practice, no source)."
    ),
    method="heat-in-the-skull",
    subjects=servo_mechs,
    gather=_gather,
    find=_find,
    work=_work,
    say=_say,
    weight=0.7,
)  # fmt: skip
