"""A proposed place for every servo that has none written: a stated heuristic, the same every time. docs/methods/fit.md.

What has least choice goes first, each to the first place that is free of everything placed before: those where its linkage wants its shaft,
then others in the order of how far they are off. The other side of a pair is mirrored if that is free too. What found no place, or none where it
is wanted, goes first in the next round; the best of a fixed number of rounds is kept. Nothing is placed where it overlaps.
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
from marotte.creature.schema.mechs import BallRod, Cable, CrankSlider, Direct, FourBar, PullPull, TwoRodGimbal
from marotte.mech.fit.bodies import servo_solids
from marotte.mech.fit.candidates import KEEP, Places, exact_places, lattice, lattice_places, rests_on
from marotte.mech.fit.kernels_place import all_clear, first_free
from marotte.mech.fit.seat import Pose, Seat, mirror_of
from marotte.mech.fit.skull import Shell
from marotte.mech.fit.solids import Pack, Solid, pack
from marotte.mech.fit.wants import off_of

OFF: Final = 2e-3
"""Distance [m] from where the linkage wants the shaft from which it is told."""
ROUNDS: Final = 3
TRIES: Final = 40
"""Free places of a body on a lattice at which its horn and rod are looked at."""
TRIES_EXACT: Final = 150
"""The same, of places at which the shaft is exactly right."""
TAGS: Final = {"servo": 0, "horn": 0, "rod": 1, "eye": 2, "mouth": 3, "hand": 3, "wearer": 4}


T = TypeVar("T")
PlacesOf: TypeAlias = Callable[[Seat, bool], Places | None]
"""The places of a servo: the exact ones, or those on the lattice."""
_Seated: TypeAlias = tuple[Pose, list[tuple[Solid, F64, int]]]


@dataclass(frozen=True, slots=True)
class Proposal:
    """Where servos may sit."""

    poses: dict[str, Pose]
    unplaced: tuple[str, ...]
    off: tuple[str, ...] = ()
    """Placed, but not where the linkage wants the shaft."""


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
    nodes = lattice(shell, min((float(seat.sides.min()) for seat in free), default=0.01))

    def places(seat: Seat, exact: bool) -> Places | None:
        answer = partial(exact_places, seat, shell) if exact else partial(lattice_places, seat, shell, nodes)
        return kept_places(_Known(digest((rests_on(seat), shell, len(nodes), exact)), answer))

    for _ in range(ROUNDS if free else 0):
        found = _round(order, fixed, shell, places)
        if (len(found.unplaced), len(found.off)) < (len(best.unplaced), len(best.off)):
            best = found
        lost = {*found.unplaced, *found.off}
        if not lost:
            break
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
    places: PlacesOf,
) -> Proposal:
    standing = Standing(fixed, 3 * len(order) + 3)
    poses: dict[str, Pose] = {}
    unplaced: list[str] = []
    content = digest(([(placed.kind, placed.points, placed.radius) for placed, _ in fixed], shell))
    for seat in order:
        content = digest((content, seat))
        found = kept_seats(_Known(content, partial(_seated, seat, order, poses, standing, shell, places)))
        if found is None:
            unplaced.append(seat.name)
            continue
        poses[seat.name] = found[0]
        standing.add(found[1])
    off = (seat.name for seat in order if seat.name in poses and _is_off(seat, poses[seat.name]))
    return Proposal(poses, tuple(sorted(unplaced)), tuple(sorted(off)))


def _is_off(seat: Seat, pose: Pose) -> bool:
    off = off_of(seat, pose)
    return off is not None and off.far > OFF


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
def kept_places(question: _Known[Places | None]) -> Places | None:
    """Return the exact places or those on the lattice of a servo in their order, found once."""
    return question.answered()


def _seated(
    seat: Seat, order: Sequence[Seat], poses: dict[str, Pose], standing: Standing, shell: Shell,
    places: PlacesOf,
) -> _Seated | None:  # fmt: skip
    """Return a servo's pose with its solids beside what stands, or None."""
    pose = _mirrored(seat, order, poses, standing, shell)
    if pose is None:
        exact, others = (
            places(seat, True),
            [other for other in order if _beside(seat, other) and other.name not in poses],
        )
        if exact is not None and others:  # two servos on one eye: the first leaves the second its place, if it can
            pose = _placed(
                seat, standing, shell, exact, lambda one: _leaves(seat, one, others, standing, shell, places)
            )
        if exact is not None and pose is None:
            pose = _placed(seat, standing, shell, exact)
        if pose is None:
            pose = _placed(seat, standing, shell, places(seat, False))
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


def _beside(seat: Seat, other: Seat) -> bool:
    """Return whether two servos push one thing together."""
    return other.name != seat.name and other.side == seat.side and other.record is seat.record


def _leaves(
    seat: Seat, pose: Pose, others: Sequence[Seat], standing: Standing, shell: Shell,
    places: PlacesOf,
) -> bool:  # fmt: skip
    """Return whether a servo at a pose leaves each of some others a place where its linkage wants it."""
    count = standing.count
    standing.put(seat, pose)
    left = all(_placed(other, standing, shell, places(other, True)) is not None for other in others)
    standing.count = count
    return left


def _placed(
    seat: Seat, standing: Standing, shell: Shell, places: Places | None, good: Callable[[Pose], bool] | None = None
) -> Pose | None:
    """Return the first free pose of a servo for which something else holds too, or None."""
    if places is None:
        return None
    half = 0.5 * seat.sides
    at, tries = 0, 0
    while tries < (TRIES_EXACT if places.exact else TRIES):
        at = int(
            first_free(
                at, places.order, places.nodes, places.frames, half, KEEP, standing.count,
                standing.arrays[5], standing.arrays[6], standing.frames, standing.halves, standing.balls,
            )
        )  # fmt: skip
        if at < 0:
            return None
        node, frame = divmod(int(places.order[at]), len(places.frames))
        pose = Pose(places.nodes[node], places.frames[frame])
        if is_free(seat, pose, standing, shell) and (good is None or good(pose)):
            return pose
        # on a lattice farther and farther on: near places fail for one reason
        at, tries = at + 1 + (0 if places.exact else tries * tries // 2), tries + 1
    return None


def _rank(seat: Seat) -> int:
    """Return how little choice a mech leaves its servo: what must sit on an axle or at one place goes before what a cable reaches."""
    ranks: dict[type, int] = {Direct: 0, TwoRodGimbal: 0, BallRod: 0, FourBar: 2, CrankSlider: 2, Cable: 4, PullPull: 4}
    return ranks.get(type(seat.record), 3)
