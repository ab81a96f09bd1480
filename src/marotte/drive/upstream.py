"""What the islands draw from the tree above them, and whether their borders held."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.drive.model import DriveModel
from marotte.drive.plan import LINEAR, PLAIN

PASSES = 12
"""Fixed number of passes for power drawn by switching regulators; each shrinks the error by the share of the drop."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Above:
    """The tree above the borders, over some samples. l leads of the model, p samples."""

    amps: F64
    """(l, p) current in each lead; rows of leads inside islands as they were run."""
    volts: F64
    """(l, p) at the far end; NaN-free: rows inside islands are not filled and stay 0."""
    dropped: bool
    """Whether a regulator at a border had too little above it."""


def above(model: DriveModel, inside: set[int], drawn: dict[int, F64], samples: int) -> Above:
    """Return currents and voltages of the leads above the islands.

    Args:
        model: the drive model.
        inside: leads that were run in an island.
        drawn: (samples,) current of each border lead, by its index.
        samples: how many.
    """
    leads = model.leads
    amps, volts = np.zeros((len(leads), samples)), np.zeros((len(leads), samples))
    for k, series in drawn.items():
        amps[k] = series
    outer = [k for k in range(len(leads)) if k not in inside]
    for k in outer:
        volts[k] = _nominal(model, k)
    for _ in range(PASSES):
        before = volts.copy()
        for k in reversed(outer):
            amps[k] = 0.0
            for child in range(len(leads)):
                if leads[child].parent == k:
                    amps[k] += _taken(model, child, amps[child], volts[k])
        for k in outer:
            near = leads[k].source_v if leads[k].parent < 0 or leads[k].regulator != PLAIN else volts[leads[k].parent]
            volts[k] = np.maximum(near - leads[k].ohm * amps[k], 0.0)
        if np.array_equal(volts, before):  # currents follow from voltages: further passes would change nothing
            break
    dropped = False
    for k in (*outer, *drawn):
        row = leads[k]
        if row.parent >= 0 and row.regulator != PLAIN and row.parent in outer:
            dropped = dropped or bool((volts[row.parent] - row.drop_v < row.source_v).any())
    return Above(amps=amps, volts=volts, dropped=dropped)


def _nominal(model: DriveModel, index: int) -> float:
    row = model.leads[index]
    return row.source_v if row.parent < 0 or row.regulator != PLAIN else _nominal(model, row.parent)


def _taken(model: DriveModel, child: int, amps: F64, volts: F64) -> F64:
    """Return the current that a lead takes from above: the same, or by power where its regulator switches."""
    row = model.leads[child]
    if row.regulator in (PLAIN, LINEAR):
        return amps
    return np.maximum(amps, 0.0) * row.source_v / (row.efficiency * np.maximum(volts, 0.25 * row.source_v))
