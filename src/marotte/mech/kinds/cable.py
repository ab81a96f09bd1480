"""A wire in a housing, pulled or pushed and pulled: docs/methods/cable.md."""

from __future__ import annotations

from typing import cast

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import MechFault, Transmission
from marotte.creature.schema.mechs import Cable
from marotte.mech.case import Case, jammed
from marotte.mech.chain import Chain, Gain
from marotte.mech.span import Extra, transmit
from marotte.mech.wire import BARE_DIAMETERS, WORKING_SHARE, Wire, fault, tight, wire_of


def solve(case: Case) -> Transmission | Unknown:
    """Return the transmission of a cable: a plain ratio, friction of its bends, lost motion of its clearance."""
    record = cast(Cable, case.mechanism.record)
    wire = wire_of(case, record)
    if isinstance(wire, Unknown):
        return wire
    if case.turns and record.arm is None:
        why = f"{case.said}: the cable turns {case.moves}, and its arm there is not written"
        return Unknown(why=why, wants=(record.ref("arm"),))
    if not case.turns and record.arm is not None:
        sentence = f"{case.said}: {case.moves} slides: a cable pulls it straight, without an arm"
        return jammed(case, "kind", sentence, ("arm",))
    out = record.arm if record.arm is not None else 1.0
    ratio = (record.horn if record.horn is not None else 1.0) / out
    facts = {
        "lost_motion_m": wire.lost,
        "give_m_per_n": wire.length / wire.pull,
        "works_at_n": WORKING_SHARE * wire.breaks_at,
        "breaks_at_n": wire.breaks_at,
        "bend_rad": wire.bend,
    }
    if wire.solid and record.bare > wire.thickness:
        facts["push_limit_n"] = wire.push_limit(record.bare)
    extra = Extra(
        facts=facts, faults=_faults(case, record, wire), efficiency=wire.efficiency, refs=wire.refs,
        input_unit="rad" if record.horn is not None else "m",
    )  # fmt: skip
    play = 0.0 if _kept_taut(record) else wire.lost / out
    neutral = case.functions[0].neutral
    return transmit(case, Chain((Gain(ratio=ratio, offset=neutral, play=play),), neutral), extra)


def _kept_taut(record: Cable) -> bool:
    """Return whether a return pulls the wire taut all along, so that it never leaves the inside of its bends."""
    return record.pulls == "one_way" and record.returns != "none" and (record.preload or 0.0) > 0.0


def _faults(case: Case, record: Cable, wire: Wire) -> tuple[MechFault, ...]:
    found = list(tight(case, wire))
    if record.pulls == "both_ways":
        if not wire.solid:
            found.append(fault(case, "buckling", f"{case.said}: a rope or line cannot push: a solid wire, or a return"))
        elif record.bare > BARE_DIAMETERS * wire.thickness:
            sentence = (
                f"{case.said}: {record.bare * 1e3:.0f} mm of bare wire, more than {BARE_DIAMETERS:.0f} times its thickness, "
                f"buckles when pushed with {wire.push_limit(record.bare):.0f} N: guide it closer to its end"
            )
            found.append(fault(case, "buckling", sentence, serious=False))
    elif record.returns == "none":
        sentence = f"{case.said}: the wire only pulls and nothing brings it back: write what returns it"
        found.append(fault(case, "return", sentence))
    if record.bend_radius is not None and wire.bend > 0.0 and wire.solid and record.bend_radius < wire.least_radius:
        sentence = (
            f"{case.said}: bends of {record.bend_radius * 1e3:.0f} mm radius are tight for a solid wire; "
            f"{wire.least_radius * 1e3:.0f} mm or more is usual"
        )
        found.append(fault(case, "bend", sentence, serious=False))
    return tuple(found)
