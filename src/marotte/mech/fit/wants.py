"""Where a linkage wants the shaft of its servo, so that it is the linkage that was computed. docs/methods/fit.md.

Every kind says it in one of two forms: the shaft lies on a ring about a line (a four-bar, a direct drive, a crank-slider, a gimbal, a
ball-ended rod, a bell-crank before an arm), or it lies round a crank that itself stands behind a tab. A wire in a housing and a tee bar
whose links to the tabs have no length say nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.creature.anatomy import PARTS
from marotte.creature.schema.mechs import BallRod, BellCrank, CrankSlider, Direct, FourBar, TwoRodGimbal
from marotte.mech.fit.seat import Pose, Seat, shaft_of
from marotte.mech.kinds.two_rod_gimbal import rods_of

ROUND: Final = 24
"""Places tried round a ring."""
ALONG: Final = 4e-3
"""Between places tried along an axle [m]."""
ASIDE: Final = 28e-3
"""How far along its axle from the given point an arm may be put on [m]: a rule of this project."""
FAR_ASIDE: Final = 60e-3
"""The same of a direct drive, which may turn its axle through a tube [m]: a rule of this project."""
LEFT: Final = np.array([1.0, 0.0, 0.0])


@dataclass(frozen=True, slots=True)
class Ring:
    """A shaft on a ring about a line."""

    at: F64
    """A point on the line [m]."""
    way: F64
    """Unit direction of the line."""
    along: float | None
    """How far along the line from the point [m]; None: anywhere."""
    radius: tuple[float, float]
    """Least and largest distance from the line [m]."""
    shaft: Literal["along", "across"]
    """Whether the shaft lies along the line, or square to it and to the way out to it."""
    says: str

    def off(self, shafts: F64) -> F64:
        """Return (n,) how far shafts (n, 3) must move [m] until the linkage is as computed."""
        way = shafts - self.at
        along = way @ self.way
        flat = np.sqrt(np.maximum((way**2).sum(axis=-1) - along**2, 0.0))
        wrong = np.maximum(np.maximum(self.radius[0] - flat, flat - self.radius[1]), 0.0)
        return np.asarray(wrong if self.along is None else np.hypot(wrong, along - self.along))

    def turned(self, shaft: F64, axis: F64) -> float:
        """Return the angle [rad] between the axis of a shaft and the nearest that the linkage can use."""
        if self.shaft == "along":
            return math.acos(min(abs(float(axis @ self.way)), 1.0))
        least = 0.1 * self.radius[1] if self.radius[1] > 0.0 else math.inf
        return _across(self.at, self.way, least, shaft, axis)

    def places(self) -> tuple[F64, F64]:
        """Return (n, 3) shafts [m] and (n, 3) axes that are exactly right, those nearest to the point first."""
        first, second = square_to(self.way)
        angles = 2.0 * math.pi * np.arange(ROUND) / ROUND
        out = np.cos(angles)[:, None] * first + np.sin(angles)[:, None] * second
        if self.shaft == "across":
            assert self.along is not None  # a slide has a place at neutral
            shafts = self.at + self.along * self.way + self.radius[0] * out
            return shafts, np.cross(np.broadcast_to(self.way, out.shape), out)
        steps = _steps(0.0 if self.along is not None else ASIDE if self.radius[1] > 0.0 else FAR_ASIDE)
        base = self.at + (steps + (self.along or 0.0))[:, None] * self.way
        rings = np.unique(np.linspace(*self.radius, 5)) if self.radius[1] > 0.0 else np.zeros(1)
        ways = out if self.radius[1] > 0.0 else out[:1]
        shafts = (base[:, None, None, :] + rings[:, None, None] * ways).reshape(-1, 3)
        return shafts, np.broadcast_to(self.way, shafts.shape)


@dataclass(frozen=True, slots=True)
class Behind:
    """A shaft round a crank that stands behind a tab, all in one plane with the way of the tab.

    Where the crank's link to the tab has no length written, it stands anywhere behind the tab, as far beside its way as its arm reaches.
    """

    at: F64
    """The tab at neutral [m]."""
    way: F64
    """Unit direction in which the tab goes out, away from the crank."""
    back: float | None
    """How far behind the tab the crank stands [m]; None: its link to the tab has no length written."""
    beside: float
    """How far beside the tab's way its axle stands [m]; at most so far where ``back`` is None."""
    ground: float
    """From the crank's axle to the shaft [m]."""
    says: str

    def off(self, shafts: F64) -> F64:
        """Return (n,) how far shafts (n, 3) must move [m] until the linkage is as computed."""
        way = shafts - self.at
        along = way @ self.way
        flat = np.sqrt(np.maximum((way**2).sum(axis=-1) - along**2, 0.0))
        if self.back is None:
            far = np.hypot(np.maximum(along, 0.0), np.maximum(flat - self.beside, 0.0))
            return np.asarray(np.maximum(far - self.ground, 0.0))
        wrong = [np.abs(np.hypot(along + self.back, side) - self.ground) for side in self._sides(flat)]
        return np.asarray(np.minimum(*wrong))

    def _sides(self, flat: F64) -> tuple[F64, F64]:
        return flat - self.beside, flat + self.beside

    def crank(self, shaft: F64) -> F64:
        """Return where the crank's axle stands [m] for a shaft."""
        way = shaft - self.at
        along = float(way @ self.way)
        flat = way - along * self.way
        size = float(np.linalg.norm(flat))
        out = flat / size if size > 1e-9 else square_to(self.way)[0]
        if self.back is not None:
            sides = [self.at - self.back * self.way + side * self.beside * out for side in (1.0, -1.0)]
            return np.asarray(min(sides, key=lambda axle: abs(float(np.linalg.norm(shaft - axle)) - self.ground)))
        # as square to the tab as the shaft allows: on its side of the way, as far beside as the arm reaches
        side = max(size - self.ground, min(self.beside, size))
        reach = math.sqrt(max(self.ground**2 - (size - side) ** 2, 0.0))
        back = -along - reach if along + reach < 0.0 else max(reach - along, 0.0)
        return np.asarray(self.at - back * self.way + side * out)

    def turned(self, shaft: F64, axis: F64) -> float:
        """Return the angle [rad] between the axis of a shaft and the nearest that the linkage can use."""
        return _across(self.at, self.way, 0.1 * self.ground, shaft, axis)

    def places(self) -> tuple[F64, F64]:
        """Return (n, 3) shafts [m] and (n, 3) axes that are exactly right."""
        first, second = square_to(self.way)
        angles = 2.0 * math.pi * np.arange(ROUND) / ROUND
        out = np.cos(angles)[:, None] * first + np.sin(angles)[:, None] * second
        backs = [self.back] if self.back is not None else (self.ground * np.array([0.0, 0.25, 0.5, 1.0])).tolist()
        cranks = [self.at - back * self.way + self.beside * side * out for back in backs for side in (1.0, -1.0)]
        levers = [math.cos(turn) * self.way + math.sin(turn) * out for turn in math.pi * np.arange(9) / 8.0]
        shafts = np.array([crank + self.ground * lever for crank in cranks for lever in levers])
        axes = np.broadcast_to(np.cross(np.broadcast_to(self.way, out.shape), out), shafts.shape).reshape(-1, 3)
        good = self.off(shafts.reshape(-1, 3)) < 1e-6
        return shafts.reshape(-1, 3)[good], axes[good]


