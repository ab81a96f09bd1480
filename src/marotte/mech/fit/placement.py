"""A proposed place for every servo that has none written: a stated heuristic, the same every time. docs/methods/fit.md.

Largest first, each near where its linkage wants its shaft: places on a lattice, four turns about each direction that its shaft may
have, in the order of how far they are off; the first place that is free of everything placed before is taken, and the other side of a pair is
mirrored if that is free too. What found no place is placed first in the next round; the best of a fixed number of rounds is kept. Nothing is
placed where it overlaps.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import Any, Final, Generic, TypeAlias, TypeVar

import numpy as np

from marotte.basis.contracts.common import F64, I64
from marotte.basis.contracts.fit import Placed
from marotte.basis.digest import digest
from marotte.creature.anatomy import PARTS
from marotte.creature.schema.mechs import (
    BallRod,
    BellCrank,
    Cable,
    CrankSlider,
    Direct,
    FourBar,
    PullPull,
    TwoRodGimbal,
)
from marotte.mech.fit.bodies import HORN_OVER, Pose, Seat, mirror_of, servo_solids
from marotte.mech.fit.kernels_place import all_clear, first_free
from marotte.mech.fit.skull import Shell
from marotte.mech.fit.solids import Pack, Solid, box, pack
from marotte.mech.kinds.two_rod_gimbal import rods_of

LATTICE: Final = 8e-3
"""Distance of the places tried [m]."""
ROUNDS: Final = 3
TRIES: Final = 40
"""Free places of a body at which its horn and rod are looked at."""
KEEP: Final = 1.2e-3
"""Gap that a proposed place keeps [m]."""
TAGS: Final = {"servo": 0, "horn": 0, "rod": 1, "eye": 2, "mouth": 3, "hand": 3, "wearer": 4}
AXES: Final = np.array([[0, 0, 1], [0, 0, -1], [0, 1, 0], [0, -1, 0], [1, 0, 0], [-1, 0, 0]], dtype=np.float64)


T = TypeVar("T")
_Seated: TypeAlias = tuple[Pose, list[tuple[Solid, F64, int]]]


@dataclass(frozen=True, slots=True)
class Proposal:
    """Where servos may sit."""

    poses: dict[str, Pose]
    unplaced: tuple[str, ...]


def propose(free: Sequence[Seat], fixed: Sequence[tuple[Placed, Solid]], shell: Shell) -> Proposal:
    """Return a place for each seat that overlaps nothing, and the seats for which none was found.

    Args:
        free: servos without a box.
        fixed: what stands already.
        shell: the inside of the skull.
    """
    best = Proposal({}, tuple(seat.name for seat in free))
    order = sorted(
        free, key=lambda seat: (_rank(seat), -round(float(np.prod(seat.sides)), 12), _pair(seat.name), seat.name)
    )
    nodes = _nodes(shell, min((float(seat.sides.min()) for seat in free), default=0.01))

    def places(seat: Seat) -> Places:
        return kept_places(_Known(digest((_wanted(seat), shell, len(nodes))), partial(_places, seat, shell, nodes)))

    for _ in range(ROUNDS if free else 0):
        found = _round(order, fixed, shell, nodes, places)
        if len(found.unplaced) < len(best.unplaced):
            best = found
        if not found.unplaced:
            break
        lost = set(found.unplaced)
        order = [seat for seat in order if seat.name in lost] + [seat for seat in order if seat.name not in lost]
    return best


def _pair(name: str) -> str:
    return name.replace("_left", "").replace("_right", "")


class Standing:
    """What stands already, as the kernels take it; room is kept for what will be added. A lesser ``count`` takes the last away again."""

    def __init__(self, fixed: Sequence[tuple[Placed, Solid]], room: int) -> None:
        size = len(fixed) + room
        self.count = 0
        self.arrays = tuple(np.zeros((size, *array.shape[1:]), dtype=array.dtype) for array in _arrays(pack([])))
        self.tags = np.zeros(size, dtype=np.int64)
        self.frames, self.halves, self.balls = np.zeros((size, 3, 3)), np.zeros((size, 3)), np.zeros(size)
        self.add([(solid, placed.frame, TAGS[placed.kind]) for placed, solid in fixed])

    def put(self, seat: Seat, pose: Pose) -> None:
        """Put a servo with its horn and rod beside what stands."""
        self.add(_solids(seat, pose))

    def add(self, solids: Sequence[tuple[Solid, F64, int]]) -> None:
        """Put some solids beside what stands, each with a frame and a tag."""
        here = slice(self.count, self.count + len(solids))
        for mine, array in zip(_arrays(pack([solid for solid, _, _ in solids])), self.arrays, strict=True):
            array[here] = mine
        for k, (solid, frame, tag) in enumerate(solids, self.count):
            local = solid.points @ frame.T
            self.tags[k], self.frames[k] = tag, frame
            self.halves[k] = 0.5 * (local.max(axis=0) - local.min(axis=0)) + solid.radius
            # the middle of the box that holds it, in place of the middle of its points' bounds along x, y, z
            self.arrays[5][k] = 0.5 * (local.max(axis=0) + local.min(axis=0)) @ frame
            self.arrays[6][k] = float(np.linalg.norm(self.halves[k]))
            self.balls[k] = solid.radius if len(solid.points) == 1 else 0.0
        self.count += len(solids)


def _arrays(packed: Pack) -> tuple[F64 | I64, ...]:
    return (packed.points, packed.counts, packed.radii, packed.normals, packed.edges, packed.centres, packed.bounds)


def _round(
    order: Sequence[Seat],
    fixed: Sequence[tuple[Placed, Solid]],
    shell: Shell,
    nodes: F64,
    places: Callable[[Seat], Places],
) -> Proposal:
    standing = Standing(fixed, 3 * len(order))
    poses: dict[str, Pose] = {}
    unplaced: list[str] = []
    content = digest(([(placed.kind, placed.points, placed.radius) for placed, _ in fixed], shell))
    for seat in order:
        content = digest((content, seat))
        found = kept_seats(_Known(content, partial(_seated, seat, order, poses, standing, shell, nodes, places)))
        if found is None:
            unplaced.append(seat.name)
            continue
        poses[seat.name] = found[0]
        standing.add(found[1])
    return Proposal(poses, tuple(sorted(unplaced)))


class _Known(Generic[T]):
    """A question that is known by what its answer rests on, so that an edit of one servo asks anew only from that one on."""

    def __init__(self, content: bytes, answer: Callable[[], T]) -> None:
        self.content, self.answer = content, answer

    def __hash__(self) -> int:
        return int.from_bytes(self.content[:8], "little")

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Known) and other.content == self.content

    def answered(self) -> T:
        """Return the answer, and let go of what it was made from."""
        answer, self.answer = self.answer(), _gone
        return answer


def _gone() -> Any:
    raise AssertionError("asked once, kept, and never asked again")


@lru_cache(maxsize=1024)
def kept_seats(question: _Known[_Seated | None]) -> _Seated | None:
    """Return where a servo sits beside what stands, found once."""
    return question.answered()


@lru_cache(maxsize=256)
def kept_places(question: _Known[Places]) -> Places:
    """Return the places of a servo in their order, found once."""
    return question.answered()


def _seated(
    seat: Seat, order: Sequence[Seat], poses: dict[str, Pose], standing: Standing, shell: Shell, nodes: F64,
    places: Callable[[Seat], Places],
) -> _Seated | None:  # fmt: skip
    """Return a servo's pose with its solids beside what stands, or None."""
    pose = _mirrored(seat, order, poses, standing, shell)
    if pose is None:
        pose = _placed(seat, standing, shell, nodes, places(seat))
    return None if pose is None else (pose, _solids(seat, pose))


