"""What a transmission reaches, and where its inputs stand for a position of its outputs."""

from __future__ import annotations

from typing import Literal

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.contracts.mech import Transmission


def reached_span(
    transmission: Transmission, output: str, travel: tuple[float, float], turn: float | None
) -> tuple[float, float, Literal["mech", "servo", "all"]]:
    """Return (low, high, what ends it) of an output inside its travel.

    ``turn`` is the whole turn of the means, split so as to lose least: where the horn is put on the spline is free. With
    two inputs each output is looked at with the other at its neutral.
    """
    position, inputs = along(transmission, output)
    order = np.argsort(position, kind="stable")
    position, inputs = position[order], inputs[order]
    low, high = max(float(position[0]), travel[0]), min(float(position[-1]), travel[1])
    tiny = 1e-6 * (travel[1] - travel[0])
    whole = low <= travel[0] + tiny and high >= travel[1] - tiny
    if turn is None or high <= low:
        return low, max(high, low), "all" if whole else "mech"
    first, last = np.interp([low, high], position, inputs)
    if abs(last - first) <= turn * (1.0 + 1e-9):
        return low, high, "all" if whole else "mech"
    return (*_best_piece(position, inputs, low, high, turn), "servo")


def along(transmission: Transmission, output: str) -> tuple[F64, F64]:
    """Return (position, input) of one output along its own input; with two inputs, along the mix that moves it alone."""
    k = transmission.outputs.index(output)
    if len(transmission.grid) == 1:
        return transmission.position[k], transmission.grid[0]
    first, second = transmission.grid
    i0, j0 = int(np.argmin(np.abs(first))), int(np.argmin(np.abs(second)))
    rate = transmission.rate[:, :, i0, j0]
    # The direction in the plane of the inputs that leaves the other output alone, to first order, at neutral.
    other = 1 - k if len(transmission.outputs) == 2 else None
    direction = np.array([rate[k, 0], rate[k, 1]]) if other is None else np.array([rate[other, 1], -rate[other, 0]])
    if direction @ rate[k] < 0:
        direction = -direction
    direction = direction / np.abs(direction).max()
    steps = first if first.size >= second.size else second
    keep = steps[
        (np.abs(steps * direction[0]) <= np.abs(first).max()) & (np.abs(steps * direction[1]) <= np.abs(second).max())
    ]
    position = np.array(
        [bilinear(transmission.position[k], first, second, s * direction[0], s * direction[1]) for s in keep]
    )
    return position, keep * np.abs(direction).max()


def bilinear(table: F64, first: F64, second: F64, x: float, y: float) -> float:
    """Return a table's value at a place between its grid lines."""
    u = float(np.clip((x - first[0]) / (first[1] - first[0]), 0.0, first.size - 1.000001))
    v = float(np.clip((y - second[0]) / (second[1] - second[0]), 0.0, second.size - 1.000001))
    i, j = int(u), int(v)
    a, b = u - i, v - j
    return float(
        (1 - a) * (1 - b) * table[i, j]
        + a * (1 - b) * table[i + 1, j]
        + (1 - a) * b * table[i, j + 1]
        + a * b * table[i + 1, j + 1]
    )


def _best_piece(position: F64, inputs: F64, low: float, high: float, turn: float) -> tuple[float, float]:
    """Return the piece of the travel, a servo's turn wide, that is longest."""
    best = (low, low)
    grid = np.linspace(low, high, 181)
    at = np.interp(grid, position, inputs)
    rising = at[-1] >= at[0]
    for k, start in enumerate(at):
        end = start + turn if rising else start - turn
        stop = float(np.interp(end, at, grid)) if rising else float(np.interp(-end, -at, grid))
        if stop - grid[k] > best[1] - best[0] + 1e-12:
            best = (float(grid[k]), stop)
    return best