def _across(at: F64, way: F64, least: float, shaft: F64, axis: F64) -> float:
    """Return how far an axis leans [rad] from square to a line and to the way out from it; nearer than ``least`` [m], to the line alone."""
    out = shaft - at
    flat = out - float(out @ way) * way
    size = float(np.linalg.norm(flat))
    leaning = abs(float(axis @ flat)) / size if size > max(least, 1e-9) else 0.0
    return math.asin(min(math.hypot(float(axis @ way), leaning), 1.0))


Want: TypeAlias = Ring | Behind


def want_of(seat: Seat) -> Want | None:
    """Return where the linkage of a servo wants its shaft; None where its kind or the file does not say."""
    record, axis = seat.record, seat.axis
    if isinstance(record, FourBar):
        return Ring(
            seat.goal, axis, None, (record.ground, record.ground), "along", f"its ground is {_mm(record.ground)}"
        )
    if isinstance(record, Direct):
        if PARTS[seat.part].kind != "turn":
            return None
        return Ring(seat.goal, axis, None, (0.0, 0.0), "along", "a direct drive wants it on the axle")
    if isinstance(record, TwoRodGimbal):
        row = rods_of(record, (seat.neutral, 0.0), seat.side)[seat.input]
        says = f"there its rod of {_mm(float(row[8]))} lies straight at neutral"
        return Ring(seat.eye + row[3:6], LEFT, 0.0, (0.0, 0.0), "along", says)
    if isinstance(record, CrankSlider):
        back = slide_at(record.horn, record.rod, record.offset, record.horn_at_neutral, record.branch)
        if back is None:
            return None
        way = axis if record.slides == "out" else -axis
        offset = f" {_mm(abs(record.offset))} beside" if record.offset else " in line with"
        says = f"there its rod of {_mm(record.rod)} reaches the tab,{offset} its way"
        return Ring(seat.goal, way, -back, (abs(record.offset), abs(record.offset)), "across", says)
    if isinstance(record, BallRod):
        if seat.horn_at is None:
            return None
        return Ring(seat.horn_at, seat.horn_axis, 0.0, (0.0, 0.0), "along", "horn_at says so")
    return _crank(seat, record) if isinstance(record, BellCrank) else None


