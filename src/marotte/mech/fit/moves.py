"""Another place for a servo whose box is written: as near to where it is as it goes in, and still where its linkage reaches."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.contracts.fit import Fit, Placed
from marotte.creature.schema.means import Box
from marotte.creature.schema.mechs import Cable, PullPull
from marotte.mech.fit.bodies import servo_solids
from marotte.mech.fit.candidates import servo_frames
from marotte.mech.fit.fit import TURNED, FitParts, fixed_solids
from marotte.mech.fit.placement import OFF, Standing, is_free, propose
from marotte.mech.fit.seat import Pose, Seat, mirror_of, pose_of, shaft_of
from marotte.mech.fit.skull import Shell
from marotte.mech.fit.solids import Solid
from marotte.mech.fit.wants import off_of

ROD_GIVES: Final = 5e-3
"""Change of the way from shaft to goal [m] that a rod's thread and its ball joints make good (common practice, no source)."""
DRAWN: Final = 0.5e-3
"""To what a proposed place is rounded [m], so that it can be drawn; it keeps more clear than that."""
WAYS: Final = np.array(
    [
        (x, y, z)
        for x in (-1.0, 0.0, 1.0)
        for y in (-1.0, 0.0, 1.0)
        for z in (-1.0, 0.0, 1.0)
        if 0 < abs(x) + abs(y) + abs(z) < 3
    ]
)
"""Along one of the head's axes, or two at once by as much."""


def in_one_box(parts: FitParts) -> dict[str, tuple[str, ...]]:
    """Return by the ref of each written box the servos that sit in it: both of a pair, the left one first."""
    found: dict[str, list[str]] = {}
    for seat in parts.seats:
        if seat.box is not None:
            found.setdefault(seat.box.ref(""), []).append(seat.name)
    return {ref: tuple(sorted(names)) for ref, names in found.items()}


def written_as(seat: Seat, pose: Pose) -> Box:
    """Return the box that puts a servo at a pose; of the right one of a pair, as it stands for the left."""
    box = seat.box
    if box is None:
        raise ValueError("a servo without a box cannot be moved")
    left = mirror_of(pose) if seat.side == "right" else pose
    at, along, axis = (tuple(round(float(x), 6) + 0.0 for x in row) for row in (left.at, left.frame[0], left.frame[2]))
    return box.model_copy(update={"at": at, "along": along, "axis": axis})


def with_boxes(parts: FitParts, boxes: Mapping[str, Box]) -> FitParts:
    """Return parts with other boxes, by servo."""
    return replace(parts, seats=tuple(replace(seat, box=boxes.get(seat.name, seat.box)) for seat in parts.seats))


def nearest_place(
    parts: FitParts, shell: Shell, names: Sequence[str], reach: float, step: float, good: Callable[[Pose], bool]
) -> Pose | None:
    """Return the nearest pose of the first of some servos in one box at which all of them are free, or None.

    Args:
        parts: what sits in the skull.
        shell: its inside.
        names: of the servos in one box; the others are mirrored.
        reach: how far it may move [m].
        step: between the places tried [m].
        good: what else must hold of a pose; asked last.
    """
    seats = {seat.name: seat for seat in parts.seats}
    first, twins = seats[names[0]], [seats[name] for name in names[1:]]
    standing = _others(parts, shell, frozenset(names))
    count = standing.count
    before = _pose(first)
    for pose in _near(first, before, reach, step):
        if not _reached(first, before, pose) or not is_free(first, pose, standing, shell):
            continue
        for twin in twins:
            standing.put(first, pose)
            free = is_free(twin, mirror_of(pose), standing, shell)
            standing.count = count
            if not free:
                break
        else:
            if good(pose):
                return pose
    return None


