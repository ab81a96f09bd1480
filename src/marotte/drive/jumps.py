"""What happens when power comes on and when the link is lost: short runs of the drive from places of their own.

The same islands and the same tick as the part itself. A *jump* puts every function at rest at one place and asks for another;
a *fall* takes the current away and lets gravity, springs and skins have their way against friction and gears.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from marotte.basis.contracts.common import F32, F64, f32, f64
from marotte.basis.digest import digest
from marotte.basis.frames import G0
from marotte.basis.ticks import SERIES_EVERY, SERIES_HZ, TICK_S
from marotte.drive.islands import Island
from marotte.drive.kernels import run_trace
from marotte.drive.model import DriveModel
from marotte.drive.plan import INV_R, LANES, LIMIT_A, fresh
from marotte.drive.upstream import above

LENGTH_S = 1.0
"""How long a fall is followed, and a jump after the last function was asked [s] (a rule of this project)."""
PEAK_S = 0.25
"""The same where only the highest current is wanted, which stands at the beginning [s] (a rule of this project)."""
GAP_S = 0.1
"""From one mechanism's start to the next where they start one after another [s] (a rule of this project)."""
STILL = 0.02
"""A function has arrived where it stays within this share of its way (a rule of this project)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Went:
    """Where the functions of one island went. n functions, l leads, p samples of 240 Hz."""

    functions: tuple[str, ...]
    path: F32
    """(n, p) [rad or m]."""
    fastest: F64
    """(n,) highest speed [rad/s or m/s]."""
    amps: F64
    """(l, p) highest current of each lead in each sample [A]."""
    volts: F64
    """(l, p) lowest voltage at its far end in each sample."""
    _digest: list[bytes] = field(default_factory=list, compare=False, repr=False)

    def __digest__(self) -> bytes:
        if not self._digest:
            self._digest.append(digest(("Went", self.functions, self.path, self.fastest, self.amps, self.volts)))
        return self._digest[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """How one function went."""

    start: float
    end: float
    fastest: float
    """[rad/s or m/s]"""
    arrives_s: float
    """From the beginning until it stays where it ends; 0 where it does not move."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """What the supply gave. l leads of the model, p samples of 240 Hz."""

    leads: tuple[str, ...]
    amps: F64
    """(l, p)."""
    volts: F64
    """(l, p)."""


def jump(
    island: Island, start: Mapping[str, float], goal: Mapping[str, float], waits_s: Mapping[str, float], limited: bool = True,
    length_s: float = LENGTH_S,
) -> Went:  # fmt: skip
    """Run an island from rest at one place when it is suddenly asked for another.

    Args:
        island: what runs.
        start: where each of its functions is at the beginning.
        goal: where each is asked to be.
        waits_s: how long after the beginning each is asked [s]; one that is not named is asked at once.
        limited: False takes the current limits of supply and regulators away, to see what is asked of them.
        length_s: how long it is followed after the last was asked.
    """
    names = island.asked
    waits = [int(waits_s.get(name, 0.0) * SERIES_HZ + 0.5) for name in names]
    command = np.empty((len(names), int(length_s * SERIES_HZ) + max(waits)))
    for row, (name, wait) in enumerate(zip(names, waits, strict=True)):
        first = 1 + wait
        command[row, :first], command[row, first:] = start[name], goal[name]
    plan = island.plan
    if not limited:
        leads = np.array(plan.lead_f)
        leads[:, LIMIT_A] = np.inf
        plan = plan._replace(lead_f=f64(leads))
    return _run(replace(island, plan=plan), command)


def fall(island: Island, start: Mapping[str, float]) -> Went:
    """Run an island from rest with the motors without current: no braking either, as with the power cut.

    What the gears lose when they are turned backwards is taken as what they lose unloaded, so that what may fall falls.
    """
    lanes = np.array(island.plan.lanes)
    lanes[:, INV_R : INV_R + LANES] = 0.0
    command = np.repeat([[start[name]] for name in island.asked], int(LENGTH_S * SERIES_HZ), axis=1)
    return _run(replace(island, plan=island.plan._replace(lanes=f64(lanes))), command)


def _run(island: Island, command: F64) -> Went:
    n, leads, samples = len(island.functions), len(island.leads), command.shape[1]
    ticks = samples * SERIES_EVERY
    gravity = np.zeros((samples, 2, 3))  # the head stands level
    gravity[:, :, 1] = -G0
    drive, rows, lead = np.zeros((7, len(island.drives), ticks)), np.zeros((n, ticks)), np.zeros((2, leads, ticks))
    outs, played = np.ascontiguousarray(command[:n]), np.ascontiguousarray(command[n:])
    run_trace(island.plan, fresh(island.plan, len(island.plain)), outs, played, gravity, 0, 0, ticks, drive, rows, lead)
    return Went(
        functions=island.functions,
        path=f32(rows[:, ::SERIES_EVERY]),
        fastest=f64(np.abs(np.diff(rows, axis=1)).max(axis=1) / TICK_S),
        amps=f64(lead[1].reshape(leads, samples, SERIES_EVERY).max(axis=2)),
        volts=f64(lead[0].reshape(leads, samples, SERIES_EVERY).min(axis=2)),
    )


def one_by_one(model: DriveModel) -> dict[str, float]:
    """Return when each function is asked [s] where mechanisms start one after another, in the order of the model."""
    return {name: GAP_S * k for k, table in enumerate(model.tables) for name in table.outputs}


def moved(parts: Sequence[Went]) -> dict[str, Moved]:
    """Return how each function went, by name."""
    out: dict[str, Moved] = {}
    for part in parts:
        for k, name in enumerate(part.functions):
            path = part.path[k].astype(np.float64)
            start, end = float(path[0]), float(path[-1])
            off = np.abs(path - end) > max(STILL * abs(end - start), 1e-6)
            arrives = float(np.flatnonzero(off)[-1] + 1) / SERIES_HZ if off.any() else 0.0
            out[name] = Moved(start=start, end=end, fastest=float(part.fastest[k]), arrives_s=arrives)
    return out


def drawn(model: DriveModel, islands: Sequence[Island], parts: Sequence[Went]) -> Drawn:
    """Return currents and voltages of the whole tree, those above the islands from what these draw."""
    at = {row.name: k for k, row in enumerate(model.leads)}
    samples = max((part.amps.shape[1] for part in parts), default=1)
    amps, volts = np.zeros((len(at), samples)), np.zeros((len(at), samples))
    inside: set[int] = set()
    borders: dict[int, F64] = {}
    for island, part in zip(islands, parts, strict=True):
        for k, name in enumerate(island.leads):
            inside.add(at[name])
            over = (0, samples - part.amps.shape[1])  # one that is done earlier stays as it is
            amps[at[name]], volts[at[name]] = (np.pad(rows[k], over, mode="edge") for rows in (part.amps, part.volts))
            if k in island.roots:
                borders[at[name]] = amps[at[name]]
    tree = above(model, inside, borders, samples)
    outer = [k for k in range(len(at)) if k not in inside]
    amps[outer], volts[outer] = tree.amps[outer], tree.volts[outer]
    return Drawn(leads=tuple(at), amps=f64(amps), volts=f64(volts))
