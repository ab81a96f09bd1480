"""The cells of the drive: the model, the windows, and the operating points that the asked motion wants."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from marotte.basis.contracts.common import F64, Told, Unknown, f64
from marotte.basis.contracts.drive import Response
from marotte.basis.contracts.mech import Mechs, Transmission
from marotte.basis.contracts.script import Demand, Window
from marotte.basis.digest import digest
from marotte.basis.frames import G0
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature
from marotte.creature.schema.brief import Attitudes
from marotte.drive import METHODS
from marotte.drive.islands import Island, islands
from marotte.drive.model import DriveModel, DriveRow, model
from marotte.drive.respond import aboves, gather
from marotte.drive.servo import available_torque_nm
from marotte.drive.upstream import Above
from marotte.drive.windows import Slice, WindowResult, cut_rows, gravity_at, gravity_series, window
from marotte.verdict import METHODS as OWN
from marotte.verdict.asked import heaviest, held_points, static_reach, worst_points
from marotte.verdict.cells import Cache, Cell
from marotte.verdict.points import Bearing, Line, Point

THREADS = 2
"""Windows run side by side; the answer does not depend on it."""
LINE_POINTS = 65
"""Places on a torque-speed line: straight pieces between them, exact for datasheet rows."""


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of the asked motion; known by the demand that they come from."""

    demand: bytes
    names: tuple[str, ...]
    values: Mapping[str, F64]

    def __digest__(self) -> bytes:
        return digest((self.demand, self.names))


def driven(creature: Creature, mechs: Mechs) -> DriveModel:
    """Return the drive model of a creature."""
    cells = creature.stock_tables.batteries
    return model(creature.functions, creature.means, creature.servos, creature.supply, mechs, PARTS, cells)


def responses(
    demand: Cell[Demand] | Unknown, made: DriveModel, cache: Cache, threads: int = THREADS
) -> Cell[Response] | Unknown:
    """Return how the whole creature answers what is asked, window by window from the cache."""
    if isinstance(demand, Unknown):
        return demand
    method, number = "drive/drive", METHODS["drive/drive"]
    gravity = cache.cell(method, number, gravity_series, demand.value.motion)
    parts = islands(made)
    flat = _windows(parts, demand, gravity, cache, threads)
    over = cache.cell(method, number, _aboves, made, parts, flat, by_key=True)
    if any(one.dropped for one in over.value):
        parts = islands(made, whole=True)
        flat = _windows(parts, demand, gravity, cache, threads)
        over = cache.cell(method, number, _aboves, made, parts, flat, by_key=True)
    return cache.cell(method, number, _gathered, made, made.told, parts, demand, flat, over, by_key=True)


def _windows(
    parts: tuple[Island, ...], demand: Cell[Demand], gravity: Cell[F64], cache: Cache, threads: int
) -> tuple[Cell[WindowResult], ...]:
    """Return the results by island, then by window, in one row; what is not kept is run in threads."""
    asked = demand.value
    method, number = "drive/drive", METHODS["drive/drive"]
    tasks = [
        (island, cache.cell(method, number, cut_rows, island.asked, asked.motion, gravity, span), span)
        for island in parts
        for span in asked.windows
    ]
    kept = [cache.known(method, number, window, *task) for task in tasks]
    fresh = [task for task, cell in zip(tasks, kept, strict=True) if cell is None]

    def run(task: tuple[Island, Cell[Slice], Window]) -> Cell[WindowResult]:
        return cache.cell(method, number, window, *task, by_key=True)

    if threads > 1 and len(fresh) > 1:
        with ThreadPoolExecutor(max_workers=threads) as pool:
            made = iter(list(pool.map(run, fresh)))
    else:
        made = iter([run(task) for task in fresh])
    return tuple(cell or next(made) for cell in kept)


def _by_island(parts: Sequence[Island], flat: Sequence[WindowResult]) -> tuple[tuple[WindowResult, ...], ...]:
    count = len(flat) // max(len(parts), 1)
    return tuple(tuple(flat[i * count : (i + 1) * count]) for i in range(len(parts)))


def _aboves(made: DriveModel, parts: tuple[Island, ...], flat: tuple[WindowResult, ...]) -> tuple[Above, ...]:
    return aboves(made, parts, _by_island(parts, flat))


def _gathered(
    made: DriveModel, told: tuple[Told, ...], parts: tuple[Island, ...], demand: Demand, flat: tuple[WindowResult, ...],
    over: tuple[Above, ...],
) -> Response:  # fmt: skip
    """Return the whole from its windows; what is told is part of the key, as the model's digest leaves it out."""
    assert told == made.told
    return gather(made, parts, demand.motion, demand.windows, _by_island(parts, flat), over)


def line_of(drive: DriveRow) -> Line:
    """Return the torque-speed line of a drive at its nominal voltage, all its servos together."""
    motor = drive.motor
    speeds = np.linspace(0.0, motor.free_speed_rad_s, LINE_POINTS)
    torques = drive.count * available_torque_nm(motor, speeds)
    return Line(
        stall_nm=drive.count * motor.stall_torque_nm, free_rad_s=motor.free_speed_rad_s, speeds=f64(speeds),
        torques=f64(torques),
    )  # fmt: skip


