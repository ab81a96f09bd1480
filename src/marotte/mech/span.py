"""From a chain of links to a Transmission: the sound span round neutral, a uniform input grid, and the faults.

Only the span round neutral is kept where every rod meets what it joins at more than the least angle, and where the
ratio is not too steep. Whatever part of the travel lies beyond is an end stop and a fault that says what ends it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from marotte.basis.contracts.common import F64, Bool, Told, f64
from marotte.basis.contracts.mech import Jammed, MechFault, Transmission
from marotte.basis.given import Ref
from marotte.basis.units import DEG
from marotte.mech.case import Case, Limits, Unit, jammed, shown
from marotte.mech.chain import Chain, Gain, Link, Swept
from marotte.mech.joints import reversed_joint
from marotte.mech.kernels import CONE_FAR, CONE_NEAR, SIN_FAR, SIN_NEAR

LAST_RESORT = Limits(angle=4.0 * DEG, ratio=20.0)
"""Where even neutral is not sound: followed all the same, as far as it goes, with a serious fault."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Extra:
    """What a kind of mech adds to a plain chain."""

    told: tuple[Told, ...] = ()
    clocking: dict[str, float] = field(default_factory=dict)
    """What a builder sets, at neutral."""
    facts: dict[str, float] = field(default_factory=dict)
    faults: tuple[MechFault, ...] = ()
    input_unit: Unit = "rad"
    efficiency: float = 1.0
    """Beside that of the record."""
    dry: float = 0.0
    """Beside that of the record."""
    refs: frozenset[Ref] = frozenset()


def transmit(case: Case, chain: Chain, extra: Extra | None = None) -> Transmission | Jammed:
    """Return the transmission of a chain whose joints close at neutral.

    Args:
        case: the mechanism; its first function's travel is what is wanted.
        chain: links from input to that function; input variable 0 at neutral.
        extra: what the kind of mech adds.
    """
    extra = extra or Extra()
    low, high = case.functions[0].travel
    faults: list[MechFault] = []
    limits = case.limits
    at_neutral = chain.backward(np.array([chain.neutral]))
    if not _sound(case, chain, at_neutral, limits)[0]:
        limits = replace(LAST_RESORT, points=limits.points)
        if not _sound(case, chain, at_neutral, limits)[0]:
            where = _angle_said(chain, at_neutral, 0)
            return jammed(
                case, "toggle", f"{case.said}: at neutral {where}, so it can hardly leave it: clock horn and arm anew",
                ("arm_at_neutral", "horn_at_neutral", "rod"),
            )  # fmt: skip
        sentence = f"{case.said}: at neutral already {_angle_said(chain, at_neutral, 0)}: clock horn and arm anew"
        faults.append(MechFault(kind="angle", output=case.mechanism.outputs[0], at=chain.neutral, sentence=sentence))
    if at_neutral.rate[0] < 0.0:  # a positive input drives the output up
        chain = Chain((_turned_round(chain.steps[0]), *chain.steps[1:]), chain.neutral)
    ends = []
    for end in (low, high):
        stop, fault = _end(case, chain, end, limits)
        ends.append(stop)
        if fault is not None:
            faults.append(fault)
    inputs = [float(chain.backward(np.array([chain.neutral, q])).position[-1]) for q in ends]
    if inputs[1] - inputs[0] < 1e-6:
        return jammed(case, "unreachable", f"{case.said}: it cannot move from neutral at all", ("rod",))
    grid = np.linspace(inputs[0], inputs[1], limits.points)
    swept = chain.forward(grid, ends[0])
    play = chain.play(swept)
    rods = any(isinstance(step, Link) for step in chain.steps)
    record = case.mechanism.record
    measured = not record.ref("efficiency").startswith("default:")  # of the whole: it stands for the wire's own
    efficiency = record.efficiency * (1.0 if measured else extra.efficiency)
    return Transmission(
        name=case.name,
        inputs=case.mechanism.inputs,
        outputs=case.mechanism.outputs,
        grid=(f64(grid),),
        position=f64(swept.position[None]),
        rate=f64(swept.rate[None, None]),
        bend=f64(swept.bend[None, None]),
        angle=f64(np.arcsin(np.minimum(swept.sine, 1.0))) if rods else None,
        joints=_joints(chain, swept),
        dry=record.friction + extra.dry,
        forward=efficiency,
        back=efficiency,
        input_units=(extra.input_unit,),
        output_units=case.units,
        facts={**({"rod_slop_m": case.slop()[0]} if rods else {}), **extra.facts},
        play=f64([play.max()]),
        play_at=f64(play[None]),
        clocking=extra.clocking,
        faults=tuple(faults) + extra.faults + _leans(case, chain, swept) + _no_room(case, chain),
        told=extra.told,
        rests_on=case.rests_on() | extra.refs,
    )


def _joints(chain: Chain, swept: Swept) -> dict[str, F64]:
    """Return the angle at each joint by its name; one that comes twice keeps its worst."""
    found: dict[str, F64] = {}
    for step, rows in zip(chain.steps, swept.links, strict=True):
        if isinstance(step, Link):
            for side, row in zip(step.names, (SIN_NEAR, SIN_FAR), strict=True):
                angle = np.arcsin(np.minimum(rows[row], 1.0))
                found[side] = np.minimum(found[side], angle) if side in found else angle
    return {side: f64(angle) for side, angle in found.items()}


