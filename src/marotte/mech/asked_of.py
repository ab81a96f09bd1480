"""What a linkage must bring, for sizing: the load over the travel at the worst attitude, and the servo's line."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from typing import TypeAlias

import numpy as np

from marotte.basis.contracts.common import F64, Told, Unknown
from marotte.basis.frames import G0, rotation
from marotte.basis.units import show
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature, Mechanism
from marotte.creature.naming import named
from marotte.creature.schema.means import Servo
from marotte.creature.schema.mechs import Direct, HandRod, Linkage, TeeBar, TwoRodGimbal
from marotte.creature.schema.supply import Mains
from marotte.mech.ask import WHOLE, Ask, Line, Moved, in_time, least_jerk, paced
from marotte.mech.kinds.tee_bar import stroke
from marotte.mech.loads import load
from marotte.mech.skin import force_on, skin

Asking: TypeAlias = Callable[[Creature, str], Ask | Unknown]
"""What asks something of a function's mechanism; it is asked again where a proposal changes what is borne."""
MOVE_S = 0.25
"""A whole travel is taken to be asked in this time where nothing else is said (a rule of this project)."""
POINTS = 61
"""Positions over a travel."""
LEAST_STROKE_M = 1e-6
"""A bar that goes less far does not move."""


def mechanism_of(creature: Creature, function: str) -> Mechanism:
    """Return what moves a function: every function of a checked file has one mechanism."""
    return next(mechanism for mechanism in creature.mechs.values() if function in mechanism.outputs)


def asked_of(creature: Creature, function: str) -> Ask | Unknown:
    """Return what is asked of a function's mechanism: the whole travel in a quarter of a second, at every attitude of the brief.

    The move is of least jerk from one end to the other: fast in the middle, at rest at the ends, where springs and skins
    pull most. Other functions that share a skin with it stand at neutral; what shares its mechanism moves with it: tabs of
    one bar by their shares, turn and lift of an eye both at once.
    """
    mechanism = mechanism_of(creature, function)
    means = [creature.means[name] for name in mechanism.inputs]
    servos = [one for one in means if isinstance(one, Servo)]
    if len(servos) < len(means):
        kinds = " and ".join(sorted({one.kind for one in means if not isinstance(one, Servo)}))
        return Unknown(why=f"{named(function)}: it is moved by {kinds}{_not_by_servos(mechanism.record)}")
    record = mechanism.record
    moved: list[Moved] | Unknown
    if isinstance(record, TeeBar):
        moved = _bar(creature, mechanism, record)
    elif len(mechanism.outputs) == 1 or isinstance(record, TwoRodGimbal):
        moved = [_moved(creature, (name,), [(0.0, 1.0)], creature.functions[name].travel) for name in mechanism.outputs]
    else:
        return Unknown(why=f"{named(mechanism.name)}: a {record.kind} that moves several functions cannot be sized")
    if isinstance(moved, Unknown):
        return moved
    volts = [_volts(creature, one) for one in servos]
    lines = tuple(_line(creature, one, at) for one, at in zip(servos, volts, strict=True))
    shares = sorted({f"{creature.servos[one.model].derate * 100:.0f} %" for one in servos})
    sentence = (
        f"{' and '.join(map(named, mechanism.outputs))}: sized for {WHOLE} in {MOVE_S:g} s, at {min(volts):.1f} V, with "
        f"{' and '.join(shares)} of the advertised stall torque"
    )
    told = Told(code="sized_for", sentence=sentence, ref=creature.functions[function].ref("travel"))
    return Ask(moved=tuple(moved), lines=lines, seconds=MOVE_S, told=(told,))


def asked_within(seconds: float) -> Asking:
    """Return what asks for the whole travel in another time [s]."""

    def asking(creature: Creature, function: str) -> Ask | Unknown:
        ask = asked_of(creature, function)
        return ask if isinstance(ask, Unknown) else in_time(ask, seconds)

    return asking


def asked_by(rows: Mapping[str, F64], hz: float) -> Asking:
    """Return what asks as a part does.

    Args:
        rows: (samples,) positions of every function in time [rad or m].
        hz: samples a second.
    """

    def asking(creature: Creature, function: str) -> Ask | Unknown:
        ask, mechanism = asked_of(creature, function), mechanism_of(creature, function)
        if isinstance(ask, Unknown):
            return ask
        own = [rows[name] for name in mechanism.outputs]
        if not any(np.ptp(row) for row in own):
            return Unknown(why=f"{named(function)}: the part asks nothing of it")
        record, units = mechanism.record, [PARTS[creature.functions[name].part].kind for name in mechanism.outputs]
        speeds = [(float(np.abs(np.gradient(row)).max()) * hz, unit) for row, unit in zip(own, units, strict=True)]
        fastest = " and ".join(f"{show(speed, 'rad/s' if unit == 'turn' else 'm/s')}" for speed, unit in speeds)
        if isinstance(record, TeeBar):
            own = [(own[0] - creature.functions[mechanism.outputs[0]].neutral) / record.shares[0]]
        return paced(ask, own, hz, fastest)

    return asking


