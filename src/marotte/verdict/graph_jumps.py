"""The cells of the two upsets: power coming on, and the link lost, each run through the drive from a place of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.script import Demand
from marotte.creature.creature import Creature
from marotte.drive import METHODS
from marotte.drive.islands import Island, islands
from marotte.drive.jumps import LENGTH_S, PEAK_S, Drawn, Moved, Went, drawn, fall, jump, moved, one_by_one
from marotte.drive.model import DriveModel
from marotte.verdict.cells import Cache, Cell

Start = Literal["together", "staggered"]
METHOD, NUMBER = "drive/jumps", METHODS["drive/jumps"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Upsets:
    """What happens when power comes on, and when the link is lost."""

    lies: Mapping[str, float]
    """Where each function lies without power."""
    cut: Mapping[str, Moved]
    """How each function goes when the power is cut at the farthest place that the part asks of it."""
    asked: Mapping[Start, Drawn]
    """What power-up asks of the supply with no limit in its way, by the way in which servos start."""
    given: Drawn
    """What it gets, limits and all, started as the file says."""
    up: Mapping[str, Moved]
    """How each function goes then."""
    lost: Mapping[str, Moved]
    """How each function goes when the link is lost at the farthest place that the part asks of it; empty where all hold."""


def upsets(creature: Creature, demand: Demand | Unknown, model: DriveModel, cache: Cache) -> Upsets:
    """Return what happens when power comes on and when the link is lost."""
    neutral = {name: function.neutral for name, function in creature.functions.items()}
    driven = {name for table in model.tables for name in table.outputs}
    far = {name: _farthest(creature, name, demand) if name in driven else neutral[name] for name in neutral}
    parts = islands(model, again=cache.again)
    down = _each(parts, cache, fall, far)
    cut = moved([cell.value for cell in down])
    lies = dict(neutral)
    for name, way in cut.items():
        function = creature.functions[name]
        lies[name] = function.power_off if written(creature, name) else way.end
    link = creature.supply.link if creature.supply is not None else None
    start: Start = link.start if link is not None else "together"
    waits: dict[Start, dict[str, float]] = {"together": {}, "staggered": one_by_one(model)}
    free = {
        way: _each(parts, cache, jump, lies, neutral, when, False, LENGTH_S if way == start else PEAK_S)
        for way, when in waits.items()
    }
    asked = {way: _drawn(model, parts, went) for way, went in free.items()}
    up, given = free[start], asked[start]
    limits = np.array([row.limit_a for row in model.leads])
    if (given.amps.max(axis=1) > limits).any():
        whole = islands(model, True, cache.again)
        up = _each(whole, cache, jump, lies, neutral, waits[start], True)
        given = _drawn(model, whole, up)
    lost: Mapping[str, Moved] = {}
    if link is not None and link.on_loss == "power_off":
        lost = cut
    elif link is not None and link.on_loss == "neutral":
        lost = moved([cell.value for cell in _each(parts, cache, jump, far, neutral, {}, True)])
    return Upsets(lies=lies, cut=cut, asked=asked, given=given, up=moved([cell.value for cell in up]), lost=lost)


def _each(parts: tuple[Island, ...], cache: Cache, run: Callable[..., Went], *rest: object) -> list[Cell[Went]]:
    """Return one cell an island; what an island does not move is no part of its key."""
    out: list[Cell[Went]] = []
    for part in parts:
        own = set(part.asked)
        mine = [
            {name: value for name, value in item.items() if name in own} if isinstance(item, dict) else item
            for item in rest
        ]
        out.append(cache.cell(METHOD, NUMBER, run, part, *mine, by_key=True))
    return out


def _drawn(model: DriveModel, parts: tuple[Island, ...], went: list[Cell[Went]]) -> Drawn:
    return drawn(model, parts, [cell.value for cell in went])


def _farthest(creature: Creature, name: str, demand: Demand | Unknown) -> float:
    """Return the place farthest from neutral that the part asks of a function; without a part, the far end of its travel."""
    function = creature.functions[name]
    ends = function.travel
    if not isinstance(demand, Unknown) and name in demand.motion.names:
        row = demand.motion.row(name)
        ends = (float(row.min()), float(row.max()))
    return max(ends, key=lambda place: abs(place - function.neutral))


def written(creature: Creature, name: str) -> bool:
    """Return whether the file says where a function falls without power."""
    return not creature.functions[name].ref("power_off").startswith("default:")
