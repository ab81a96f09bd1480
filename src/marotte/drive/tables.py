"""A transmission with the loads of its outputs, made into one table over its inputs.

Everything is brought to the input by the principle of virtual work (torque at the input = sum of rate x force at the
outputs), so that a tick reads one row however many outputs there are.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from marotte.basis.contracts.common import F64, f64
from marotte.basis.contracts.mech import Load, Transmission
from marotte.basis.digest import kept_digest
from marotte.drive.plan import T1_BASE, T2_BASE, T2_BEND, T2_DRY, T2_GRAVITY, T2_MASS, T2_SPRING, T2_VISC

INVERSE_PER_PLACE = 2
"""Places of an inverse table for each place of the table."""
STEEP = ((1.5, 1), (3.0, 2), (5.0, 4))
"""Steepest ratio over the usual one -> substeps; beyond the last, 8."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One mechanism over its inputs."""

    name: str
    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    grid: tuple[F64, ...]
    rows: F64
    """(m, columns) or (m0, m1, columns)."""
    inverse: F64
    """(out, places) input over uniform output; empty for two inputs."""
    inverse_from: F64
    """(out,) least output."""
    inverse_to: F64
    weight: F64
    """(out,) share of each output in what a shared input is told."""
    dry: float
    loss_on: float
    """Friction per load torque when the input drives the load: 1/efficiency - 1."""
    loss_back: float
    """The same when the load drives: 1 - efficiency."""
    substeps: int
    _digest: list[bytes] = field(default_factory=list, init=False, compare=False, repr=False)

    def __digest__(self) -> bytes:
        return kept_digest(self, self._digest)


def table(transmission: Transmission, loads: dict[str, Load]) -> Table:
    """Return the table of a mechanism.

    Raises:
        ValueError: neither one nor two inputs, or a grid too short to interpolate in.
    """
    if len(transmission.inputs) not in (1, 2) or any(len(axis) < 2 for axis in transmission.grid):
        raise ValueError(f"{transmission.name}: a mechanism has one or two inputs and a grid of two places at least")
    one = len(transmission.inputs) == 1
    rows = _one(transmission, loads) if one else _two(transmission, loads)
    rate = np.abs(transmission.rate)
    usual = np.median(rate.reshape(rate.shape[0] * rate.shape[1], -1), axis=1)
    steepest = rate.reshape(len(usual), -1).max(axis=1) / np.maximum(usual, 1e-12)
    steep = float(steepest.max()) if one else 1.0
    inverse, low, high = _inverse(transmission) if one else (np.zeros((0, 0)), np.zeros(0), np.zeros(0))
    strength = (transmission.rate**2).reshape(len(transmission.outputs), -1).mean(axis=1)
    return Table(
        name=transmission.name,
        inputs=transmission.inputs,
        outputs=transmission.outputs,
        grid=transmission.grid,
        rows=f64(rows),
        inverse=f64(inverse),
        inverse_from=f64(low),
        inverse_to=f64(high),
        weight=f64(strength / max(float(strength.sum()), 1e-30)),
        dry=transmission.dry,
        loss_on=1.0 / transmission.forward - 1.0,
        loss_back=1.0 - transmission.back,
        substeps=next((steps for ratio, steps in STEEP if steep <= ratio), 8),
    )


def _load(loads: dict[str, Load], name: str, position: F64) -> tuple[F64, F64, float, float, float]:
    """Return gravity (3, ...), spring (...), inertia, dry and viscous friction of an output at positions (...)."""
    load = loads.get(name)
    if load is None:
        return np.zeros((3, *position.shape)), np.zeros(position.shape), 0.0, 0.0, 0.0
    flat = position.ravel()
    gravity = np.stack([np.interp(flat, load.grid, row).reshape(position.shape) for row in load.gravity])
    spring = np.interp(flat, load.grid, load.spring).reshape(position.shape)
    return gravity, spring, load.inertia, load.dry, load.viscous


def _one(t: Transmission, loads: dict[str, Load]) -> F64:
    columns = [np.zeros_like(t.grid[0]) for _ in range(T1_BASE)]
    tail: list[F64] = []
    for o, name in enumerate(t.outputs):
        position, rate, bend = t.position[o], t.rate[o, 0], t.bend[o, 0]
        gravity, spring, inertia, dry, viscous = _load(loads, name, position)
        pieces = (
            inertia * rate**2, inertia * rate * bend, rate * gravity[0], rate * gravity[1], rate * gravity[2],
            rate * spring, np.abs(rate) * dry, rate**2 * viscous,
        )  # fmt: skip
        for column, piece in zip(columns, pieces, strict=True):
            column += piece
        tail += [position, rate]
    return np.stack(columns + tail, axis=-1)


def _two(t: Transmission, loads: dict[str, Load]) -> F64:
    shape = t.position.shape[1:]
    rows = np.zeros((*shape, T2_BASE + 3 * len(t.outputs)))
    step0, step1 = float(t.grid[0][1] - t.grid[0][0]), float(t.grid[1][1] - t.grid[1][0])
    for o, name in enumerate(t.outputs):
        r0, r1 = t.rate[o, 0], t.rate[o, 1]
        gravity, spring, inertia, dry, viscous = _load(loads, name, t.position[o])
        # second derivatives: own ones from the transmission, the mixed one from both rate tables
        mixed = 0.5 * (np.gradient(r0, step1, axis=1) + np.gradient(r1, step0, axis=0))
        second = (t.bend[o, 0], 2.0 * mixed, t.bend[o, 1])
        for k, mass in enumerate((r0 * r0, r0 * r1, r1 * r1)):
            rows[..., T2_MASS + k] += inertia * mass
            rows[..., T2_VISC + k] += viscous * mass
        for i, rate in enumerate((r0, r1)):
            for axis in range(3):
                rows[..., T2_GRAVITY + 3 * i + axis] += rate * gravity[axis]
            rows[..., T2_SPRING + i] += rate * spring
            rows[..., T2_DRY + i] += np.abs(rate) * dry
            for k in range(3):
                rows[..., T2_BEND + 3 * i + k] += inertia * rate * second[k]
        rows[..., T2_BASE + 3 * o] = t.position[o]
        rows[..., T2_BASE + 3 * o + 1] = r0
        rows[..., T2_BASE + 3 * o + 2] = r1
    return rows


def _inverse(t: Transmission) -> tuple[F64, F64, F64]:
    places = INVERSE_PER_PLACE * len(t.grid[0]) + 1
    inverse = np.empty((len(t.outputs), places))
    low, high = t.position.min(axis=1), t.position.max(axis=1)
    for o, position in enumerate(t.position):
        order = np.argsort(position, kind="stable")
        inverse[o] = np.interp(np.linspace(low[o], high[o], places), position[order], t.grid[0][order])
    return inverse, low, high
