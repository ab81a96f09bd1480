"""What the solver of one mechanism reads, and how positions are said."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

from marotte.basis.contracts.common import Told
from marotte.basis.contracts.mech import Jammed, MechFault
from marotte.basis.frames import Vec, mirrored, mirrored_axis, unit
from marotte.basis.given import Ref
from marotte.basis.units import DEG
from marotte.creature.anatomy import EYE_SPACING, Part
from marotte.creature.creature import Mechanism
from marotte.creature.naming import named
from marotte.creature.schema.functions import Function
from marotte.creature.schema.mechs import Linkage
from marotte.creature.shelf import Stock

Unit: TypeAlias = Literal["rad", "m"]

BALL_SLOP_M = 0.1e-3
"""Lost motion of one new ball joint along the rod, full width (common practice, no source); worn: twice that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Where a transmission stops being sound."""

    angle: float = 15.0 * DEG
    """Least angle between a rod and what it joins [rad]. Below it a hair of slop or load decides what happens."""
    ratio: float = 6.0
    """Largest output per input of turning mechs: beyond it the drive's step is no longer exact to a percent."""
    points: int = 361
    """Samples over the input."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One mechanism with the functions that it moves, in the order of its outputs."""

    mechanism: Mechanism
    functions: tuple[Function, ...]
    parts: tuple[Part, ...]
    points: Mapping[str, Vec]
    limits: Limits = Limits()
    stock: Stock | None = None
    """Wires, liners, joints; None where none was given: kinds that need them are Unknown."""
    eye_spacing: float = EYE_SPACING
    """Distance of the eye centres [m], by which the anatomy's places are scaled."""

    @property
    def name(self) -> str:
        """The mechanism's name in the file."""
        return self.mechanism.name

    @property
    def said(self) -> str:
        """The mechanism's name as people say it: ``left ear tip``."""
        return named(self.mechanism.name)

    @property
    def moves(self) -> str:
        """What it moves first, as people say it: ``the left ear tip``."""
        return f"the {named(self.mechanism.outputs[0])}"

    @property
    def turns(self) -> bool:
        """Whether the first output turns."""
        return self.parts[0].kind == "turn"

    @property
    def units(self) -> tuple[Unit, ...]:
        """Unit of each output."""
        return tuple("rad" if part.kind == "turn" else "m" for part in self.parts)

    def axis(self, output: int = 0) -> Vec | None:
        """Return the unit axis (or direction) of an output on this side; None where neither file nor anatomy has one."""
        return axis_of(self.functions[output], self.parts[output])

    def rests_on(self) -> frozenset[Ref]:
        """Return the refs that the transmission was computed from."""
        refs = set(self.mechanism.record.refs())
        if self.stock is not None and self.mechanism.record.slop is None:
            refs.add(self.stock.joints["ball_link"].ref("slop"))
        for function in self.functions:
            refs.update(function.ref(name) for name in ("travel", "neutral", "at", "axis", "tells_at"))
        return frozenset(ref for ref in refs if not ref.startswith("default:"))

    def slop(self) -> tuple[float, tuple[Told, ...]]:
        """Return the slop of one rod with both its ball joints [m], and what was assumed."""
        record: Linkage = self.mechanism.record
        if record.slop is not None:
            return record.slop, ()
        if self.stock is not None:
            return 2 * self.stock.joints["ball_link"].slop, ()
        sentence = f"{self.said}: two new ball joints are taken to lose 0.1 mm each (common practice, no source)"
        return 2 * BALL_SLOP_M, (Told(code="ball_slop", sentence=sentence, ref=record.ref("slop")),)


def axis_of(function: Function, part: Part) -> Vec | None:
    """Return the unit axis (or direction) of a function on its side; None where neither file nor anatomy has one.

    Of a pair, the file writes the left one's; the right one is its mirror, unless the pair moves together.
    """
    if function.axis is None:
        own = part.axis_for(function.side)
    elif function.side == "right" and part.mirrors == "outward":
        own = mirrored_axis(function.axis) if part.kind == "turn" else mirrored(function.axis)
    else:
        own = function.axis
    return None if own is None else unit(own)


def shown(value: float, turns: bool) -> str:
    """Return a position as people read it: degrees where it turns, else millimetres."""
    if turns:
        return f"{round(math.degrees(value), 1) + 0.0:g} deg"
    return f"{round(value * 1e3, 1) + 0.0:g} mm"


def jammed(case: Case, kind: str, sentence: str, wants: tuple[str, ...] = ()) -> Jammed:
    """Return a mechanism that does not go together, with its one fault."""
    fault = MechFault(kind=kind, output=case.mechanism.outputs[0], at=case.functions[0].neutral, sentence=sentence)
    record = case.mechanism.record
    return Jammed(why=sentence, wants=tuple(record.ref(name) for name in wants), faults=(fault,))
