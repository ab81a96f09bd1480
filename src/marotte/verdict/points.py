"""What is said of a mechanism's input at one instant: what it bears, what pushes, and what adds up to it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.contracts.mech import Load, Skin, Transmission
from marotte.basis.digest import kept_digest


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """The torque-speed line of one means at the voltage that reaches it."""

    stall_nm: float
    free_rad_s: float
    speeds: F64
    """(p,) rising from 0 to the free speed."""
    torques: F64
    """(p,) falling to 0."""

    def torque_at(self, speed: F64) -> F64:
        """Return the torque [N*m] left at a speed [rad/s]; 0 beyond the free speed."""
        return np.asarray(np.interp(np.abs(speed), self.speeds, self.torques, right=0.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """One output at one instant: what pulls at it [N*m or N], and how it moves."""

    function: str
    position: float
    speed: float
    acceleration: float
    rate: float
    """Output per input."""
    down: tuple[float, float, float]
    """Gravity [m/s2] in the frame of what the part rides on, at the attitude taken."""
    gravity: float
    spring: float
    skin: float
    skins: tuple[tuple[str, float, float], ...]
    """(skin, hold, stretch [m]) of each skin that it holds."""
    friction: float
    viscous: float
    inertia: float

    @property
    def force(self) -> float:
        """All together, as the mechanism must bring it."""
        return self.gravity + self.spring + self.skin + self.friction + self.viscous + self.inertia


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One instant at one input."""

    sample: int
    """Of the motion; -1 for a pose that is not in the part."""
    torque: float
    """Largest |torque at the input| over the attitudes [N*m]."""
    speed: float
    has: float
    """Torque that the means has at that speed [N*m]."""
    efficiency: float
    """By which the load comes to the input: the force is divided by it when it is driven, multiplied when it drives."""
    driven: bool
    dry: float
    """Dry friction at the input, with its sign [N*m]."""
    terms: tuple[Terms, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearing:
    """What one mechanism bears: its outputs' loads, and the skins that any of them holds."""

    transmission: Transmission
    loads: tuple[Load, ...]
    skins: tuple[Skin, ...]
    downs: F64
    """(a, 3) gravity vectors [m/s2], one an attitude, in the frame of what the outputs ride on."""
    _digest: list[bytes] = field(default_factory=list, init=False, compare=False, repr=False)

    def __digest__(self) -> bytes:
        return kept_digest(self, self._digest)
