"""The cells of the drive: the model, the windows, and the operating points that the asked motion wants."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from marotte.basis.contracts.common import F32, F64, Told, Unknown, f64
from marotte.basis.contracts.drive import Response
from marotte.basis.contracts.mech import Load, Mechs, Skin, Transmission
from marotte.basis.contracts.script import Demand
from marotte.basis.digest import digest
from marotte.basis.frames import G0
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature
from marotte.creature.schema.brief import Attitudes
from marotte.creature.schema.functions import Function
from marotte.creature.schema.poses import Poses
from marotte.drive.added import Added, add
from marotte.drive.gather import gather
from marotte.drive.islands import Island, islands
from marotte.drive.model import DriveModel, DriveRow, model
from marotte.drive.servo import available_torque_nm
from marotte.drive.upstream import aboves
from marotte.drive.windows import WindowResult, gravity_at
from marotte.verdict import METHODS as OWN
from marotte.verdict.along import heaviest, static_reach
from marotte.verdict.asked import held_points, worst_points
from marotte.verdict.cells import Cache, Cell
from marotte.verdict.points import Bearing, Line, Point
from marotte.verdict.running import METHOD, NUMBER, Running, begin

THREADS = 2
"""Windows run side by side; the answer does not depend on it."""
LINE_POINTS = 65
"""Places on a torque-speed line: straight pieces between them, exact for datasheet rows."""


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of the asked motion; known by the demand that they come from."""

    demand: bytes
    names: tuple[str, ...]
    values: Mapping[str, F32]
    """Parts of that motion, not copies: half an hour of thirty functions is 100 MB in float64."""

    def __digest__(self) -> bytes:
        return digest((self.demand, self.names))

    def __near__(self) -> bytes:
        """Return by what it is known without being held."""
        return self.__digest__()


def driven(creature: Creature, mechs: Mechs, cache: Cache) -> DriveModel:
    """Return the drive model of a creature."""
    c, cells = creature, creature.stock_tables.batteries
    return model(c.functions, c.means, c.servos, c.supply, mechs, PARTS, cells, cache.again)


def started(demand: Cell[Demand], made: DriveModel, cache: Cache) -> Running:
    """Begin to run the whole creature over what is asked; ``responses`` waits for it."""
    return begin(islands(made, again=cache.again), demand, cache, THREADS)


def responses(
    demand: Cell[Demand] | Unknown, made: DriveModel, cache: Cache, running: Running | None = None
) -> Cell[Response] | Unknown:
    """Return how the whole creature answers what is asked, window by window from the cache."""
    if isinstance(demand, Unknown):
        return demand
    running = running if running is not None else started(demand, made, cache)
    found = _response(demand, made, running.parts, running.finish(), cache)
    if found.value is None:
        parts = islands(made, True, cache.again)
        found = _response(demand, made, parts, begin(parts, demand, cache, THREADS).finish(), cache)
    assert found.value is not None
    return Cell(found.value, found.result)


def _response(
    demand: Cell[Demand],
    made: DriveModel,
    parts: tuple[Island, ...],
    flat: tuple[Cell[WindowResult], ...],
    cache: Cache,
) -> Cell[Response | None]:
    """Return the whole from its windows; None where a border of its islands does not hold. Only the last one is kept."""
    count = len(flat) // max(len(parts), 1)
    added = tuple(
        cache.cell(METHOD, NUMBER, _added, part, flat[k * count : (k + 1) * count], by_key=True)
        for k, part in enumerate(parts)
    )
    return cache.last(METHOD, NUMBER, _gathered, made, made.told, parts, demand, flat, added)


def _by_island(parts: Sequence[Island], flat: Sequence[WindowResult]) -> tuple[tuple[WindowResult, ...], ...]:
    count = len(flat) // max(len(parts), 1)
    return tuple(tuple(flat[i * count : (i + 1) * count]) for i in range(len(parts)))


