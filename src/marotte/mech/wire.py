"""A wire in a housing: friction over its bends, clearance, stretch, and what it bears. docs/methods/cable.md."""

from __future__ import annotations

import math
from dataclasses import dataclass

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import MechFault
from marotte.basis.given import Ref
from marotte.creature.schema.mechs import Cable, PullPull
from marotte.mech.case import Case

STEEL_PA = 200e9
"""Young's modulus of a solid steel wire whose thickness alone is written."""
STEEL_BREAKS_PA = 1.9e9
"""Its strength: drawn spring wire of about 1 mm (from memory)."""
WORKING_SHARE = 0.2
"""A wire is worked at a fifth of what breaks it (common practice, no source)."""
BARE_DIAMETERS = 20.0
"""Longest unsupported wire that pushes, in wire thicknesses (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """A wire in its housing, in numbers."""

    thickness: float
    pull: float
    """Force per strain [N]."""
    breaks_at: float
    solid: bool
    bore: float
    friction: float
    bend: float
    """All bends together [rad]."""
    length: float
    least_radius: float
    refs: frozenset[Ref]

    @property
    def efficiency(self) -> float:
        """Share of the pull that comes out at the far end: exp(-mu * bend), Euler and Eytelwein."""
        return capstan(self.friction, self.bend)

    @property
    def lost(self) -> float:
        """Lost motion [m], full width: it hugs the inside of a bend when pulled and the outside when pushed."""
        return max(self.bore - self.thickness, 0.0) * self.bend

    def push_limit(self, bare: float) -> float:
        """Return the push [N] at which a bare length [m] of solid wire buckles, its ends free to turn (Euler).

        pi^2 E I / L^2, with E I = EA d^2 / 16 of a round wire.
        """
        return math.pi**2 * self.pull * self.thickness**2 / 16.0 / bare**2


def capstan(friction: float, wrap: float) -> float:
    """Return the share of a pull that is left after a wrap [rad]: T_out = T_in exp(-mu theta); no radius enters."""
    return math.exp(-friction * wrap)


def wire_of(case: Case, record: Cable | PullPull) -> Wire | Unknown:
    """Return a mech's wire with what the file leaves to the stock filled in."""
    if case.stock is None:
        return Unknown(why=f"{case.said}: no stock was given to take its wire and liner from")
    liner = case.stock.liners.get(record.liner)
    if liner is None:
        return Unknown(why=f"{case.said}: {record.liner} is no liner of the stock", wants=(record.ref("liner"),))
    refs = {liner.ref("friction")}
    if isinstance(record.core, str):
        kept = case.stock.wires.get(record.core)
        if kept is None:
            return Unknown(why=f"{case.said}: {record.core} is no wire of the stock", wants=(record.ref("core"),))
        thickness, pull, breaks, solid = kept.thickness, kept.pull, kept.breaks_at, kept.solid
        refs |= {kept.ref("thickness"), kept.ref("pull"), kept.ref("breaks_at")}
    else:
        thickness, solid = record.core, True
        area = math.pi * thickness**2 / 4.0
        pull, breaks = STEEL_PA * area, STEEL_BREAKS_PA * area
    if record.bore is None:
        refs.add(liner.ref("bore"))
    return Wire(
        thickness=thickness, pull=pull, breaks_at=breaks, solid=solid,
        bore=record.bore if record.bore is not None else liner.bore,
        friction=liner.friction, bend=sum(record.bends), length=record.length,
        least_radius=liner.bend_radius, refs=frozenset(refs),
    )  # fmt: skip


def tight(case: Case, wire: Wire) -> tuple[MechFault, ...]:
    """Return the fault of a wire that does not go into its liner."""
    if wire.thickness <= wire.bore:
        return ()
    sentence = (
        f"{case.said}: a wire of {wire.thickness * 1e3:.2f} mm does not go into a bore of {wire.bore * 1e3:.2f} mm: "
        f"a thinner wire, or a wider liner"
    )
    return (fault(case, "bore", sentence),)


def fault(case: Case, kind: str, sentence: str, *, serious: bool = True) -> MechFault:
    """Return a fault of the whole mech, put at neutral."""
    at = case.functions[0].neutral
    return MechFault(kind=kind, output=case.mechanism.outputs[0], at=at, sentence=sentence, serious=serious)
