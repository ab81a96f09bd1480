"""fit.room: how full the skull is, with the room that brackets, horns and rods want round every servo."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.fit import Fit
from marotte.creature.schema.build import Eye, Skull
from marotte.creature.schema.means import Servo
from marotte.creature.schema.servos import ServoClass
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

SERVO_ROOM: Final = 3.0
"""Room of a servo with bracket, horn swing and rod over its case (common practice, no source)."""
EYE_ROOM: Final = 5.0
"""Room of an eye with lids, pivots and rods over its ball: a rule of this project."""
BOARDS: Final = 20e-6
"""Boards [m3]: a rule of this project."""
LOOM: Final = 5e-6
"""Loom and plugs of one servo [m3]: a rule of this project."""
OURS: Final = "a rule of this project"


@dataclass(frozen=True, slots=True)
class Args:
    """What the requirement reads."""

    skull: Skull
    volume: float
    servos: tuple[tuple[str, ServoClass, int], ...]
    """(model, its record, how many sit in the skull)."""
    eye: Eye | None
    mouth: float
    """Room of the mouth or of the hand in it [m3]."""
    mouth_is: str
    worn: float
    """Room of a wearer's head in the skull [m3]."""

    @property
    def count(self) -> int:
        """Servos in the skull."""
        return sum(count for _, _, count in self.servos)

    @property
    def filled(self) -> float:
        """Room wanted over room there."""
        room = sum(SERVO_ROOM * count * math.prod(servo.body) for _, servo, count in self.servos)
        room += 2.0 * EYE_ROOM * math.pi / 6.0 * self.eye.diameter**3 if self.eye is not None else 0.0
        return (room + self.mouth + self.worn + BOARDS + LOOM * self.count) / self.volume


def _gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
    found = results.fitted.fit
    if isinstance(found, Unknown):
        has_servo = any(isinstance(means, Servo) for means in creature.means.values())
        return found if has_servo else NotClaimed(why="no servo, so nothing has to fit into the skull")
    inside = _inside(creature, found)
    if not inside:
        return NotClaimed(why="no servo sits in the skull")
    skull = creature.build.skull
    assert skull is not None
    soft = next((item for item in found.placed if item.kind in ("mouth", "hand")), None)
    room = math.prod(soft.sides) if soft is not None else 0.0
    return Args(
        skull, found.volume, inside, creature.build.eye, room, soft.kind if soft is not None else "mouth", found.worn
    )


def _inside(creature: Creature, found: Fit) -> tuple[tuple[str, ServoClass, int], ...]:
    counts: dict[str, int] = {}
    for name in (*(item.of for item in found.placed if item.kind == "servo"), *found.unplaced):
        means = creature.means[name]
        assert isinstance(means, Servo)
        counts[means.model] = counts.get(means.model, 0) + means.count
    return tuple((model, creature.servos[model], counts[model]) for model in sorted(counts))


def _find(args: Args) -> Found:
    return Found(
        needed=Quantity(value=1.0, unit="1", percent=True),
        has=Quantity(value=args.filled, unit="1", percent=True),
    )


def _work(w: Writer, args: Args, found: Found) -> None:
    w.need(w.rule("k_max", "all of the skull", 1.0, "1", "no more goes in"))
    factor = w.rule("k_s", "room of a servo over its case", SERVO_ROOM, "1", PRACTICE)
    terms = []
    for model, servo, count in args.servos:
        sides = [
            w.given(servo, "body", k, symbol="b", meaning=f"{model}, {word}")
            for k, word in enumerate(("length", "width", "height"))
        ]
        many = w.read("n", f"how many {model}", "counted in the file", count, "1")
        terms.append(w.worked("V_s", f"{model}, with room", f"{factor}*{many}*{'*'.join(sides)}", "m^3"))
    if args.eye is not None:
        ball = w.given(args.eye, "diameter")
        over = w.rule("k_e", "room of an eye over its ball", EYE_ROOM, "1", OURS)
        terms.append(w.worked("V_e", "both eyes, with room", f"2*{over}*pi/6*{ball}**3", "m^3"))
    if args.mouth > 0.0:
        terms.append(w.read("V_m", f"room of the {args.mouth_is}", "mech: fit", args.mouth, "m^3"))
    if args.worn > 0.0:
        terms.append(
            w.read("V_w", "the wearer's head with its padding, in the skull", "mech: fit, counted", args.worn, "m^3")
        )
    boards = w.rule("V_b", "boards", BOARDS, "m^3", OURS)
    loom = w.rule("V_l", "loom of one servo", LOOM, "m^3", OURS)
    total = w.read("n_all", "servos in the skull", "counted in the file", args.count, "1")
    terms.append(w.worked("V_bl", "boards and loom", f"{boards} + {total}*{loom}", "m^3"))
    if args.skull.mesh is None and args.skull.shape is not None:
        axes = (("w", "width"), ("h", "height"), ("d", "depth"))
        width, height, depth = (
            w.given(args.skull, "shape", k, symbol=s, meaning=f"inner {word}") for k, (s, word) in enumerate(axes)
        )
        room = w.worked("V", "inside of the skull, an ellipsoid", f"pi/6*{width}*{height}*{depth}", "m^3")
    else:
        room = w.read("V", "inside of the skull", "mech: fit, its mesh", args.volume, "m^3")
    w.worked("k", "how full the skull is", f"({' + '.join(terms)})/{room}", "1")


def _say(args: Args, found: Found, grade: Grade) -> Said:
    bodies = sum(count * math.prod(servo.body) for _, servo, count in args.servos)
    text = f"the skull is {100.0 * args.filled:.0f} % full"
    litres = f"{1e3 * args.filled * args.volume:.2f} of {1e3 * args.volume:.2f} L"
    how = f"{args.count} {'servo' if args.count == 1 else 'servos'} ({1e3 * bodies:.2f} L of cases, three times that with brackets, horns and rods)"
    rest = " the eyes," if args.eye is not None else ""
    rest += f" the {args.mouth_is}," if args.mouth > 0.0 else ""
    rest += " the wearer's head," if args.worn > 0.0 else ""
    return Said(
        sentence=f"{text[0].upper()}{text[1:]}: {litres} for {how},{rest} boards and loom.", clause=f"{text} ({litres})"
    )


ROOM = Requirement(
    name="fit",
    number=1,
    asks="Servos with the room that they want, eyes, mouth or hand, a wearer's head, boards and loom take no more than the skull has.",
    unit="1",
    rule=Rule("at_most"),
    thresholds=Thresholds(
        0.15, 0.0, "Boxes never fill an egg to the last corner: up to 85 % goes in, up to all of it goes, just (common practice, no source)."
    ),
    method="fit",
    subjects=lambda creature: ["room"],
    gather=_gather,
    find=_find,
    work=_work,
    say=_say,
    example="room",
    weight=0.8,
    name_first=True,
)  # fmt: skip
