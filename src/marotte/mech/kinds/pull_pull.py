"""A closed loop of wire round two drums or horns: docs/methods/pull_pull.md."""

from __future__ import annotations

from typing import cast

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import MechFault, Transmission
from marotte.creature.schema.mechs import PullPull
from marotte.mech.case import Case, jammed
from marotte.mech.chain import Chain, Gain
from marotte.mech.span import Extra, transmit
from marotte.mech.wire import WORKING_SHARE, Wire, fault, tight, wire_of


def solve(case: Case) -> Transmission | Unknown:
    """Return the transmission of a pull-pull loop: a plain ratio both ways, friction of bends and pre-tension."""
    record = cast(PullPull, case.mechanism.record)
    if not case.turns:
        sentence = f"{case.said}: a loop turns what it moves, and {case.moves} slides: a cable would do"
        return jammed(case, "kind", sentence, ("kind",))
    wire = wire_of(case, record)
    if isinstance(wire, Unknown):
        return wire
    # at rest each run is held by friction: the pre-tension of both must be overcome before the far end moves
    dry = 2.0 * record.preload * (1.0 - wire.efficiency) * record.horn
    extra = Extra(
        facts={
            "lost_motion_m": wire.lost,
            "give_m_per_n": wire.length / (2.0 * wire.pull),  # both runs share while neither is slack
            "works_at_n": WORKING_SHARE * wire.breaks_at,
            "breaks_at_n": wire.breaks_at,
            "bend_rad": wire.bend,
            "preload_n": record.preload,
        },
        faults=_faults(case, record, wire), efficiency=wire.efficiency, dry=dry, refs=wire.refs,
    )  # fmt: skip
    play = 0.0 if record.preload > 0.0 else wire.lost / record.arm
    neutral = case.functions[0].neutral
    return transmit(case, Chain((Gain(ratio=record.horn / record.arm, offset=neutral, play=play),), neutral), extra)


def _faults(case: Case, record: PullPull, wire: Wire) -> tuple[MechFault, ...]:
    found = list(tight(case, wire))
    if record.preload > WORKING_SHARE * wire.breaks_at:
        sentence = (
            f"{case.said}: a pre-tension of {record.preload:.0f} N is more than a fifth of the {wire.breaks_at:.0f} N "
            f"that break the wire: less tension, or a thicker wire"
        )
        found.append(fault(case, "overload", sentence))
    if record.preload == 0.0:
        sentence = f"{case.said}: a loop without pre-tension goes slack on its idle side: write preload"
        found.append(fault(case, "slack", sentence, serious=False))
    return tuple(found)
