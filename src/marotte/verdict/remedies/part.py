"""Changes of one moving part and what drives it: a second servo, a balance spring, tighter joints, a skin sculpted open."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np

from marotte.basis.contracts.finding import Edit
from marotte.basis.units import number_text, show
from marotte.creature.anatomy import PARTS
from marotte.creature.naming import named
from marotte.creature.schema.means import Servo
from marotte.verdict.remedies.proposal import AT_SERVO, Case, Proposal, once, plain
from marotte.verdict.remedies.words import servo_said, spaced

LEAST_SLOP: Final = 0.05e-3
"""Slop of a rod's two joints together [m] under which nobody picks better ones by hand (common practice, no source)."""
TIGHTER: Final = (0.75, 0.5)
"""Shares of a rod's lost motion that chosen joints have (common practice, no source)."""
SPRINGS: Final = (0.5, 0.75, 1.0)
"""Shares of the middle of what a function bears that a balance spring takes."""
SPRING_COST: Final = 3.0
COVER: Final = "it stores energy: cover it, and let nobody's fingers near it"
SOFT_SPANS: Final = 3.0
"""How many travels beyond its neutral such a spring goes slack: soft enough to pull nearly the same everywhere."""
SCULPTED: Final = (0.25, 0.4)
"""Shares of the travel at which a skin is sculpted open."""


def second_servo(case: Case) -> tuple[Proposal, ...]:
    """Two servos geared together on one load."""
    out = []
    for name in case.mechs if case.finding.requirement in AT_SERVO else ():
        inputs = case.creature.mechs[name].inputs
        means = case.creature.means[inputs[0]]
        if len(inputs) != 1 or not isinstance(means, Servo) or means.count > 1 or not means.ref("").startswith("/"):
            continue
        servo = case.creature.servos[means.model]
        text = f"put a second {servo_said(means.model)} on the {named(plain(name))}, geared to share its load"
        then = f"it adds {show(servo.mass, 'kg', 2)} a side and needs room; set the two up so that they do not fight"
        out.append(Proposal(edits=(case.edit(f"{means.ref('')}/count", 2),), says=text, then=then, cost=5.0))
    return once(out)


def balance_spring(case: Case) -> tuple[Proposal, ...]:
    """A long soft spring that bears the middle of what a function bears over its travel."""
    out = []
    for name in case.mechs if case.finding.requirement in AT_SERVO else ():
        for share in SPRINGS:
            hung = sprung(case, name, share)
            if hung is not None:
                edit, pull = hung
                text = f"hang a long soft balance spring on the {named(plain(name))}, {pull} at neutral"
                out.append(Proposal(edits=(edit,), says=text, then=COVER, cost=SPRING_COST + share))
    return once(out)


def sprung(case: Case, name: str, share: float) -> tuple[Edit, str] | None:
    """Return the edit that hangs a balance spring on what one mechanism moves, and its pull at neutral in words.

    None where it moves several functions, has a spring, is not written, or bears as much one way as the other.
    """
    outputs = case.creature.mechs[name].outputs
    function = case.creature.functions[outputs[0]]
    load = function.load
    if len(outputs) != 1 or load.spring is not None or not load.ref("").startswith("/"):
        return None
    force = _borne(case, outputs[0])
    middle = 0.5 * (float(force.max()) + float(force.min()))
    if abs(middle) < 0.25 * float(np.abs(force).max()):
        return None
    turns = PARTS[function.part].kind == "turn"
    slack = function.neutral + math.copysign(SOFT_SPANS * function.span, middle)
    rate = share * abs(middle) / abs(slack - function.neutral)
    values = {
        "rate": f"{number_text(rate, 3)} {'N*m/rad' if turns else 'N/m'}",
        "slack_at": f"{number_text(math.degrees(slack), 3)} deg" if turns else f"{number_text(1e3 * slack, 3)} mm",
    }
    return case.edit(f"{load.ref('')}/spring", values), show(share * abs(middle), "N*m" if turns else "N", 2)


def _borne(case: Case, name: str) -> Any:
    """Return (m,) what holding a function still takes over its travel: gravity with the head level, and its skins."""
    load = case.results.mechs.loads[name]
    force = -(np.array([0.0, -9.80665, 0.0]) @ load.gravity) - load.spring
    for skin in case.results.mechs.skins:
        if name in skin.holds:
            stretch = skin.holds[name] * (load.grid - skin.sculpted[name])
            for other in sorted(set(skin.holds) - {name}):
                stretch = stretch + skin.holds[other] * (case.creature.functions[other].neutral - skin.sculpted[other])
            force = force + skin.holds[name] * np.interp(stretch, skin.curve[0], skin.curve[1])
    return force


def tight_joints(case: Case) -> tuple[Proposal, ...]:
    """Better ball joints at the ends of the rods."""
    out = []
    for name in case.mechs if case.finding.requirement == "slop" else ():
        record = case.creature.mechs[name].record
        block = record.ref("")
        stock = 2.0 * case.creature.stock_tables.joints["ball_link"].slop
        now = record.slop if record.slop is not None else stock
        if not hasattr(record, "rod") or not block.startswith("/"):
            continue
        for share in TIGHTER:
            to = now * share
            if to < LEAST_SLOP:
                continue
            text = (
                f"fit tighter ball joints on the {named(plain(name))}, {show(now, 'm', 2)} -> {show(to, 'm', 2)} a rod"
            )
            then = "pick and pair them by hand, and change them when they wear"
            edits = (case.edit(f"{block}/slop", f"{number_text(1e3 * to, 3)} mm"),)
            out.append(Proposal(edits=edits, says=text, then=then, cost=1.5 + 1.0 - share))
    return once(out)


def sculpt_open(case: Case) -> tuple[Proposal, ...]:
    """A skin cast in another pose than neutral, where the file names no pose (where it does, the pose is a knob)."""
    out = []
    moved = {name for mech in case.mechs for name in case.creature.mechs[mech].outputs}
    for name, card in case.creature.skins.items() if case.finding.requirement in AT_SERVO else ():
        block = card.ref("")
        if card.sculpted_at or not moved & set(card.holds) or not block.startswith("/"):
            continue
        held = min(card.holds, key=lambda other: (-abs(card.holds[other]) * case.creature.functions[other].span, other))
        function = case.creature.functions[held]
        turns = PARTS[function.part].kind == "turn"
        for share in SCULPTED:
            at = function.travel[0] + share * function.span
            text = f"{math.degrees(at):.0f} deg" if turns else f"{1e3 * at:.1f} mm"
            stem = plain(held) if card.side is not None else held
            out.append(
                Proposal(
                    edits=(case.edit(f"{block}/sculpted_at", {stem: text}),),
                    cost=5.0 + share,
                    says=f"sculpt the {spaced(name)} skin with the {named(held)} at {text}",
                    then="expect a slight fold at the other end",
                )
            )
    return once(out)
