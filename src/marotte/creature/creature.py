"""The model: what engines read. Names join functions, mechs, means and skins; the ledger stands beside."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal, TypeAlias

from marotte.basis.contracts.common import F64
from marotte.basis.digest import digest
from marotte.basis.faults import Fault
from marotte.basis.frames import Vec, mirrored
from marotte.basis.given import Given, Place, Ref
from marotte.creature.schema.audience import AudienceOf, Limits, Shop, Show, Worn
from marotte.creature.schema.brief import Brief
from marotte.creature.schema.build import Build, Carried
from marotte.creature.schema.file import CreatureFile
from marotte.creature.schema.functions import Function
from marotte.creature.schema.means import Means
from marotte.creature.schema.mechs import Direct, Linkage, Mech
from marotte.creature.schema.people import Control, Mix, Performer
from marotte.creature.schema.poses import Poses
from marotte.creature.schema.servos import ServoClass
from marotte.creature.schema.skins import SkinCard
from marotte.creature.schema.supply import Supply
from marotte.creature.shelf import Stock

Side: TypeAlias = Literal["left", "right"] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Mechanism:
    """What carries force from its inputs to its outputs."""

    name: str
    record: Mech
    inputs: tuple[str, ...]
    """Names of means, in order."""
    outputs: tuple[str, ...]
    """Names of functions, in order."""
    side: Side = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """A recording of the creature's voice."""

    name: str
    """File name without its ending."""
    path: Path
    content: str
    """Hash of its bytes: what a cell's key rests on."""

    def __digest__(self) -> bytes:
        return digest((self.name, self.content))


@dataclass(frozen=True, slots=True, kw_only=True)
class Creature:
    """One creature, frozen. Compared and hashed by identity; engines take its parts, not the whole."""

    folder: Path | None
    name: str
    about: str
    seed: int
    stock: str
    stock_tables: Stock
    build: Build
    functions: dict[str, Function]
    mechs: dict[str, Mechanism]
    means: dict[str, Means]
    servos: dict[str, ServoClass]
    skins: dict[str, SkinCard]
    supply: Supply | None
    masses: dict[str, Carried]
    poses: Poses
    brief: Brief
    performers: dict[str, Performer]
    controls: dict[str, Control]
    hand_plan: dict[str, Mix]
    audience: AudienceOf
    show: Show
    worn: Worn | None
    limits: Limits
    shop: Shop
    points: dict[str, Vec]
    given: Mapping[Ref, Given] = field(repr=False)
    script_text: str | None = field(default=None, repr=False)
    script_name: str = ""
    recordings: dict[str, Recording] = field(default_factory=dict)
    tables: dict[str, F64] = field(default_factory=dict, repr=False)
    """Measured curves (2, p) in SI, rising in the first row, by their path in the file."""
    place: Callable[[Ref], Place | None] = field(default=lambda ref: None, repr=False, compare=False)
    """Where a ref stands in the file, or the nearest block above it."""

    def placed(self, fault: Fault) -> Fault:
        """Return a fault that an engine found, with its place in the file where it names a path and no place."""
        return replace(fault, place=self.place(fault.path)) if fault.path and fault.place is None else fault

    def pair_of(self, function: str) -> str | None:
        """Return the other side's function, or None for one that stands alone."""
        for mine, other in (("_left", "_right"), ("_right", "_left")):
            if function.endswith(mine):
                name = function.removesuffix(mine) + other
                return name if name in self.functions else None
        return None


DIRECT = Direct()
"""What carries the push of a function that names no mech."""


def mechanisms(file: CreatureFile) -> tuple[dict[str, Mechanism], dict[str, Means]]:
    """Return all mechanisms and all means of a file: the inline ones of functions, and the joined ones.

    An inline means has its function's name, a joined one ``mech.input`` (or the mech's name where there is one input).
    A function with a means and no mech is driven directly.
    """
    mechs: dict[str, Mechanism] = {}
    means: dict[str, Means] = {}
    for name, function in file.functions.items():
        if function.means is None:
            continue
        record: Linkage = function.mech if function.mech is not None else DIRECT
        mechs[name] = Mechanism(name=name, record=record, inputs=(name,), outputs=(name,), side=function.side)  # type: ignore[arg-type]
        means[name] = function.means
    for name, joined in file.mechs.items():
        inputs = (name,) if len(joined.means) == 1 else tuple(f"{name}.{key}" for key in joined.means)
        means.update(zip(inputs, joined.means.values(), strict=True))
        mechs[name] = Mechanism(name=name, record=joined.mech, inputs=inputs, outputs=joined.moves, side=joined.side)
    return mechs, means


def all_points(build: Build) -> dict[str, Vec]:
    """Return the written points and the mirrored ``_right`` of each ``_left`` that is not written itself."""
    points: dict[str, Vec] = dict(build.points)
    for name, place in build.points.items():
        other = name.removesuffix("_left") + "_right"
        if name.endswith("_left") and other not in points:
            points[other] = mirrored(place)
    return points
