"""Cables through the neck: their bundle, their stiffness, and what they lose when the head moves. docs/methods/fit-neck.md."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Final

from marotte.basis.contracts.common import Told
from marotte.basis.contracts.fit import NeckCable, NeckFit
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Mechanism
from marotte.creature.schema.brief import Attitudes
from marotte.creature.schema.functions import Function
from marotte.creature.schema.means import Air, Body, Chin, Hand, Lever, Means, Servo
from marotte.creature.schema.mechs import Cable, PullPull
from marotte.creature.shelf import Stock
from marotte.mech.fit.seat import is_remote

PACKING: Final = 0.75
"""Share of a round bundle's section that round housings fill (common practice, no source; exactly 7/9 for seven)."""
FEW: Final = {3: 1.0 + 2.0 / math.sqrt(3.0), 4: 1.0 + math.sqrt(2.0), 5: 2.7013, 6: 3.0, 7: 3.0}
"""Smallest circle round so many circles of diameter 1 (known optimal packings; five: 1 + sqrt(2 + 2 / sqrt 5))."""
BEND_LENGTH: Final = 0.08
"""Length over which the bundle bends in the neck [m]: a rule of this project."""
STEEL: Final = 200e9
"""Young's modulus of steel [Pa] (handbook value, from memory)."""
ROPE_SHARE: Final = 0.05
"""Bending stiffness of a stranded rope over that of a solid wire as thick (common practice, no source)."""
FROM_BELOW: Final = (Hand, Lever, Body, Chin, Air)
"""Means that sit with a person, outside the head."""


def bundle_diameter(outers: list[float]) -> float:
    """Return the diameter [m] of round housings laid together.

    Up to seven: as many of one size, the mean square of theirs, in the smallest circle; more: their sections over the packing. Never
    less than the two thickest side by side.
    """
    count = len(outers)
    if count < 3:
        return sum(outers)  # side by side
    square = sum(outer**2 for outer in outers)
    laid = FEW[count] * math.sqrt(square / count) if count in FEW else math.sqrt(square / PACKING)
    return max(laid, sum(sorted(outers)[-2:]))


def bending_torque(wire: float, solid: bool, angle: float, length: float = BEND_LENGTH) -> float:
    """Return the torque [N*m] that bends a steel wire [m] by an angle [rad] over a length [m]: E I angle / length."""
    stiff = STEEL * math.pi * wire**4 / 64.0 * (1.0 if solid else ROPE_SHARE)
    return stiff * angle / length


def cables_in(
    functions: Mapping[str, Function], mechs: Mapping[str, Mechanism], means: Mapping[str, Means], stock: Stock,
    inside: str | None = None,
) -> Iterator[NeckCable]:  # fmt: skip
    """Yield the cables that come into the head: from a person outside it, or from a servo that sits elsewhere."""
    for name, mech in mechs.items():
        record, function = mech.record, functions[mech.outputs[0]]
        if not isinstance(record, (Cable, PullPull)) or PARTS[function.part].rides_on not in ("head", "jaw", "ear"):
            continue
        pushers = [means[given] for given in mech.inputs]
        if not all(
            is_remote(mech, function, pusher) if isinstance(pusher, Servo) else isinstance(pusher, FROM_BELOW)
            for pusher in pushers
        ):
            continue
        if inside is not None and all(getattr(pusher, "of", None) in (inside, None) for pusher in pushers):
            continue
        if isinstance(record.core, str):
            wire, solid = stock.wires[record.core].thickness, stock.wires[record.core].solid
        else:
            wire, solid = record.core, True
        liner = stock.liners[record.liner]
        bore = record.bore if record.bore is not None else liner.bore
        turns = PARTS[function.part].kind == "turn"
        arm = record.arm if record.arm is not None else (0.01 if turns else 1.0)
        count = 2 if isinstance(record, PullPull) else 1
        for _ in range(count):
            yield NeckCable(
                name=name, outer=max(liner.outer, bore + (liner.outer - liner.bore)), clearance=max(bore - wire, 0.0),
                wire=wire, solid=solid, stroke=arm * function.span, ref=record.ref("bore"),
            )  # fmt: skip


def head_swing(functions: Mapping[str, Function], attitudes: Attitudes, radius: float) -> tuple[float, str]:
    """Return the most that the head's moves bend a bundle [rad], from straight, and which move it is.

    A nod or a tilt bends by its own angle. A turn winds the cables to a helix of the bundle's radius [m]: turn x sin(pitch), its whole bend,
    with tan(pitch) = radius x turn / length. Travels count as far as the brief asks for them.
    """
    best, which = 0.0, ""
    asked = {"head_turn": attitudes.turn, "head_nod": attitudes.nod, "head_tilt": attitudes.tilt}
    for function in functions.values():
        if function.part not in asked:
            continue
        low, high = function.travel
        if asked[function.part] != (0.0, 0.0):
            low, high = max(low, asked[function.part][0]), min(high, asked[function.part][1])
        far = max(abs(low), abs(high))
        bend = far * math.sin(math.atan(radius * far / BEND_LENGTH)) if function.part == "head_turn" else far
        if bend > best:
            best, which = bend, function.part.removeprefix("head_")
    return best, which


def neck_fit(
    functions: Mapping[str, Function],
    mechs: Mapping[str, Mechanism],
    means: Mapping[str, Means],
    stock: Stock,
    attitudes: Attitudes,
    inside: str | None = None,
) -> NeckFit | None:
    """Return what runs through the neck; None where no cable does, or the head does not move.

    ``inside`` is the performer whose hand is in the head: what that hand pulls comes through no neck.
    """
    cables = tuple(cables_in(functions, mechs, means, stock, inside))
    bundle = bundle_diameter([cable.outer for cable in cables])
    swing, which = head_swing(functions, attitudes, 0.5 * bundle)
    if not cables or swing <= 0.0:
        return None
    torque = 0.0
    for cable in cables:
        torque += bending_torque(cable.wire, cable.solid, swing)
    sentence = (
        "cables worked by a person, or by a servo that is borne elsewhere, are taken to run through the neck, those of other servos to "
        "stay in the head; the housings' own stiffness is not counted"
    )
    return NeckFit(
        cables=cables, bundle=bundle, swing=swing, swing_of=which,
        stiffness=torque, told=(Told(code="neck_cables", sentence=sentence),),
    )  # fmt: skip