def _crank(seat: Seat, record: BellCrank) -> Want | None:
    """Return where a bell-crank wants its servo: round its own axle, which stands behind the tab or round the next axle."""
    ground, says = record.ground, f"the ground to its crank is {_mm(record.ground)}"
    if record.next_arm is not None:
        if record.next_ground is None:
            return None
        near, far = abs(record.next_ground - ground), record.next_ground + ground
        return Ring(
            seat.goal, seat.axis, None, (near, far), "along", f"{says}, {_mm(record.next_ground)} on to the axle"
        )
    way = seat.axis if record.slides == "out" else -seat.axis
    if record.next_rod is None:
        return Behind(seat.goal, way, None, record.out_arm, ground, says)
    back = slide_at(record.out_arm, record.next_rod, record.next_offset, record.out_arm_at_neutral, record.next_branch)
    return None if back is None else Behind(seat.goal, way, back, abs(record.next_offset), ground, says)


@dataclass(frozen=True, slots=True)
class Off:
    """How far a servo is from where its linkage wants it."""

    far: float
    """Of its shaft [m]."""
    turned: float
    """Of its shaft's axis [rad]."""
    says: str
    """What the linkage wants, in words."""


def off_of(seat: Seat, pose: Pose) -> Off | None:
    """Return how far a servo at a pose is from where its linkage wants it; None where that is not said."""
    want = want_of(seat)
    if want is None:
        return None
    shaft = shaft_of(seat, pose)
    return Off(float(want.off(shaft[None])[0]), want.turned(shaft, pose.frame[2]), want.says)


def slide_at(horn: float, rod: float, offset: float, angle: float, branch: str) -> float | None:
    """Return how far from the axle along its way a slide stands [m] with the horn at an angle [rad]; None where the rod is too short."""
    rise = horn * math.sin(angle) - offset
    if abs(rise) > rod:
        return None
    return horn * math.cos(angle) + (1.0 if branch == "open" else -1.0) * math.sqrt(rod**2 - rise**2)


def square_to(way: F64) -> tuple[F64, F64]:
    """Return two unit directions square to one and to each other."""
    other = np.eye(3)[int(np.argmin(np.abs(way)))]
    first = other - float(other @ way) * way
    first /= np.linalg.norm(first)
    return first, np.cross(way, first)


def _steps(reach: float) -> F64:
    """Return steps along an axle [m], the least first."""
    count = round(reach / ALONG)
    steps = ALONG * np.arange(-count, count + 1)
    return np.asarray(steps[np.argsort(np.abs(steps), kind="stable")])


def _mm(length: float) -> str:
    return f"{length * 1e3:.0f} mm"