def _added(part: Island, results: tuple[WindowResult, ...]) -> Added:
    return add(part, results)


def _gathered(
    made: DriveModel, told: tuple[Told, ...], parts: tuple[Island, ...], demand: Demand, flat: tuple[WindowResult, ...],
    added: tuple[Added, ...],
) -> Response | None:  # fmt: skip
    """Return the whole from its windows; what is told is part of the key, as the model's digest leaves it out."""
    assert told == made.told
    results = _by_island(parts, flat)
    over = aboves(made, parts, results)
    if any(one.dropped for one in over):
        return None
    return gather(made, parts, demand.motion, demand.windows, results, over, added)


def line_of(drive: DriveRow) -> Line:
    """Return the torque-speed line of a drive at its nominal voltage, all its servos together."""
    motor = drive.motor
    speeds = np.linspace(0.0, motor.free_speed_rad_s, LINE_POINTS)
    torques = drive.count * available_torque_nm(motor, speeds)
    return Line(
        stall_nm=drive.count * motor.stall_torque_nm, free_rad_s=motor.free_speed_rad_s, speeds=f64(speeds),
        torques=f64(torques),
    )  # fmt: skip


def downs(
    attitudes: Attitudes, heads: tuple[tuple[str, str], ...], demand: Cell[Demand] | None
) -> dict[Literal["head", "world"], F64]:
    """Return (attitudes, 3) gravity [m/s2] for what rides on the head, and for what does not.

    The head is taken through the corners and middles of the nods and tilts that the brief allows or the part asks for; a
    turn does not change gravity. ``heads`` are the functions that nod and tilt it, each with its part.
    """
    ranges = {"head_nod": attitudes.nod, "head_tilt": attitudes.tilt}
    for name, part in heads if demand is not None else ():
        if demand is not None and name in demand.value.motion.names:
            row = demand.value.motion.row(name)
            low, high = ranges[part]
            ranges[part] = (min(low, float(row.min())), max(high, float(row.max())))
    nods, tilts = (sorted({low, min(max(0.0, low), high), high}) for low, high in ranges.values())
    head = np.array([gravity_at(nod, tilt) for nod in nods for tilt in tilts])
    return {"head": f64(head), "world": f64([[0.0, -G0, 0.0]])}


@dataclass(frozen=True, slots=True, kw_only=True)
class Operating:
    """What is wanted of the servos, by mechanism that servos move."""

    worst: dict[str, tuple[Point, ...] | Unknown]
    """Its scarcest instant, one an input."""
    held: dict[str, tuple[tuple[Point, ...], ...] | Unknown]
    """What holding still takes, (poses, inputs)."""
    poses: dict[str, tuple[str, ...]]
    """Names of the poses that are held."""
    reach: dict[str, tuple[float, float]]
    """With one input: how far its first output can be held, down and up."""
    heaviest: dict[str, Point]
    """By mechanism with one input that no servo moves: where along its travel most is wanted to hold it."""


def operating(
    creature: Creature, demand: Cell[Demand] | Unknown, mechs: Mechs, made: DriveModel, cache: Cache
) -> Operating:
    """Return what is wanted of what moves every mechanism."""
    found = Operating(worst={}, held={}, poses={}, reach={}, heaviest={})
    heads = tuple((name, f.part) for name, f in creature.functions.items() if f.part in ("head_nod", "head_tilt"))
    gravity = cache.again(downs, creature.brief.attitudes, heads, None if isinstance(demand, Unknown) else demand)
    drives = {row.name: row for row in made.drives}
    method, number = "verdict/operating_point", OWN["verdict/operating_point"]
    for name, transmission in mechs.transmissions.items():
        if isinstance(transmission, Unknown):
            continue
        bearing = bearing_of(creature, transmission, mechs, gravity, cache)
        names = cache.again(rows_wanted, bearing)
        moved = tuple(creature.functions[function] for function in names)
        if any(given not in drives for given in transmission.inputs):
            if len(transmission.inputs) == 1:
                swept = cache.again(along_travel, transmission, names, moved)
                found.heaviest[name] = cache.cell(method, number, heaviest, bearing, swept).value
            continue
        lines = tuple(cache.again(line_of, drives[given]) for given in transmission.inputs)
        found.poses[name], at_rest = cache.again(standing_poses, creature.poses, transmission, names, moved)
        found.held[name] = cache.cell(method, number, held_points, bearing, at_rest, lines).value
        if len(lines) == 1:
            swept = cache.again(along_travel, transmission, names, moved)
            found.reach[name] = cache.cell(method, number, static_reach, bearing, swept, lines[0]).value
        if isinstance(demand, Unknown):
            found.worst[name] = demand
        else:
            rows = rows_of(demand, names)
            found.worst[name] = cache.cell(method, number, _worst, bearing, rows, lines).value
    return found


