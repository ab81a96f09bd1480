"""The means on the function's own axis: docs/methods/direct.md."""

from __future__ import annotations

from typing import cast

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Transmission
from marotte.creature.schema.mechs import Direct
from marotte.mech.case import Case
from marotte.mech.chain import Chain, Gain
from marotte.mech.span import transmit


def solve(case: Case) -> Transmission | Unknown:
    """Return the transmission of a direct drive: a plain ratio, no play of its own."""
    record = cast(Direct, case.mechanism.record)
    neutral = case.functions[0].neutral
    return transmit(case, Chain((Gain(ratio=record.ratio, offset=neutral),), neutral))