def _mirrored(
    seat: Seat, order: Sequence[Seat], poses: dict[str, Pose], standing: Standing, shell: Shell
) -> Pose | None:
    """Return the mirrored pose of the other side where both are alike and the place is free."""
    for other in order:
        twin = other.name != seat.name and _pair(other.name) == _pair(seat.name) and other.name in poses
        if twin and bool((other.sides == seat.sides).all()) and other.shaft == seat.shaft:
            pose = mirror_of(poses[other.name])
            if is_free(seat, pose, standing, shell):
                return pose
    return None


def _solids(seat: Seat, pose: Pose) -> list[tuple[Solid, F64, int]]:
    """Return body, horn and rod, in that order, each with a frame and a tag."""
    return [(solid, placed.frame, TAGS[placed.kind]) for placed, solid in servo_solids(seat, pose, "proposed")]


def is_free(seat: Seat, pose: Pose, standing: Standing, shell: Shell) -> bool:
    """Return whether body and horn stay inside, and all keep clear; a rod may pass other rods, and the eye or mouth that it moves."""
    mine = [solid for solid, _, _ in _solids(seat, pose)]
    arrays = _arrays(pack(mine))
    if shell.reaches_out(Pack(*(array[:2] for array in arrays))).max() > -KEEP:  # type: ignore[arg-type]
        return False
    group = PARTS[seat.part].group
    passes = np.array([False, True, group == "eyes", group == "mouth", False])
    return all_clear(KEEP, standing.count, standing.tags, passes, *arrays, *standing.arrays)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class Places:
    """The places of one servo in the order in which they are tried."""

    order: I64
    """(k,) node * frames + frame."""
    frames: F64
    inside: F64