def downs(creature: Creature, demand: Demand | None) -> dict[str, F64]:
    """Return (attitudes, 3) gravity [m/s2] for what rides on the head, and for what does not.

    The head is taken through the corners and middles of the nods and tilts that the brief allows or the part asks for; a
    turn does not change gravity.
    """
    attitudes: Attitudes = creature.brief.attitudes
    ranges = {"head_nod": attitudes.nod, "head_tilt": attitudes.tilt}
    if demand is not None:
        for name, function in creature.functions.items():
            if function.part in ranges and name in demand.motion.names:
                row = demand.motion.row(name)
                low, high = ranges[function.part]
                ranges[function.part] = (min(low, float(row.min())), max(high, float(row.max())))
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
    gravity = downs(creature, None if isinstance(demand, Unknown) else demand.value)
    drives = {row.name: row for row in made.drives}
    method, number = "verdict/operating_point", OWN["verdict/operating_point"]
    for name, transmission in mechs.transmissions.items():
        if isinstance(transmission, Unknown):
            continue
        bearing = bearing_of(creature, transmission, mechs, gravity)
        if any(given not in drives for given in transmission.inputs):
            if len(transmission.inputs) == 1:
                swept = along_travel(creature, transmission, rows_wanted(bearing))
                found.heaviest[name] = cache.cell(method, number, heaviest, bearing, swept).value
            continue
        lines = tuple(line_of(drives[given]) for given in transmission.inputs)
        names = rows_wanted(bearing)
        found.poses[name], at_rest = standing_poses(creature, transmission, names)
        found.held[name] = cache.cell(method, number, held_points, bearing, at_rest, lines).value
        if len(lines) == 1:
            swept = along_travel(creature, transmission, names)
            found.reach[name] = cache.cell(method, number, static_reach, bearing, swept, lines[0]).value
        if isinstance(demand, Unknown):
            found.worst[name] = demand
        else:
            found.worst[name] = cache.cell(method, number, _worst, bearing, rows_of(demand, names), lines).value
    return found


def rows_of(demand: Cell[Demand], names: tuple[str, ...]) -> Rows:
    """Return rows of the asked motion by name."""
    motion = demand.value.motion
    return Rows(
        demand.result, names, {name: motion.row(name).astype(np.float64) for name in names if name in motion.names}
    )


def _worst(bearing: Bearing, rows: Rows, lines: tuple[Line, ...]) -> tuple[Point, ...]:
    return worst_points(bearing, rows.values, lines)


def bearing_of(creature: Creature, transmission: Transmission, mechs: Mechs, gravity: Mapping[str, F64]) -> Bearing:
    """Return what a mechanism bears."""
    part = PARTS[creature.functions[transmission.outputs[0]].part]
    on_head = part.rides_on in ("head", "jaw", "ear")
    return Bearing(
        transmission=transmission,
        loads=tuple(mechs.loads[name] for name in transmission.outputs),
        skins=tuple(skin for skin in mechs.skins if any(name in skin.holds for name in transmission.outputs)),
        downs=gravity["head" if on_head else "world"],
    )


def rows_wanted(bearing: Bearing) -> tuple[str, ...]:
    """Return the functions whose positions the forces on a mechanism depend on."""
    names = set(bearing.transmission.outputs)
    for skin in bearing.skins:
        names |= set(skin.holds)
    return tuple(sorted(names))


def standing_poses(
    creature: Creature, transmission: Transmission, names: tuple[str, ...]
) -> tuple[tuple[str, ...], dict[str, F64]]:
    """Return the poses that a creature holds for a while, and (poses,) positions of some functions in them.

    Neutral, and every mood, since a mood stands for as long as a line does.
    """
    standing = {"neutral": {}, **creature.poses.moods}
    moved = set(transmission.outputs)
    kept = [name for name, pose in standing.items() if name == "neutral" or moved & set(pose)]
    rows: dict[str, F64] = {}
    for function in names:
        record = creature.functions[function]
        values = []
        for name in kept:
            way = standing[name].get(function, 0.0)
            end = record.travel[1] if way >= 0 else record.travel[0]
            values.append(record.neutral + abs(way) * (end - record.neutral))
        rows[function] = f64(values)
    return tuple(kept), rows


def along_travel(creature: Creature, transmission: Transmission, names: tuple[str, ...]) -> dict[str, F64]:
    """Return (positions,) of some functions while the one input of a mechanism sweeps its travel; the others at neutral."""
    count = transmission.position.shape[1]
    rows = {name: f64(np.full(count, creature.functions[name].neutral)) for name in names}
    order = np.argsort(transmission.position[0], kind="stable")
    for k, name in enumerate(transmission.outputs):
        rows[name] = f64(transmission.position[k][order])
    return rows
