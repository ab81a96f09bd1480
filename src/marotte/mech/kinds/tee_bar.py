"""One stroke shared out over several tabs: docs/methods/tee_bar.md.

Each output moves by its share of the bar's stroke; the stroke is bounded so that no output leaves its travel.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import cast

import numpy as np

from marotte.basis.contracts.common import F64, Unknown, f64
from marotte.basis.contracts.mech import Jammed, MechFault, Transmission
from marotte.creature.naming import named
from marotte.creature.schema.functions import Function
from marotte.creature.schema.mechs import TeeBar
from marotte.mech.case import Case, jammed, shown
from marotte.mech.chain import Chain, Gain, Link
from marotte.mech.kinds.crank_slider import LONG, slide_link
from marotte.mech.span import Extra, transmit

LEAST_SHARE = 1e-3
"""A tab with less of the stroke than this does not move."""


def solve(case: Case) -> Transmission | Unknown:
    """Return the transmission of a tee bar: one input, an output for each share."""
    record = cast(TeeBar, case.mechanism.record)
    shares = np.array(record.shares)
    if shares.size != len(case.functions) or shares.size == 0 or np.abs(shares).min() < LEAST_SHARE:
        sentence = f"{case.said}: a tee bar needs one share, a thousandth or more, for each function that it moves"
        return jammed(case, "kind", sentence, ("shares",))
    if any(unit != "m" for unit in case.units):
        return jammed(
            case, "kind", f"{case.said}: a tee bar pulls tabs straight; what turns needs a link of its own", ()
        )
    low, high = stroke(case.functions, record.shares)
    faults = _short(case, shares, low, high)
    # the bar itself as an output: its stroke from neutral, as far as every tab allows
    bar = case.functions[0].model_copy(update={"travel": (low, high), "neutral": 0.0})
    own = replace(case, functions=(bar, *case.functions[1:]))
    if record.horn is None:
        moved = transmit(own, Chain((Gain(ratio=1.0),), 0.0), Extra(input_unit="m"))
    else:
        link = link_of(case)
        if isinstance(link, Jammed):
            return link
        extra = Extra(clocking={"horn": record.horn_at_neutral}, told=case.slop()[1])
        moved = transmit(own, Chain((link,), 0.0), extra)
    if isinstance(moved, Jammed):
        return moved
    neutrals = np.array([function.neutral for function in case.functions])
    if shares[0] < 0.0:  # a positive input drives the first output up
        moved = _turned_round(moved)
    return replace(
        moved,
        position=f64(neutrals[:, None] + shares[:, None] * moved.position),
        rate=f64(shares[:, None, None] * moved.rate),
        bend=f64(shares[:, None, None] * moved.bend),
        play=f64(np.abs(shares) * moved.play[0]),
        play_at=None if moved.play_at is None else f64(np.abs(shares)[:, None] * moved.play_at),
        faults=moved.faults + faults,
        rests_on=case.rests_on(),
    )


def stroke(functions: Sequence[Function], shares: Sequence[float]) -> tuple[float, float]:
    """Return the least and the largest stroke [m] from neutral that keep every function in its travel; no share is 0."""
    ends = [
        sorted((end - function.neutral) / share for end in function.travel)
        for function, share in zip(functions, shares, strict=True)
    ]
    return max(low for low, _ in ends), min(high for _, high in ends)


def link_of(case: Case) -> Link | Jammed:
    """Return the link from the horn, which must be written, to the bar as it stands at neutral."""
    record = cast(TeeBar, case.mechanism.record)
    horn = cast(float, record.horn)
    rod = record.rod if record.rod is not None else LONG * horn
    return slide_link(case, horn, rod, 0.0, record.horn_at_neutral, "open", "out", 0.0, ("horn", "bar"))


def _short(case: Case, shares: F64, low: float, high: float) -> tuple[MechFault, ...]:
    """Return a fault for each output whose travel another one cuts short by more than a hundredth."""
    found = []
    for function, share, name in zip(case.functions, shares, case.mechanism.outputs, strict=True):
        reached = sorted((function.neutral + share * low, function.neutral + share * high))
        for end, got in zip(function.travel, reached, strict=True):
            if abs(end - got) > 0.01 * function.span:
                sentence = (
                    f"{case.said}: the {named(name)} comes to {shown(float(got), False)} of {shown(end, False)}, for there the bar "
                    f"has another one at the end of its travel: change the shares"
                )
                found.append(MechFault(kind="shares", output=name, at=float(got), sentence=sentence))
    return tuple(found)


def _turned_round(moved: Transmission) -> Transmission:
    """Return a transmission whose input counts the other way."""
    return replace(
        moved,
        grid=(f64(-moved.grid[0][::-1]),),
        position=f64(moved.position[:, ::-1]),
        rate=f64(-moved.rate[:, :, ::-1]),
        bend=f64(moved.bend[:, :, ::-1]),
        angle=None if moved.angle is None else f64(moved.angle[::-1]),
        joints={name: f64(angle[::-1]) for name, angle in moved.joints.items()},
        play_at=None if moved.play_at is None else f64(moved.play_at[:, ::-1]),
    )
