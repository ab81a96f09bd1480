"""What a linkage must bring, for sizing: the load over the travel at the worst attitude, and the servo's line."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np

from marotte.basis.contracts.common import F64, Told, Unknown
from marotte.basis.frames import G0, rotation
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature
from marotte.creature.naming import named
from marotte.creature.schema.means import Servo
from marotte.creature.schema.servos import ServoClass
from marotte.creature.schema.supply import Mains
from marotte.mech.loads import load
from marotte.mech.skin import force_on, skin

MOVE_S = 0.25
"""A whole travel is taken to be asked in this time where nothing else is said (a rule of this project)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What is asked of one function, and what pushes it."""

    grid: F64
    """(n,) positions over the travel [rad or m]."""
    speed: F64
    """(n,) speed asked at each position [rad/s or m/s]."""
    acceleration: F64
    """(n,) size of the acceleration asked there [rad/s2 or m/s2]."""
    stall_nm: float
    """Torque that the servo really gives at a stall."""
    free_rad_s: float
    """Speed at which it gives none."""
    turn: float
    """Whole turn of its output [rad]."""
    force: F64
    """(n,) largest |generalised force| that the function needs at rest, over all attitudes [N*m or N]."""
    skin: F64
    """(n,) the skins' share of it."""
    friction: float
    inertia: float
    told: tuple[Told, ...] = ()


def asked_of(creature: Creature, name: str, points: int = 61) -> Ask | Unknown:
    """Return what is asked of a function: its whole travel in a quarter of a second, at every attitude of the brief.

    The move is of least jerk from one end to the other: fast in the middle, at rest at the ends, where springs and skins
    pull most. Other functions that share a skin with it stand at neutral.
    """
    function, means = creature.functions[name], None
    for mechanism in creature.mechs.values():
        if mechanism.outputs == (name,) and len(mechanism.inputs) == 1:
            means = creature.means[mechanism.inputs[0]]
    if not isinstance(means, Servo):
        return Unknown(
            why=f"{named(name)}: only a function with a servo and a mech of its own can be sized, not one that shares its mech"
        )
    servo = creature.servos[means.model]
    volts = _volts(creature, means)
    stall, free = _line(servo, volts)
    own = load(name, function, PARTS[function.part])
    grid = np.linspace(function.travel[0], function.travel[1], points)
    gravity = np.array([np.interp(grid, own.grid, row) for row in own.gravity])
    spring = np.interp(grid, own.grid, own.spring)
    pull = np.zeros(points)
    for held, card in creature.skins.items():
        if name in card.holds:
            made = skin(held, card, creature.functions, creature.stock_tables, creature.tables)
            neutral = {other: creature.functions[other].neutral for other in card.holds}
            pull = pull + np.array([force_on(made, name, {**neutral, name: float(q)}) for q in grid])
    weights = _downs(creature) @ gravity if PARTS[function.part].rides_on != "ground" else gravity[None, 1] * -G0
    speed, acceleration = least_jerk(points, function.span, MOVE_S)
    sentence = (
        f"{named(name)}: sized for its whole travel in {MOVE_S:g} s, at {volts:.1f} V, with {servo.derate * 100:.0f} % of the "
        f"advertised stall torque"
    )
    return Ask(
        speed=speed, acceleration=acceleration, stall_nm=stall * means.count, free_rad_s=free, turn=servo.travel, grid=grid,
        force=np.abs(weights + spring + pull).max(axis=0), skin=np.abs(pull), friction=own.dry, inertia=own.inertia,
        told=(Told(code="sized_for", sentence=sentence, ref=function.ref("travel")),),
    )  # fmt: skip


def in_time(ask: Ask, seconds: float) -> Ask:
    """Return the same ask with the whole travel to be made in another time [s]."""
    quicker = MOVE_S / seconds
    return replace(ask, speed=ask.speed * quicker, acceleration=ask.acceleration * quicker**2)


def _volts(creature: Creature, means: Servo) -> float:
    """Return the voltage that reaches a servo at best: of its lead's regulator, else of the battery, half used."""
    supply = creature.supply
    if supply is None:
        return creature.servos[means.model].points[0].at
    lead = means.lead if means.lead is not None else next(iter(supply.leads), None)
    while lead in supply.leads:  # a tree without loops: the file was checked
        regulator = supply.leads[lead].regulator
        if regulator is not None:
            return regulator.volts
        lead = supply.leads[lead].fed_by
    battery = supply.battery
    if isinstance(battery, Mains):
        return battery.volts
    return battery.cells * creature.stock_tables.batteries[battery.kind].nominal


def _line(servo: ServoClass, volts: float) -> tuple[float, float]:
    """Return real stall torque [N*m] and free speed [rad/s] at a voltage, rows interpolated and held at their ends."""
    at = [point.at for point in servo.points]
    stall = float(np.interp(volts, at, [point.stall for point in servo.points]))
    free = float(np.interp(volts, at, [point.free for point in servo.points]))
    return stall * servo.derate, free


def _downs(creature: Creature) -> F64:
    """Return gravity [m/s2] in the head's frame at the ends and the middle of every attitude of the brief, (a, 3)."""
    held = creature.brief.attitudes
    nods, tilts = (*held.nod, 0.0), (*held.tilt, 0.0)
    found = []
    for nod, tilt in itertools.product(nods, tilts):
        pose = rotation((-1.0, 0.0, 0.0), nod) @ rotation((0.0, 0.0, -1.0), tilt)
        found.append(pose.T @ np.array([0.0, -G0, 0.0]))
    return np.array(found)


def least_jerk(points: int, span: float, lasts: float) -> tuple[F64, F64]:
    """Return speed and size of acceleration at even places of a least-jerk move, (points,) each.

    x = 10 s^3 - 15 s^4 + 6 s^5 of the span, s of the time (Flash & Hogan 1985, Journal of Neuroscience 5:1688): its peak
    speed is 1.875 span / time, its peak acceleration 5.7735 span / time^2.
    """
    s = np.linspace(0.0, 1.0, 2001)
    x = s**3 * (10.0 - 15.0 * s + 6.0 * s * s)
    place = np.linspace(0.0, 1.0, points)
    speed = np.interp(place, x, 30.0 * s**2 * (1.0 - s) ** 2)
    acceleration = np.interp(place, x, np.abs(60.0 * s * (1.0 - s) * (1.0 - 2.0 * s)))
    return speed * span / lasts, acceleration * span / lasts**2


def use_of(ask: Ask, rate: F64, efficiency: float, dry: float) -> F64:
    """Return the share of the servo's torque that is asked at each position, (n,), at the operating point there.

    Where the servo is too slow the share is counted against a fiftieth of its stall torque.

    Args:
        ask: what is asked, over its grid.
        rate: (n,) output per input.
        efficiency: of the mech, input to output.
        dry: friction at the input [N*m].
    """
    lever = np.maximum(np.abs(rate), 1e-9)
    needed = lever * (ask.force + ask.friction + ask.inertia * ask.acceleration) / efficiency + dry
    has = ask.stall_nm * np.maximum(1.0 - ask.speed / lever / ask.free_rad_s, 0.02)
    return np.asarray(needed / has)