def rows_of(demand: Cell[Demand], names: tuple[str, ...]) -> Rows:
    """Return rows of the asked motion by name."""
    motion = demand.value.motion
    return Rows(demand.result, names, {name: motion.row(name) for name in names if name in motion.names})


def _worst(bearing: Bearing, rows: Rows, lines: tuple[Line, ...]) -> tuple[Point, ...]:
    return worst_points(bearing, {name: row.astype(np.float64) for name, row in rows.values.items()}, lines)


def bearing_of(
    creature: Creature,
    transmission: Transmission,
    mechs: Mechs,
    gravity: Mapping[Literal["head", "world"], F64],
    cache: Cache,
) -> Bearing:
    """Return what a mechanism bears."""
    part = PARTS[creature.functions[transmission.outputs[0]].part]
    on_head = part.rides_on in ("head", "jaw", "ear")
    return cache.again(
        _bearing,
        transmission,
        tuple(mechs.loads[name] for name in transmission.outputs),
        tuple(skin for skin in mechs.skins if any(name in skin.holds for name in transmission.outputs)),
        gravity["head" if on_head else "world"],
    )


def _bearing(transmission: Transmission, loads: tuple[Load, ...], skins: tuple[Skin, ...], down: F64) -> Bearing:
    return Bearing(transmission=transmission, loads=loads, skins=skins, downs=down)


def rows_wanted(bearing: Bearing) -> tuple[str, ...]:
    """Return the functions whose positions the forces on a mechanism depend on."""
    names = set(bearing.transmission.outputs)
    for skin in bearing.skins:
        names |= set(skin.holds)
    return tuple(sorted(names))


def standing_poses(
    poses: Poses, transmission: Transmission, names: tuple[str, ...], functions: tuple[Function, ...]
) -> tuple[tuple[str, ...], dict[str, F64]]:
    """Return the poses that a creature holds for a while, and (poses,) positions of some functions in them.

    Neutral, and every mood, since a mood stands for as long as a line does.
    """
    standing = {"neutral": {}, **poses.moods}
    moved = set(transmission.outputs)
    kept = [name for name, pose in standing.items() if name == "neutral" or moved & set(pose)]
    rows: dict[str, F64] = {}
    for function, record in zip(names, functions, strict=True):
        values = []
        for name in kept:
            way = standing[name].get(function, 0.0)
            end = record.travel[1] if way >= 0 else record.travel[0]
            values.append(record.neutral + abs(way) * (end - record.neutral))
        rows[function] = f64(values)
    return tuple(kept), rows


def along_travel(transmission: Transmission, names: tuple[str, ...], functions: tuple[Function, ...]) -> dict[str, F64]:
    """Return (positions,) of some functions while the one input of a mechanism sweeps its travel; the others at neutral."""
    count = transmission.position.shape[1]
    rows = {name: f64(np.full(count, function.neutral)) for name, function in zip(names, functions, strict=True)}
    order = np.argsort(transmission.position[0], kind="stable")
    for k, name in enumerate(transmission.outputs):
        rows[name] = f64(transmission.position[k][order])
    return rows