def _places(seat: Seat, shell: Shell, nodes: F64) -> Places:
    """Return the places of a servo, nearest to where its linkage wants it first; of a pair's, those on its own side."""
    frames = servo_frames(seat)
    corners = np.array([box(np.zeros(3), frame, seat.sides).points for frame in frames])
    inside = shell.holds_boxes(nodes, corners, KEEP)
    wanted = inside > 0.0
    if seat.side is not None:
        sign = 1.0 if seat.side == "left" else -1.0
        extent = np.abs(corners[:, :, 0]).max(axis=1)
        wanted &= sign * nodes[:, None, 0] - extent[None, :] >= 0.5 * KEEP
    index = np.flatnonzero(wanted)
    off = _off(seat, nodes, frames).ravel()[index]
    order = index[np.argsort(np.round(off, 7), kind="stable")].astype(np.int64)
    return Places(order, frames, inside)


def _placed(seat: Seat, standing: Standing, shell: Shell, nodes: F64, places: Places) -> Pose | None:
    """Return the nearest free pose of a servo, or None."""
    half = 0.5 * seat.sides
    at, tries = 0, 0
    while tries < TRIES:
        at = int(
            first_free(
                at, places.order, nodes, places.frames, half, places.inside, KEEP, standing.count,
                standing.arrays[5], standing.arrays[6], standing.frames, standing.halves, standing.balls,
            )
        )  # fmt: skip
        if at < 0:
            return None
        node, frame = divmod(int(places.order[at]), len(places.frames))
        pose = Pose(nodes[node], places.frames[frame])
        if is_free(seat, pose, standing, shell):
            return pose
        at, tries = at + 1 + tries * tries // 2, tries + 1  # farther and farther on: near places fail for one reason
    return None


def _rank(seat: Seat) -> int:
    """Return how little choice a mech leaves its servo: what must sit on an axle goes before what a cable reaches."""
    ranks: dict[type, int] = {Direct: 0, TwoRodGimbal: 1, FourBar: 2, BallRod: 2, Cable: 4, PullPull: 4}
    return ranks.get(type(seat.record), 3)


