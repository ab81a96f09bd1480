"""The cells of a pack at the end of its time: the scarcest moments of the part once more, on what is then left of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.drive import Response
from marotte.basis.contracts.script import Demand, Window
from marotte.basis.ticks import TICKS_PER_SECOND, on_series
from marotte.creature.creature import Creature
from marotte.creature.schema.audience import Show
from marotte.creature.schema.supply import Cells
from marotte.drive import METHODS
from marotte.drive.islands import islands
from marotte.drive.leads import nominal_volts
from marotte.drive.model import DriveModel, with_source
from marotte.drive.supply import spent_ohm, spent_volts
from marotte.drive.windows import VOLTS, cut_rows, window
from marotte.verdict.cells import Cache, Cell

BEFORE: Final = TICKS_PER_SECOND // 4
AFTER: Final = TICKS_PER_SECOND // 10
"""Ticks round a scarce moment that count; the run-in of a window lies before them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spent:
    """A pack at the end of its time, and what reaches the servos then."""

    used: float
    """Share of its capacity."""
    calls: int
    """Whole calls that it stays in; 0 where it is swapped within a call, when what may be used of it is used."""
    volts: float
    """At rest [V]."""
    ohm: float
    least: Mapping[str, tuple[float, int]]
    """By drive: lowest voltage at the scarcest moments of the part [V], and about when."""


def spent(
    creature: Creature, demand: Cell[Demand] | Unknown, response: Response | Unknown, model: DriveModel, cache: Cache
) -> Spent | None:
    """Return what a spent pack leaves; None where there is no pack, no part, or nothing that draws on it."""
    supply = creature.supply
    if supply is None or not isinstance(supply.battery, Cells) or not model.drives:
        return None
    if isinstance(demand, Unknown) or isinstance(response, Unknown) or response.rails.mean_a <= 0.0:
        return None
    pack = supply.battery
    used, calls = end_of(pack, response.rails.mean_a, creature.show)
    volts = pack.cells * spent_volts(creature.stock_tables.batteries[pack.kind], used)
    ohm = spent_ohm(pack.resistance, used)
    (island,) = islands(with_source(model, volts, ohm), True, cache.again)
    method, number, motion = "drive/drive", METHODS["drive/drive"], demand.value.motion
    least = {row.name: (np.inf, 0) for row in model.drives}
    for tick in scarcest(response, model):
        span = Window(id="spent", start=max(on_series(tick - BEFORE), motion.start), stop=tick + AFTER, line=0)
        asked = cache.cell(method, number, cut_rows, island.asked, motion, None, span)
        peaks = cache.cell(method, number, window, island, asked, span, by_key=True).value.peaks
        for name, low in zip(island.drives, peaks[:, VOLTS], strict=True):
            least[name] = min(least[name], (float(low), tick))
    return Spent(used=used, calls=calls, volts=volts, ohm=ohm, least=least)


def end_of(pack: Cells, mean_a: float, show: Show) -> tuple[float, int]:
    """Return the share of a pack that is used when it comes out, and the whole calls that it stays in.

    As people swap: between calls where one pack lasts a call, else when what may be used of it is used.
    """
    lasts = pack.capacity * pack.usable / mean_a
    calls = min(math.floor(lasts / show.call_length * (1.0 + 1e-12)), show.calls)
    return (calls * show.call_length * mean_a / pack.capacity, calls) if calls else (pack.usable, 0)


def scarcest(response: Response, model: DriveModel) -> list[int]:
    """Return the ticks at which most is drawn of the battery, and at which least of its voltage reaches a servo."""
    rails, worst = response.rails, response.worst
    rest = np.array([nominal_volts(model.leads, model.drive(name).lead) for name in worst.drives])
    lowest = int(worst.voltage_at[int(np.argmin(worst.voltage / rest))])
    highest = int(rails.highest_at[0])
    return [highest] if abs(highest - lowest) < AFTER else [highest, lowest]