def _leans(case: Case, chain: Chain, swept: Swept) -> tuple[MechFault, ...]:
    """Return where a ball joint leans past the cone that it allows."""
    cone = getattr(case.mechanism.record, "cone", None)
    if cone is None:
        return ()
    found = []
    for step, rows in zip(chain.steps, swept.links, strict=True):
        if isinstance(step, Link):
            for side, row in zip(step.names, (CONE_NEAR, CONE_FAR), strict=True):
                lean = np.abs(np.arcsin(np.clip(rows[row], -1.0, 1.0)))
                worst = int(np.argmax(lean))
                if lean[worst] > cone:
                    sentence = (
                        f"{case.said}: at {shown(float(swept.position[worst]), case.turns)} the rod leans "
                        f"{math.degrees(lean[worst]):.0f} deg on the ball of the {side}, which allows "
                        f"{math.degrees(cone):.0f}: a longer rod, or turn the {side}'s axis"
                    )
                    place = float(swept.position[worst])
                    found.append(MechFault(kind="cone", output=case.mechanism.outputs[0], at=place, sentence=sentence))
    return tuple(found)


def _no_room(case: Case, chain: Chain) -> tuple[MechFault, ...]:
    """Return the fault of a rod that is longer than what fits."""
    room = case.mechanism.record.room
    longest = max((step.rod for step in chain.steps if isinstance(step, Link)), default=0.0)
    if room is None or longest <= room:
        return ()
    sentence = f"{case.said}: the rod is {longest * 1e3:.1f} mm long and {room * 1e3:.1f} mm fit"
    return (MechFault(kind="room", output=case.mechanism.outputs[0], at=chain.neutral, sentence=sentence),)


def _turned_round(step: Link | Gain) -> Link | Gain:
    if isinstance(step, Gain):
        return replace(step, ratio=-step.ratio)
    return replace(step, near=reversed_joint(step.near), at=(-step.at[0], step.at[1]))


def _sound(case: Case, chain: Chain, swept: Swept, limits: Limits) -> Bool:
    """Return where a backward sweep is sound, (m,) of bool."""
    good: Bool = (swept.reach > 0.0) & (swept.sine >= math.sin(limits.angle))
    if case.turns and chain.bends:  # backward rate is input per output
        good &= np.abs(swept.rate) >= 1.0 / limits.ratio
    return good


def _end(case: Case, chain: Chain, end: float, limits: Limits) -> tuple[float, MechFault | None]:
    """Return how far towards one end of the travel the chain is sound, and what ends it before."""
    if end == chain.neutral:
        return end, None
    q = np.linspace(chain.neutral, end, 241)
    swept = chain.backward(q)
    good = _sound(case, chain, swept, limits)
    if good.all():
        return end, None
    bad = int(np.argmin(good))
    inner, outer = q[bad - 1], q[bad]
    for _ in range(6):  # each round cuts the bracket to a fifteenth
        fine = np.linspace(inner, outer, 16)
        ok = _sound(case, chain, chain.backward(np.concatenate(([chain.neutral], fine))), limits)[1:]
        first = int(np.argmin(ok)) if not ok.all() else 15
        inner, outer = fine[max(first - 1, 0)], fine[first]
    return float(inner), _why(case, chain, swept, bad, float(inner), end)


def _why(case: Case, chain: Chain, swept: Swept, bad: int, stop: float, end: float) -> MechFault:
    """Return the fault that ends a span: out of reach, past a toggle, too flat an angle, too steep a ratio."""
    name = case.mechanism.outputs[0]

    def says(value: float) -> str:
        return shown(value, case.turns)

    reached = f"{case.said}: sound only to {says(stop)} of {says(end)}"
    closes = swept.reach[bad:] > 0.0
    if not closes.all():
        q = np.linspace(chain.neutral, end, swept.reach.size)
        last = says(float(q[bad + int(np.argmin(closes)) - 1]))
        sentence = f"{reached}; past {last} rod and horn are in line and it turns back: clock anew, or a longer horn"
        return MechFault(kind="unreachable", output=name, at=stop, sentence=sentence)
    flips = np.nonzero(np.sign(swept.rate[bad:]) != np.sign(swept.rate[0]))[0]
    if flips.size:
        sentence = f"{reached}; beyond, rod and arm come into line and it can flip over to its other branch: clock anew"
        return MechFault(kind="branch", output=name, at=stop, sentence=sentence)
    if swept.sine[bad] < math.sin(case.limits.angle):
        sentence = f"{reached}; there {_angle_said(chain, swept, bad)}: clock horn and arm anew"
        far = min((rows[SIN_FAR][bad] for rows in swept.links), default=1.0)
        near = min((rows[SIN_NEAR][bad] for rows in swept.links), default=1.0)
        return MechFault(kind="toggle" if far <= near else "angle", output=name, at=stop, sentence=sentence)
    ratio = 1.0 / abs(float(swept.rate[bad]))
    sentence = f"{reached}; there it gives {ratio:.1f} for 1, too steep to hold: clock anew, or a longer arm"
    return MechFault(kind="steep", output=name, at=stop, sentence=sentence)


def _angle_said(chain: Chain, swept: Swept, i: int) -> str:
    """Return which rod meets what at which angle, for the worst of all."""
    worst, said = 2.0, "nothing is in line"
    for step, rows in zip(chain.steps, swept.links, strict=True):
        if isinstance(step, Gain):
            continue
        for row, side in ((SIN_NEAR, step.names[0]), (SIN_FAR, step.names[1])):
            if rows[row][i] < worst:
                worst = float(rows[row][i])
                said = f"the rod meets the {side} at {math.degrees(math.asin(min(worst, 1.0))):.0f} deg"
    return said
