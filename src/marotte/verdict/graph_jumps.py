"""The cells of the two upsets: power coming on, and the link lost, each run through the drive from a place of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.drive import Response
from marotte.creature.creature import Creature
from marotte.creature.schema.functions import Function
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
    """How each function goes when the power is cut at the farthest place that it gets to in the part."""
    asked: Mapping[Start, Drawn]
    """What power-up asks of the supply with no limit in its way, by the way in which servos start."""
    given: Drawn
    """What it gets, limits and all, started as the file says."""
    up: Mapping[str, Moved]
    """How each function goes then."""
    lost: Mapping[str, Moved]
    """How each function goes when the link is lost at the farthest place that it gets to in the part; empty where all hold."""


def upsets(
    creature: Creature, response: Response | Unknown, reach: Mapping[str, tuple[float, float]], model: DriveModel, cache: Cache
) -> Upsets:  # fmt: skip
    """Return what happens when power comes on and when the link is lost.

    ``reach`` is, by mechanism, how far its first output can be held: where there is no part, nothing gets farther.
    """
    neutral = {name: function.neutral for name, function in creature.functions.items()}
    driven = {name for table in model.tables for name in table.outputs}
    held = {creature.mechs[mech].outputs[0]: ends for mech, ends in reach.items()}
    far = {
        name: _farthest(function, name, response, held.get(name)) if name in driven else function.neutral
        for name, function in creature.functions.items()
    }
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
        safe = {name: function.on_lost_signal for name, function in creature.functions.items()}
        lost = moved([cell.value for cell in _each(parts, cache, jump, far, safe, {}, True)])
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


def _farthest(function: Function, name: str, response: Response | Unknown, held: tuple[float, float] | None) -> float:
    """Return the place farthest from neutral that a function gets to in the part; without a part, the far end of its travel.

    What its servo cannot hold (``held``: down and up) it does not get to either.
    """
    low, high = function.travel
    if not isinstance(response, Unknown) and name in response.reached.names:
        row = response.reached.row(name)
        low, high = max(low, float(row.min())), min(high, float(row.max()))
    elif held is not None:
        low, high = max(low, held[0]), min(high, held[1])
    return max((low, high), key=lambda place: abs(place - function.neutral))


def written(creature: Creature, name: str) -> bool:
    """Return whether the file says where a function falls without power."""
    return not creature.functions[name].ref("power_off").startswith("default:")
