"""Mechanisms made in code, as the tests of the mech engine use them."""

from __future__ import annotations

import math
from typing import Any, Literal

import numpy as np

from marotte.basis.contracts.common import F64, Unknown
from marotte.basis.contracts.mech import Transmission
from marotte.basis.frames import Vec
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Mechanism
from marotte.creature.schema.functions import Function, FunctionLoad
from marotte.creature.schema.mechs import FourBar, GimbalArms, Linkage, TwoRodGimbal
from marotte.creature.shelf import Stock
from marotte.mech.case import Limits
from marotte.mech.solve import transmission

DEG = math.pi / 180.0
JAW = {"horn": 0.014, "rod": 0.062, "arm": 0.022, "ground": 0.064}
LID = {"horn": 0.010, "rod": 0.038, "arm": 0.010, "ground": 0.039}


def function(
    part: str, low: float, high: float, neutral: float = 0.0, side: Literal["left", "right"] | None = None, **more: Any
) -> Function:
    """A function with its travel in SI."""
    load = more.pop("load", FunctionLoad())
    return Function(part=part, travel=(low, high), neutral=neutral, power_off=neutral, side=side, load=load, **more)


def moved(
    record: Linkage,
    *functions: Function,
    inputs: tuple[str, ...] = ("in",),
    points: dict[str, Vec] | None = None,
    limits: Limits | None = None,
    stock: Stock | None = None,
) -> Transmission | Unknown:
    """The transmission of one record that moves some functions, named out0, out1, ..."""
    named = {f"out{i}": item for i, item in enumerate(functions)}
    mechanism = Mechanism(
        name="mech", record=record, inputs=inputs, outputs=tuple(named), side=functions[0].side  # type: ignore[arg-type]
    )  # fmt: skip
    return transmission(mechanism, named, points or {}, PARTS, limits, stock)


def sound(record: Linkage, *functions: Function, **more: Any) -> Transmission:
    """The same, which must come out as a Transmission."""
    found = moved(record, *functions, **more)
    assert isinstance(found, Transmission), found
    return found


def jaw(
    arm_deg: float = 70.0, low_deg: float = 0.0, high_deg: float = 22.0, neutral_deg: float = 0.0, **more: Any
) -> Transmission:
    """A jaw's four-bar, its arm clocked at neutral."""
    lengths = {name: more.pop(name, value) for name, value in JAW.items()}
    record = FourBar(**lengths, arm_at_neutral=arm_deg * DEG, **more)
    return sound(record, function("jaw", low_deg * DEG, high_deg * DEG, neutral_deg * DEG))


def eye(
    side: Literal["left", "right"] | None = None, turn_deg: float = 28.0, lift_deg: float = 18.0, **more: Any
) -> Transmission:
    """An eye on two rods."""
    lengths = {"horn": 0.012, "rod": 0.044, "arms": GimbalArms(spacing=0.016, height=0.010), **more}
    record = TwoRodGimbal(**lengths)
    turn = function("eye_turn", -turn_deg * DEG, turn_deg * DEG, side=side)
    lift = function("eye_lift", -lift_deg * DEG, lift_deg * DEG, side=side)
    return sound(record, turn, lift, inputs=("in.a", "in.b"))


def at(found: Transmission, u: float, output: int = 0) -> float:
    """A one-input transmission's position at an input."""
    return float(np.interp(u, found.grid[0], found.position[output]))


def slope(values: F64, grid: F64, axis: int = -1) -> F64:
    """Central differences, fourth order, inside the ends (two samples lost at each)."""
    v = np.moveaxis(values, axis, -1)
    step = grid[1] - grid[0]
    inner = (v[..., :-4] - 8 * v[..., 1:-3] + 8 * v[..., 3:-1] - v[..., 4:]) / (12 * step)
    return np.asarray(np.moveaxis(inner, -1, axis))