def free_place(parts: FitParts, shell: Shell, names: Sequence[str]) -> Pose | None:
    """Return the pose of the first of some servos in one box that is proposed where that box is taken away; None where none is found.

    The others of the box are mirrored, so a place counts only where its mirror was free for them.
    """
    seats = {seat.name: seat for seat in parts.seats}
    free = tuple(replace(seats[name], box=None) for name in names)
    solids = fixed_solids(parts, shell)
    solids.extend(one for seat in parts.seats if seat.box and seat.name not in names for one in written_solids(seat))
    found = propose(free, solids, shell).poses
    if len(found) < len(names):
        return None
    pose = found[names[0]]
    mirrored = (mirror_of(pose) if seats[name].side != seats[names[0]].side else pose for name in names[1:])
    for name, wanted in zip(names[1:], mirrored, strict=True):
        if np.abs(found[name].at - wanted.at).max() > 1e-9 or np.abs(found[name].frame - wanted.frame).max() > 1e-9:
            return None
    return Pose(np.round(pose.at / DRAWN) * DRAWN, pose.frame)


def written_solids(seat: Seat) -> tuple[tuple[Placed, Solid], ...]:
    """Return the solids of a servo in its written box."""
    return servo_solids(seat, _pose(seat), "written")


def _pose(seat: Seat) -> Pose:
    assert seat.box is not None  # a written box is what makes it movable
    return pose_of(seat.box, seat.side)


def _others(parts: FitParts, shell: Shell, but: frozenset[str]) -> Standing:
    """Return all that stands beside some servos."""
    solids = fixed_solids(parts, shell)
    written = [seat for seat in parts.seats if seat.box is not None]
    for seat in written:
        if seat.name not in but:
            solids.extend(written_solids(seat))
    free = tuple(seat for seat in parts.seats if seat.box is None)
    if free:
        whole = [
            *solids,
            *(one for seat in written if seat.name in but for one in written_solids(seat)),
        ]
        found = propose(free, whole, shell)
        solids.extend(
            one
            for seat in free
            if seat.name in found.poses
            for one in servo_solids(seat, found.poses[seat.name], "proposed")
        )
    return Standing(solids, 3 * len(but))


def _near(seat: Seat, before: Pose, reach: float, step: float) -> Iterator[Pose]:
    """Yield poses round one, the nearest first: moved as it stands, then turned about its shaft's middle as well."""
    for far in range(1, int(reach / step + 0.5) + 1):
        for way in WAYS:
            yield Pose(before.at + far * step * way, before.frame)
    shaft = shaft_of(seat, before)
    turned = []
    for frame in servo_frames(seat):
        at = before.at + shaft - shaft_of(seat, Pose(before.at, frame))
        turned.append(Pose(np.round(at / step) * step, frame))
    for far in range(int(reach / step + 0.5) + 1):
        for pose in turned:
            for way in WAYS if far else WAYS[:1]:
                yield Pose(pose.at + far * step * way, pose.frame)


def _reached(seat: Seat, before: Pose, pose: Pose) -> bool:
    """Return whether a linkage still goes from a servo to what it moves, or no worse than it did."""
    now, then = off_of(seat, before), off_of(seat, pose)
    if now is not None and then is not None:
        return then.far <= max(OFF, now.far) + 1e-9 and then.turned <= max(TURNED, now.turned) + 1e-9
    far: list[float] = [_far(seat.goal, shaft_of(seat, one)) for one in (before, pose)]
    if isinstance(seat.record, (Cable, PullPull)):
        return far[1] <= max(seat.record.length, far[0])
    return abs(far[1] - far[0]) <= ROD_GIVES


def _far(a: F64, b: F64) -> float:
    return float(np.linalg.norm(a - b))


def too_near(found: Fit) -> dict[str, int]:
    """Return the servos that are nearer to something than they should be, with how often, the worst one's first."""
    count: dict[str, int] = {}
    owner = {placed.name: placed.of for placed in found.placed if placed.kind in ("servo", "horn", "rod")}
    for clash in found.clashes:
        for name in dict.fromkeys(owner.get(side, "") for side in (clash.first, clash.second)):
            if name:
                count[name] = count.get(name, 0) + 1
    return count