def _bar(creature: Creature, mechanism: Mechanism, record: TeeBar) -> list[Moved] | Unknown:
    """Return what a tee bar's stroke takes, as far as none of its tabs leaves its travel."""
    functions = [creature.functions[name] for name in mechanism.outputs]
    if len(record.shares) != len(functions) or not all(record.shares):
        return Unknown(why=f"{named(mechanism.name)}: a tee bar needs a share for each function that it moves")
    low, high = stroke(functions, record.shares)
    if high - low < LEAST_STROKE_M:
        return Unknown(
            why=f"{named(mechanism.name)}: with these shares one tab stands at the end of its travel whichever way the bar goes"
        )
    follow = [(one.neutral, share) for one, share in zip(functions, record.shares, strict=True)]
    return [_moved(creature, mechanism.outputs, follow, (low, high))]


def _not_by_servos(record: Linkage) -> str:
    """Return what can be done all the same where people push."""
    if isinstance(record, (Direct, HandRod)):
        return ", without a linkage: there is nothing to size"
    return ", and only what servos move can be sized: change its lengths in the file, and check what it asks of a hand"


def _moved(
    creature: Creature, names: Sequence[str], follow: Sequence[tuple[float, float]], travel: tuple[float, float]
) -> Moved:
    """Return what moving some functions together takes, over the way of what moves them.

    Args:
        creature: as loaded.
        names: the functions.
        follow: for each, where it is with the way at zero, and how far it goes for each unit of the way.
        travel: ends of the way.
    """
    grid = np.linspace(travel[0], travel[1], POINTS)
    downs = _downs(creature)
    positions = {name: at + share * grid for name, (at, share) in zip(names, follow, strict=True)}
    weights, spring, pull = np.zeros((len(downs), POINTS)), np.zeros(POINTS), np.zeros(POINTS)
    friction = inertia = 0.0
    for name, (_, share) in zip(names, follow, strict=True):
        function = creature.functions[name]
        own, rides = load(name, function, PARTS[function.part]), PARTS[function.part].rides_on != "ground"
        gravity = np.array([np.interp(positions[name], own.grid, row) for row in own.gravity])
        weights += share * (downs @ gravity if rides else np.repeat(gravity[None, 1] * -G0, len(downs), axis=0))
        spring += share * np.interp(positions[name], own.grid, own.spring)
        friction += abs(share) * own.dry
        inertia += share * share * own.inertia
    for held, card in creature.skins.items():
        drawn = [(name, share) for name, (_, share) in zip(names, follow, strict=True) if name in card.holds]
        if not drawn:
            continue
        made = skin(held, card, creature.functions, creature.stock_tables, creature.tables)
        stand = {other: creature.functions[other].neutral for other in card.holds}
        for k in range(POINTS):
            at = {**stand, **{name: float(positions[name][k]) for name, _ in drawn}}
            pull[k] += sum(share * force_on(made, name, at) for name, share in drawn)
    speed, acceleration = least_jerk(POINTS, travel[1] - travel[0], MOVE_S)
    return Moved(
        grid=grid, speed=speed, acceleration=acceleration, force=np.abs(weights + spring + pull).max(axis=0),
        skin=np.abs(pull), friction=friction, inertia=inertia,
    )  # fmt: skip


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


def _line(creature: Creature, means: Servo, volts: float) -> Line:
    """Return what a means really gives at a voltage; rows are interpolated and held at their ends."""
    servo = creature.servos[means.model]
    at = [point.at for point in servo.points]
    stall = float(np.interp(volts, at, [point.stall for point in servo.points]))
    free = float(np.interp(volts, at, [point.free for point in servo.points]))
    return Line(stall * servo.derate * means.count, free, servo.travel)


def _downs(creature: Creature) -> F64:
    """Return gravity [m/s2] in the head's frame at the ends and the middle of every attitude of the brief, (a, 3)."""
    held = creature.brief.attitudes
    nods, tilts = (*held.nod, 0.0), (*held.tilt, 0.0)
    found = []
    for nod, tilt in itertools.product(nods, tilts):
        pose = rotation((-1.0, 0.0, 0.0), nod) @ rotation((0.0, 0.0, -1.0), tilt)
        found.append(pose.T @ np.array([0.0, -G0, 0.0]))
    return np.array(found)
