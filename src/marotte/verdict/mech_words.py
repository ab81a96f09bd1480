"""What a builder wants to know of one kind of mechanism beside its angle, and what its wire does not bear."""

from __future__ import annotations

from typing import Final

from marotte.basis.contracts.mech import MechFault, Transmission
from marotte.basis.units import number_text, show
from marotte.creature.naming import named
from marotte.creature.schema.base import Record

WHIPS: Final = 1.0 / 3.0
"""Share of a rod's first bending frequency from which moves make it whip (common practice, no source)."""


def of_its_kind(transmission: Transmission) -> str:
    """Return clauses about a mechanism, or nothing: cross-talk, what a wire loses, when a rod whips, lesser faults."""
    facts, out = transmission.facts, []
    if "turning_lifts_rad" in facts:
        lifts, turns = (show(facts[name], "rad", 2) for name in ("turning_lifts_rad", "lifting_turns_rad"))
        out.append(f"only turned it lifts by up to {lifts}, only lifted it turns by up to {turns}")
    if "lost_motion_m" in facts:
        out.append(
            f"{show(transmission.forward, '%', 2)} of the pull arrives round {show(facts['bend_rad'], 'rad', 3)} of bends"
        )
        if facts["lost_motion_m"] > 0.0 and transmission.play.max() > 0.0:
            out.append(f"{show(facts['lost_motion_m'], 'm', 2)} of motion is lost in the liner")
    if "first_bending_hz" in facts:
        first = facts["first_bending_hz"]
        out.append(
            f"it bends first at {number_text(first, 2)} Hz, so moves quicker than {number_text(WHIPS * first, 2)} a second make it whip"
        )
    out += [
        fault.sentence.rstrip(".").removeprefix(f"{named(transmission.name)}: ")
        for fault in transmission.faults
        if not fault.serious
    ]
    return "; ".join(out)


def overloaded(record: Record, transmission: Transmission, most: float) -> tuple[MechFault, ...]:
    """Return what a wire does not bear of what pushes it most, at its input [N*m or N]: pulled over its working load, or buckled.

    Whether the most is a pull or a push is not told apart: a wire that pulls both ways is looked at for both.
    """
    facts = transmission.facts
    if "works_at_n" not in facts or most <= 0.0:
        return ()
    horn = getattr(record, "horn", None) or 1.0
    force = most / horn if transmission.input_units == ("rad",) else most
    name, output = named(transmission.name), transmission.outputs[0]
    found: list[MechFault] = []
    if force > facts["works_at_n"]:
        sentence = (
            f"{name}: its wire is pulled with {show(force, 'N', 2)} and works at {show(facts['works_at_n'], 'N', 2)}: a thicker one, or a "
            "longer horn"
        )
        found.append(MechFault(kind="wire", output=output, at=0.0, sentence=sentence))
    if force > facts.get("push_limit_n", force):
        sentence = (
            f"{name}: its bare wire buckles when pushed with {show(facts['push_limit_n'], 'N', 2)}, and {show(force, 'N', 2)} are wanted: "
            "guide it closer to its end, or let a spring bring it back"
        )
        found.append(MechFault(kind="buckling", output=output, at=0.0, sentence=sentence))
    return tuple(found)
