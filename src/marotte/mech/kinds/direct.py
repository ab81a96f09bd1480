"""The means on the function's own axis: docs/methods/direct.md."""

from __future__ import annotations

from typing import cast

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Transmission
from marotte.creature.schema.mechs import Direct
from marotte.mech.case import Case, jammed
from marotte.mech.chain import Chain, Gain
from marotte.mech.span import Extra, transmit


def solve(case: Case) -> Transmission | Unknown:
    """Return the transmission of a direct drive: a plain ratio, no play of its own."""
    record = cast(Direct, case.mechanism.record)
    neutral = case.functions[0].neutral
    ratio, unit = record.ratio, case.units[0]
    if record.plate is not None:
        if not case.turns:
            return jammed(case, "kind", f"{case.said}: a plate turns on a hinge, and {case.moves} slides", ("plate",))
        ratio, unit = record.ratio / record.plate, "m"
    return transmit(case, Chain((Gain(ratio=ratio, offset=neutral),), neutral), Extra(input_unit=unit))
