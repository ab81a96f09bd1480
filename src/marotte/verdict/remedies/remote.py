"""The heaviest servos of the head driven from where the head rests, through cables."""

from __future__ import annotations

import math
from typing import Final

from marotte.basis.contracts.finding import ABSENT
from marotte.basis.units import number_text
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature, Mechanism
from marotte.creature.edit import value_at
from marotte.creature.naming import named
from marotte.creature.schema.means import Servo
from marotte.verdict.remedies.proposal import Case, Proposal, bears, once, plain

REMOTE_ARM: Final = 12e-3
REMOTE_BENDS: Final = ("60 deg", "60 deg")
REMOTE_LENGTH: Final = "600 mm"
"""From the base to the head, by the neck (common practice, no source)."""
REMOTE_MOST: Final = 3
TURN_USED: Final = 0.8
"""Share of a servo's turn that a cable's horn uses, so that something is left for slack."""


def remote_drive(case: Case) -> tuple[Proposal, ...]:
    """The heaviest servos in the head put where the head rests, each pulling through a cable."""
    creature = case.creature
    if case.finding.id not in ("mass.skull", "fit.skull", "fit.access", "skull.heat"):
        return ()
    base = next((name for name in ("post", "shoulders") if bears(creature, name)), None)
    able = [name for name, mech in creature.mechs.items() if _may_leave(creature, mech)]
    heavy = sorted(able, key=lambda name: (-_servo_mass(creature, creature.mechs[name]), name))
    out: list[Proposal] = []
    for name in heavy if base is not None else ():
        mech = creature.mechs[name]
        function, means = creature.functions[mech.outputs[0]], creature.means[mech.inputs[0]]
        assert isinstance(means, Servo)  # _may_leave asked
        arm = getattr(mech.record, "arm", None) or REMOTE_ARM
        turns = PARTS[function.part].kind == "turn"
        ratio = function.span / (TURN_USED * creature.servos[means.model].travel)
        horn = math.ceil((ratio * arm if turns else ratio) / 0.5e-3) * 0.5e-3
        cable = {
            "kind": "cable", "pulls": "both_ways", "horn": _mm(horn), **({"arm": _mm(arm)} if turns else {}),
            "bends": list(REMOTE_BENDS), "length": REMOTE_LENGTH,
        }  # fmt: skip
        block = means.ref("")
        edits = [
            case.edit(
                mech.record.ref("") if mech.record.ref("").startswith("/") else f"{block.rpartition('/')[0]}/mech",
                cable,
            )
        ]
        edits.append(case.edit(f"{block}/carried_by", base))
        if value_at(case.tree, f"{block}/box") is not ABSENT:
            edits.append(case.edit(f"{block}/box", ABSENT))
        text = f"drive the {named(plain(name))} from the {base} through a cable ({_mm(horn)} horn, {REMOTE_LENGTH} of housing)"
        then = "measure its lost motion with the head turned, and leave the loom slack at the neck"
        out.append(Proposal(edits=tuple(edits), says=text, then=then, cost=6.0))
    return once(out)[:REMOTE_MOST]


def _may_leave(creature: Creature, mech: Mechanism) -> bool:
    """Return whether one servo moves one function of the head, and a cable could stand in for what carries the force."""
    means, function = creature.means[mech.inputs[0]], creature.functions[mech.outputs[0]]
    plain = len(mech.inputs) == len(mech.outputs) == 1 and mech.record.kind in (
        "direct",
        "four_bar",
        "ball_rod",
        "crank_slider",
    )
    return (
        plain and isinstance(means, Servo) and means.ref("").startswith("/") and means.carried_by is None
        and (function.carried_by == "skull")
    )  # fmt: skip


def _servo_mass(creature: Creature, mech: Mechanism) -> float:
    means = creature.means[mech.inputs[0]]
    return creature.servos[means.model].mass * means.count if isinstance(means, Servo) else 0.0


def _mm(length: float) -> str:
    return f"{number_text(1e3 * length, 3)} mm"
