"""A rod in the hand: docs/methods/rod.md."""

from __future__ import annotations

import math
from typing import cast

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Transmission
from marotte.creature.schema.mechs import HandRod
from marotte.mech.case import Case, jammed
from marotte.mech.chain import Chain, Gain
from marotte.mech.span import Extra, transmit

STUFF = {
    "carbon": (120e9, 1600.0),
    "steel": (200e9, 7850.0),
    "aluminium": (70e9, 2700.0),
    "wood": (11e9, 600.0),
    "glass_fibre": (40e9, 1900.0),
}
"""Young's modulus along the rod [Pa] and density [kg/m3] (handbook orders of magnitude, from memory; carbon as pulled
tube, wood as straight-grained hardwood)."""


def rod_mass(record: HandRod) -> float:
    """Return the mass of the bare rod [kg]."""
    density = STUFF[record.material][1]
    return density * math.pi / 4.0 * (record.outer**2 - record.inner**2) * record.length


def first_bending_hz(stiffness: float, length: float, mass: float, end_mass: float) -> float:
    """Return the first bending frequency [Hz] of a rod held fast at one end, with a mass at the other.

    f = sqrt(3 E I / (L^3 (m_e + 33/140 m))) / (2 pi): Rayleigh's quotient with the shape of an end load, within 1.5 % of
    the exact beam without an end mass and nearer with one (Blevins, *Formulas for Natural Frequency and Mode Shape*).

    Args:
        stiffness: E I [N*m2].
        length: free length [m].
        mass: of the rod [kg].
        end_mass: at the far end [kg].
    """
    return math.sqrt(3.0 * stiffness / (length**3 * (end_mass + 33.0 / 140.0 * mass))) / (2.0 * math.pi)


def solve(case: Case) -> Transmission | Unknown:
    """Return the transmission of a hand's rod: it pushes a slide straight, or turns a part at its telling point."""
    record = cast(HandRod, case.mechanism.record)
    function = case.functions[0]
    if record.inner >= record.outer:
        return jammed(case, "geometry", f"{case.said}: the rod is hollow to nothing: inner below outer", ("inner",))
    ratio = 1.0
    if case.turns:
        if function.tells_at is None:
            why = f"{case.said}: how far from its axis the rod takes hold of {case.moves} is not written"
            return Unknown(why=why, wants=(function.ref("tells_at"),))
        ratio = 1.0 / function.tells_at.arm
    modulus = STUFF[record.material][0]
    stiffness = modulus * math.pi / 64.0 * (record.outer**4 - record.inner**4)
    mass = rod_mass(record)
    facts = {
        "first_bending_hz": first_bending_hz(stiffness, record.length, mass, record.end_mass),
        "mass_kg": mass,
        "end_give_m_per_n": record.length**3 / (3.0 * stiffness),
    }
    extra = Extra(facts=facts, input_unit="m")
    return transmit(case, Chain((Gain(ratio=ratio, offset=function.neutral),), function.neutral), extra)