def servo_frames(seat: Seat) -> F64:
    """Return (f, 3, 3) the ways a body may stand: shaft along its linkage's axis where it must, else along any of the head's axes."""
    bound = isinstance(seat.record, (FourBar, Direct))
    axis = np.array([1.0, 0.0, 0.0]) if isinstance(seat.record, TwoRodGimbal) else seat.axis
    if bound or isinstance(seat.record, TwoRodGimbal):
        shafts = [axis, -axis]
    else:
        shafts = list(AXES)
    out: list[F64] = []
    for shaft in shafts:
        near = AXES[2 * int(np.argmin(np.abs(shaft[[2, 1, 0]])))]
        along = near - float(near @ shaft) * shaft
        along = along / np.linalg.norm(along)
        ways = (along, np.cross(shaft, along), -along, -np.cross(shaft, along))
        kept = ways if len(shafts) == 2 else ways[:2]
        out.extend(np.array([side, np.cross(shaft, side), shaft]) for side in kept)
    return np.array(out)


def _nodes(shell: Shell, least: float) -> F64:
    """Return (n, 3) the places tried: a lattice through the skull's middle, mirrored in itself."""
    half = 0.5 * np.array(shell.shape)
    lines = []
    for k in range(3):
        count = int(half[k] / LATTICE)
        lines.append(shell.centre[k] + LATTICE * (np.arange(-count, count + 1)))
    grid = np.stack(np.meshgrid(*lines, indexing="ij"), axis=-1).reshape(-1, 3)
    return np.ascontiguousarray(grid[shell.holds(grid, 0.5 * least)])


def _wanted(seat: Seat) -> tuple[object, ...]:
    """Return all that the places of a servo rest on: where its linkage wants it, and its case; a horn alone moves no place."""
    record = seat.record
    lengths = tuple(getattr(record, name, None) for name in ("ground", "rod", "length"))
    if isinstance(record, TwoRodGimbal):
        lengths = (*rods_of(record, (seat.neutral, 0.0), seat.side)[seat.input, 3:6].tolist(),)
    elif isinstance(record, FourBar):
        lengths = (record.ground,)
    return (
        type(record).__name__,
        lengths,
        seat.body,
        seat.shaft,
        seat.count,
        seat.side,
        seat.goal,
        seat.axis,
        seat.eye,
    )


def _off(seat: Seat, nodes: F64, frames: F64) -> F64:
    """Return (nodes, frames) how far the shaft is from where its linkage wants it [m], with a little for the way to the goal."""
    record = seat.record
    lever = seat.shaft * frames[:, 0] + (0.5 * seat.body[2] + HORN_OVER) * frames[:, 2]
    shaft = nodes[:, None, :] + lever[None]
    way = seat.goal - shaft
    far = np.sqrt((way**2).sum(axis=-1))
    along = way @ seat.axis
    flat = np.sqrt(np.maximum(far**2 - along**2, 0.0))
    if isinstance(record, FourBar):
        return np.asarray(np.abs(flat - record.ground) + 0.5 * np.abs(along) + 0.02 * far)
    if isinstance(record, Direct):
        return np.asarray(flat + 0.2 * far)
    if isinstance(record, TwoRodGimbal):
        centre = rods_of(record, (seat.neutral, 0.0), seat.side)[seat.input, 3:6]
        return np.asarray(np.sqrt(((seat.eye + centre - shaft) ** 2).sum(axis=-1)))
    if isinstance(record, (CrankSlider, BallRod)):
        return np.asarray(np.abs(far - record.rod) + 0.02 * far)
    if isinstance(record, BellCrank):
        return np.asarray(np.abs(far - record.rod - record.ground) * 0.5 + 0.02 * far)
    if isinstance(record, (Cable, PullPull)):
        return np.asarray(np.maximum(far - record.length, 0.0) + 0.05 * (shaft[..., 1] - nodes[:, 1].min()))
    return np.asarray(far)
