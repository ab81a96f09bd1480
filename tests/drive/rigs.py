"""Small creatures for the drive's tests, made in code: closed-form four-bars, servos, supplies, motions."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marotte.basis.contracts.common import F64, Motion, Unknown, f32, f64
from marotte.basis.contracts.mech import Load, Mechs, Skin, Transmission
from marotte.basis.contracts.script import Window
from marotte.creature.schema.functions import Function
from marotte.creature.schema.means import Means, Servo
from marotte.creature.schema.servos import ServoClass, ServoPoint
from marotte.creature.schema.supply import Supply
from marotte.drive.model import DriveModel, model


@dataclass(frozen=True)
class Part:
    rides_on: str


ANATOMY = {"jaw": Part("head"), "tail": Part("body")}


def servo(**changes: object) -> ServoClass:
    """A mini servo, values made up for the tests."""
    values: dict[str, object] = {
        "mass": 0.025, "body": (0.03, 0.013, 0.03), "points": (
            ServoPoint(at=6.0, stall=0.5, free=8.7, stall_current=1.5, free_current=0.15),
            ServoPoint(at=7.4, stall=0.6, free=10.5, stall_current=1.8, free_current=0.18),
        ), "inertia": 1.5e-4, "winding_heat": 3.0, "case_heat": 20.0,
    }  # fmt: skip
    return ServoClass.model_validate(values | changes)


def four_bar(
    horn: float, rod: float, arm: float, ground: float, low: float, high: float, places: int = 361
) -> tuple[F64, ...]:
    """Return grid, position, rate, bend of a planar four-bar, open branch: horn pivot at 0, arm pivot at (ground, 0).

    Closed form: the arm tip is where the circles round horn tip and arm pivot meet; rate and bend by implicit
    differentiation of |arm tip - horn tip| = rod.
    """
    x = np.linspace(low, high, places)
    hx, hy = horn * np.cos(x), horn * np.sin(x)
    dx, dy = ground - hx, -hy
    far = np.hypot(dx, dy)
    along = (rod**2 - arm**2 + far**2) / (2 * far)
    across = np.sqrt(rod**2 - along**2)
    tx, ty = hx + (along * dx - across * dy) / far, hy + (along * dy + across * dx) / far
    q = np.arctan2(ty, tx - ground)
    ux, uy = tx - hx, ty - hy  # along the rod
    top = ux * -hy + uy * hx  # rod . d horn tip
    low_ = ux * -(ty) + uy * (tx - ground)  # rod . d arm tip
    rate = top / low_
    # second derivative of |u|^2 = rod^2 along the motion: |u'|^2 + u . u'' = 0
    dux, duy = rate * -ty + hy, rate * (tx - ground) - hx
    side = ux * (rate**2 * -(tx - ground) + hx) + uy * (rate**2 * -ty + hy)
    bend = -(dux**2 + duy**2 + side) / low_
    return x, q, rate, bend


def transmission(name: str, x: F64, q: F64, rate: F64, bend: F64, **more: object) -> Transmission:
    values: dict[str, object] = {
        "name": name, "inputs": (name,), "outputs": (name,), "grid": (f64(x),), "position": f64(q[None]),
        "rate": f64(rate[None, None]), "bend": f64(bend[None, None]), "angle": None, "play": f64([0.0]),
    }  # fmt: skip
    return Transmission(**(values | more))  # type: ignore[arg-type]


def straight(name: str, ratio: float = 1.0, low: float = -1.0, high: float = 1.0, **more: object) -> Transmission:
    x = np.linspace(low, high, 101)
    return transmission(name, x, ratio * x, np.full_like(x, ratio), np.zeros_like(x), **more)


def load(name: str, mass: float = 0.0, arm: float = 0.0, inertia: float = 0.0, **more: object) -> Load:
    """A mass on an arm that points along z at zero and turns about +x: gravity pulls it down as it opens."""
    q = np.linspace(-2.0, 2.0, 801)
    gravity = np.stack((np.zeros_like(q), -mass * arm * np.cos(q), -mass * arm * np.sin(q)))
    values: dict[str, object] = {
        "function": name, "grid": f64(q), "gravity": f64(gravity), "spring": f64(np.zeros_like(q)),
        "inertia": inertia + mass * arm**2, "dry": 0.0, "viscous": 0.0,
    }  # fmt: skip
    return Load(**(values | more))  # type: ignore[arg-type]


def function(part: str = "jaw", travel: tuple[float, float] = (-0.8, 0.8), **more: object) -> Function:
    return Function.model_validate({"part": part, "travel": travel, **more})


def creature(
    transmissions: dict[str, Transmission | Unknown], loads: dict[str, Load] | None = None, supply: Supply | None = None,
    servos: dict[str, ServoClass] | None = None, leads: dict[str, str] | None = None, skins: tuple[Skin, ...] = (),
    means: dict[str, Means] | None = None, functions: dict[str, Function] | None = None,
) -> DriveModel:  # fmt: skip
    names = [name for t in transmissions.values() if isinstance(t, Transmission) for name in t.outputs]
    inputs = [name for t in transmissions.values() if isinstance(t, Transmission) for name in t.inputs]
    made: dict[str, Means] = {name: Servo(model="mini", lead=(leads or {}).get(name)) for name in inputs}
    return model(
        functions or {name: function() for name in names}, made | (means or {}), servos or {"mini": servo()}, supply,
        Mechs(transmissions=transmissions, loads=loads or {}, skins=skins), ANATOMY,
    )  # fmt: skip


def motion(rows: dict[str, F64], start: int = 0) -> Motion:
    values = np.stack(list(rows.values()))
    return Motion(names=tuple(rows), units=("rad",) * len(rows), start=start, every=5, values=f32(values))


def windows(stop: int, size: int = 4800, start: int = 0) -> tuple[Window, ...]:
    return tuple(Window(id=f"w{k}", start=k, stop=min(k + size, stop), line=0) for k in range(start, stop, size))


def times(seconds: float) -> F64:
    return np.arange(int(seconds * 240)) / 240.0


BAR = {"horn": 0.014, "rod": 0.062, "arm": 0.022, "ground": 0.064}
LOW, HIGH = 0.5, 2.1
VOLTS = 6.0
LOSSLESS = servo(
    derate=1.0, points=(ServoPoint(at=VOLTS, stall=0.5, free=8.7, stall_current=0.5 * 8.7 / VOLTS, free_current=0.0),),
    response=0.0, brake_time=0.004,
)  # fmt: skip
"""Gears that lose nothing: what MuJoCo has no word for is left out on both sides."""


def planar(name: str, mass: float, reach: float) -> Load:
    """A mass on the arm itself: force on the arm's angle is m a (g_y cos q - g_x sin q)."""
    q = np.linspace(-4.0, 4.0, 3201)
    gravity = mass * reach * np.stack((-np.sin(q), np.cos(q), np.zeros_like(q)))
    return Load(
        function=name, grid=f64(q), gravity=f64(gravity), spring=f64(np.zeros_like(q)), inertia=mass * reach**2, dry=0.0,
        viscous=0.0,
    )  # fmt: skip
