"""What fit and masses hand on: the mass sheet, where things sit in the head, and what is in the way of what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from marotte.basis.contracts.common import F64, Told, Unknown
from marotte.basis.frames import Vec
from marotte.basis.given import Ref

MassKind: TypeAlias = Literal["part", "servo", "skin", "entry", "battery"]
MassPlace: TypeAlias = Literal["written", "proposed", "hinge", "shell", "nowhere"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MassLine:
    """One line of the mass sheet."""

    label: str
    """As people call it: the function, the servo's model, the entry."""
    kind: MassKind
    of: str
    """Its name in the file: function, means, skin, entry."""
    count: int
    each: float
    """One of them [kg]."""
    at: Vec | None
    """Centre of mass [m] at neutral; None where it is spread over the skull or its place is not known."""
    placed: MassPlace
    """How ``at`` was found: written or proposed, from its hinge; or spread over the skull's shell; or nowhere."""
    ref: Ref
    own: F64
    """(3, 3) inertia of all of them about their own centre [kg*m2], of what is not spread over the shell."""
    whole: bool = False
    """Whether it was put on a scale as it is worn or built in: then nothing of it is forgotten."""

    @property
    def mass(self) -> float:
        """All of them together [kg]."""
        return self.count * self.each


@dataclass(frozen=True, slots=True, kw_only=True)
class CarrierSheet:
    """What one carrier bears."""

    carrier: str
    lines: tuple[MassLine, ...]
    """In the order: moving parts, servos, skins, other masses, battery; each as in the file."""
    total: float
    """Sum of the written lines [kg]; nothing is added to it silently."""
    parts: float
    """The part of the sum that is added up from pieces, and not weighed whole [kg]."""
    forgotten: tuple[float, float]
    """What is usually forgotten, least and most [kg]: 10 to 15 % of ``parts`` (common practice, no source). Not in ``total``."""
    centre: Vec | Unknown
    """Centre of mass [m] at neutral."""
    inertia: F64 | Unknown
    """(3, 3) about the neck [kg*m2], axes of the head at neutral."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MassSheet:
    """The whole sheet, by what carries it."""

    carriers: dict[str, CarrierSheet]
    neck: Vec
    """The point that inertias are about [m]."""
    neck_written: bool
    told: tuple[Told, ...] = ()


SolidKind: TypeAlias = Literal["servo", "horn", "rod", "eye", "mouth", "hand", "wearer"]
How: TypeAlias = Literal["written", "proposed", "anatomy"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """One solid where it sits: the convex hull of its points, rounded by a radius."""

    name: str
    """As people call it: "jaw servo", "left eye"."""
    kind: SolidKind
    of: str
    """The means it belongs to; of an eye its side; of a hand or a wearer's head the performer; empty for the mouth."""
    how: How
    at: Vec
    """Its middle [m]."""
    frame: F64
    """(3, 3) rows: along its long side, across, along its shaft (or its axis)."""
    sides: Vec
    """Whole extents along those rows [m]."""
    points: F64
    """(k, 3) [m]."""
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """Two solids closer than they should be, or one that comes out of the skull."""

    first: str
    second: str
    """"skull": the first reaches out of it."""
    gap: float
    """Below zero the depth of the overlap, or how far it reaches out [m]."""
    way: Vec
    """The unit way that frees the first; zero for the skull."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OffLinkage:
    """A servo that does not sit where its linkage wants it."""

    servo: str
    """By means."""
    far: float
    """Of its shaft from there [m]."""
    turned: float
    """Of its shaft's axis from the nearest that the linkage can use [rad]."""
    wants: str
    """What the linkage wants, in words."""
    how: How


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """What sits in the skull, and how."""

    skull: str
    """What the skull was taken as, in words."""
    volume: float
    """Of the skull inside [m3]."""
    inner_width: float
    """Widest inside, from side to side [m]."""
    placed: tuple[Placed, ...]
    unplaced: tuple[str, ...]
    """Servos (by means) for which no free place was found."""
    clashes: tuple[Clash, ...]
    """Every pair closer than a millimetre, and everything nearer to the shell; the worst first."""
    least: Clash | None
    """The closest pair or the nearest to the shell; None where nothing sits in the skull."""
    worn: float = 0.0
    """Of the skull's inside, what a wearer's head with its padding takes [m3]."""
    off: tuple[OffLinkage, ...] = ()
    """Servos that do not sit where their linkage wants them, in the order of the file."""
    told: tuple[Told, ...] = ()
    rests_on: frozenset[Ref] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOut:
    """How one servo comes out."""

    servo: str
    """By means."""
    hatch: str | None
    """Through which hatch; None where it cannot come out."""
    first: tuple[str, ...]
    """Servos that must come out before it, in an order that works."""
    blocked_by: tuple[str, ...]
    """Names of solids straight in its way through that hatch (or through the best one tried)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """What comes out without taking out what."""

    hatches: dict[str, Vec]
    """Name -> the unit way that things come out through it."""
    unknown_hatches: tuple[str, ...]
    """Names that say no direction."""
    missing_hatches: tuple[tuple[str, str], ...]
    """(servo, hatch) where a box names a hatch that the skull does not have."""
    ways: tuple[WayOut, ...]
    told: tuple[Told, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class HandFit:
    """A performer's hand in the head."""

    performer: str
    means: str
    breadth: float
    """Of the hand [m]."""
    breadth_from: str
    """"written", or the population that it is the mean of."""
    spread: float
    """19 of 20 such hands lie within this of it [m]; 0 where it is written."""
    foam: float
    """On each side [m]."""
    inner: float
    """Widest inside of the head [m]."""
    fingers: float
    """Length of the middle finger beyond the palm [m], of the same population."""
    plate: float | None
    """From the mouth's hinge to the fingertips as written [m]."""
    gape: float | None
    """Travel of the mouth [rad]."""
    ref: Ref


@dataclass(frozen=True, slots=True, kw_only=True)
class WearerFit:
    """A wearer's head in the creature's head."""

    performer: str
    breadth: float
    """Of the wearer's head [m]."""
    breadth_from: str
    """"written", or the population that it is the mean of."""
    breadth_spread: float
    """19 of 20 such heads lie within this of it [m]; 0 where it is written."""
    length: float
    """From brow to back [m]."""
    length_from: str
    length_spread: float
    height: float
    """From chin to crown [m], of the same population."""
    pad: float
    """On each side [m]."""
    inner_width: float
    """Twice the shorter way from the middle of the wearer's head to the shell's sides [m]; 0 where that middle is outside."""
    inner_depth: float
    """The same to its front and back [m]."""
    breadth_ref: Ref
    length_ref: Ref


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckCable:
    """One cable through the neck."""

    name: str
    outer: float
    """Of its housing [m]."""
    clearance: float
    """Bore less wire [m]."""
    wire: float
    """Thickness [m]."""
    solid: bool
    stroke: float
    """At its output [m]."""
    ref: Ref


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckFit:
    """What runs through the neck."""

    cables: tuple[NeckCable, ...]
    bundle: float
    """Diameter of all housings laid together [m]."""
    swing: float
    """The most that a move of the head bends the bundle, from straight [rad]."""
    swing_of: str
    stiffness: float
    """Torque that the wires set against that bend [N*m]."""
    told: tuple[Told, ...] = ()
