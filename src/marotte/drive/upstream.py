"""What the islands draw from the tree above them, and whether their borders held."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from marotte.basis.compiled import compiled
from marotte.basis.contracts.common import F64, I64, Bool
from marotte.drive.islands import Island
from marotte.drive.leads import resting_volts
from marotte.drive.model import DriveModel
from marotte.drive.plan import LINEAR, PLAIN
from marotte.drive.windows import WindowResult

PASSES = 12
"""Fixed number of passes for power drawn by switching regulators; each shrinks the error by the share of the drop."""
AT_ONCE = 256
"""Samples that are gone through together, so that they stay near the processor."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Above:
    """The tree above the borders, over some samples. l leads of the model, p samples."""

    amps: F64
    """(l, p) current in each lead; rows of leads inside islands as they were run."""
    volts: F64
    """(l, p) at the far end; NaN-free: rows inside islands are not filled and stay 0."""
    dropped: bool
    """Whether a regulator at a border had too little above it."""


def leads_inside(model: DriveModel, parts: Iterable[Island]) -> dict[int, tuple[int, int]]:
    """Return lead of the model -> (island, its lead there)."""
    at = {row.name: i for i, row in enumerate(model.leads)}
    return {at[name]: (p, i) for p, part in enumerate(parts) for i, name in enumerate(part.leads)}


def aboves(model: DriveModel, parts: Sequence[Island], results: Sequence[Sequence[WindowResult]]) -> tuple[Above, ...]:
    """Return the tree above the borders in every window, rows of the leads outside the islands alone, in the model's order.

    Where one is ``dropped``, the whole must be run joined.

    Args:
        model: the drive model.
        parts: its islands as they were run.
        results: by island, then by window.
    """
    inside = leads_inside(model, parts)
    roots = {lead: (p, i) for lead, (p, i) in inside.items() if i in parts[p].roots}
    outer = [lead for lead in range(len(model.leads)) if lead not in inside]
    out: list[Above] = []
    for w in range(len(results[0]) if parts else 0):
        drawn = {lead: results[p][w].drawn[i].astype(np.float64) for lead, (p, i) in roots.items()}
        tree = above(model, set(inside), drawn, results[0][w].drawn.shape[1])
        out.append(replace(tree, amps=tree.amps[outer], volts=tree.volts[outer]))
    return tuple(out)


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
        volts[k] = resting_volts(leads, k)
    parents = np.array([row.parent for row in leads], dtype=np.int64)
    firm = np.array([row.regulator != PLAIN for row in leads])
    switches = np.array([row.regulator not in (PLAIN, LINEAR) for row in leads])
    numbers = np.array([(row.ohm, row.source_v, row.efficiency) for row in leads])
    if outer:
        _climb(np.array(outer, dtype=np.int64), parents, firm, switches, numbers, amps, volts)
    dropped = False
    for k in (*outer, *drawn):
        row = leads[k]
        if row.parent >= 0 and row.regulator != PLAIN and row.parent in outer:
            dropped = dropped or bool((volts[row.parent] - row.drop_v < row.source_v).any())
    return Above(amps=amps, volts=volts, dropped=dropped)


@compiled(error_model="numpy")
def _climb(outer: I64, parents: I64, firm: Bool, switches: Bool, numbers: F64, amps: F64, volts: F64) -> None:
    """Fill currents and voltages of the leads above the borders, some samples at a time.

    Args:
        outer: those leads, parents first.
        parents: (l,) lead that feeds each; -1 for the battery.
        firm: (l,) whether a regulator or the battery holds its near end.
        switches: (l,) whether it takes power from above instead of current.
        numbers: (l, 3) resistance, voltage of its source, efficiency.
        amps: (l, p) rows of the border leads filled.
        volts: (l, p) rows of the outer leads at their resting voltage.
    """
    leads, samples = amps.shape
    for first in range(0, samples, AT_ONCE):
        last = min(first + AT_ONCE, samples)
        for _ in range(PASSES):
            for turn in range(len(outer)):
                k = outer[len(outer) - 1 - turn]
                total, here = amps[k, first:last], volts[k, first:last]
                total[:] = 0.0
                for child in range(leads):
                    if parents[child] != k:
                        continue
                    own, source, share = amps[child, first:last], numbers[child, 1], numbers[child, 2]
                    if switches[child]:
                        for s in range(last - first):
                            total[s] += max(own[s], 0.0) * source / (share * max(here[s], 0.25 * source))
                    else:
                        for s in range(last - first):
                            total[s] += own[s]
            moved = False
            for turn in range(len(outer)):
                k = outer[turn]
                here, total, ohm = volts[k, first:last], amps[k, first:last], numbers[k, 0]
                held = parents[k] < 0 or firm[k]
                near = volts[max(parents[k], 0), first:last]
                for s in range(last - first):
                    fed = numbers[k, 1] if held else near[s]
                    now = max(fed - ohm * total[s], 0.0)
                    moved = moved or now != here[s]
                    here[s] = now
            if not moved:  # currents follow from voltages: further passes would change nothing
                break
