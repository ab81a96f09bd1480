"""Links one after another: a rod between two joints, or a plain gain; forward from the means, backward to it.

Every joint's variable is 0 at neutral, but the last one's, which is the function's own position.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.mech.joints import SLIDE
from marotte.mech.kernels import (
    BEND,
    CONE_FAR,
    CONE_NEAR,
    POSITION,
    RATE,
    REACH,
    SIN_FAR,
    SIN_NEAR,
    branch_sign,
    follow,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One rod between two joints, on the branch that holds at neutral."""

    near: F64
    """(10,) the joint that pushes."""
    far: F64
    """(10,) the joint that is pushed."""
    rod: float
    at: tuple[float, float]
    """Variables of both joints at neutral; they must close."""
    slop: float = 0.0
    """Lost motion along the rod, full width [m]."""
    names: tuple[str, str] = ("horn", "arm")
    """What people call the two sides."""

    @property
    def reach_of_far(self) -> float:
        """Movement of the rod's end per unit of the far variable: the arm [m], or 1 for a slide."""
        return 1.0 if self.far[0] == SLIDE else float(np.linalg.norm(self.far[4:7]))

    def forward(self, v: F64, start: float) -> F64:
        """Return the rows of ``kernels.follow`` from near to far."""
        return follow(v, self.near, self.far, self.rod, branch_sign(self.near, self.far, *self.at), start)

    def backward(self, v: F64, start: float) -> F64:
        """Return the rows from far to near, with the rows of the two sides put back in near, far order."""
        sign = branch_sign(self.far, self.near, self.at[1], self.at[0])
        rows = follow(v, self.far, self.near, self.rod, sign, start)
        return rows[[POSITION, RATE, BEND, SIN_FAR, SIN_NEAR, CONE_FAR, CONE_NEAR, REACH]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """A plain ratio: far = offset + ratio * near."""

    ratio: float
    offset: float = 0.0
    play: float = 0.0
    """Lost motion at the far side, full width."""

    def forward(self, v: F64, start: float) -> F64:
        """Return the rows of ``kernels.follow``: square everywhere."""
        return _plain(self.offset + self.ratio * v, self.ratio)

    def backward(self, v: F64, start: float) -> F64:
        """Return the rows from far to near."""
        return _plain((v - self.offset) / self.ratio, 1.0 / self.ratio)


def _plain(position: F64, rate: float) -> F64:
    rows = np.zeros((8, position.size))
    rows[POSITION], rows[RATE] = position, rate
    rows[[SIN_NEAR, SIN_FAR, REACH]] = 1.0
    return rows


@dataclass(frozen=True, slots=True)
class Swept:
    """A chain over some samples (m,); ``links`` holds the rows of each link, first to last."""

    position: F64
    rate: F64
    bend: F64
    sine: F64
    """Sine of the worst angle between a rod and what it joins."""
    reach: F64
    links: tuple[F64, ...]


Step = Link | Gain


@dataclass(frozen=True, slots=True)
class Chain:
    """Links from the means to the function."""

    steps: tuple[Step, ...]
    neutral: float
    """The function's position at neutral."""

    @property
    def bends(self) -> bool:
        """Whether a turning input goes through a rod, so that a steep ratio would also change fast."""
        first = self.steps[0]
        rods = any(isinstance(step, Link) for step in self.steps)
        return rods and (isinstance(first, Gain) or bool(first.near[0] != SLIDE))

    def forward(self, u: F64, start: float) -> Swept:
        """Return the function's position and rates over input values; ``start`` is about where it is at the first."""
        return self._swept(u, [step.forward for step in self.steps], start)

    def backward(self, q: F64) -> Swept:
        """Return the input over function positions that begin at neutral; rates are of the input by the position."""
        swept = self._swept(q, [step.backward for step in reversed(self.steps)], 0.0)
        return Swept(swept.position, swept.rate, swept.bend, swept.sine, swept.reach, swept.links[::-1])

    def _swept(self, v: F64, passes: list, start: float) -> Swept:  # type: ignore[type-arg]
        position, rate, bend = v, np.ones(v.size), np.zeros(v.size)
        sine, reach = np.ones(v.size), np.ones(v.size)
        links = []
        for i, run in enumerate(passes):
            # only the last pass ends on a variable that may lie far from zero at the first sample
            rows = run(position, start if i == len(passes) - 1 else 0.0)
            bend = rows[BEND] * rate * rate + rows[RATE] * bend
            rate = rows[RATE] * rate
            position = rows[POSITION]
            sine = np.minimum(sine, np.minimum(rows[SIN_NEAR], rows[SIN_FAR]))
            reach = np.minimum(reach, rows[REACH])
            links.append(rows)
        return Swept(position, rate, bend, sine, reach, tuple(links))

    def play(self, swept: Swept) -> F64:
        """Return the lost motion at the function, (m,), full width: each rod's slop through what follows it."""
        total = np.zeros(swept.position.size)
        for step, rows in zip(self.steps, swept.links, strict=True):
            own = (
                step.play
                if isinstance(step, Gain)
                else step.slop / (step.reach_of_far * np.maximum(rows[SIN_FAR], 1e-9))
            )
            total = total * np.abs(rows[RATE]) + own
        return total
