"""Which servo comes out through which hatch, and what must come out before it. docs/methods/fit-access.md."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64, Told, f64
from marotte.basis.contracts.fit import Access, Fit, Placed, WayOut
from marotte.basis.frames import Vec
from marotte.creature.hatches import hatch_point, hatch_ways
from marotte.mech.fit.solids import Solid, gaps_of, pack

FAR: Final = 1.0
"""How far a body is drawn out [m]: farther than any head is wide."""
GRAZE: Final = 0.3e-3
"""Overlap [m] that a hand eases past."""


def drawn_out(placed: Placed, way: Vec) -> Solid:
    """Return all that a box passes through when it is drawn straight out."""
    direction = np.array(way)
    points = np.concatenate([placed.points, placed.points + FAR * direction])
    normals = np.concatenate([placed.frame, np.cross(placed.frame, direction)])
    return Solid(f64(points), placed.radius, f64(normals), f64(np.concatenate([placed.frame, [direction]])))


def access(
    found: Fit, hatches: Sequence[str], wanted: Mapping[str, Sequence[str]], points: Mapping[str, Vec], centre: Vec
) -> Access:
    """Return how each servo comes out, straight along the way of a hatch, horns and rods taken off.

    Args:
        found: what sits where.
        hatches: names of the skull's hatches.
        wanted: by servo, the hatches that its box names; a servo without any may use all.
        points: of the build.
        centre: of the skull [m].
    """
    ways, lost = hatch_ways(hatches, points, centre)
    servos = [placed for placed in found.placed if placed.kind == "servo"]
    things = [placed for placed in found.placed if placed.kind in ("servo", "eye", "mouth", "hand")]
    missing = tuple(
        (placed.of, hatch) for placed in servos for hatch in wanted.get(placed.of, ()) if hatch not in hatches
    )
    blocks = _in_the_way(servos, things, ways)
    return Access(
        hatches=ways, unknown_hatches=lost, missing_hatches=missing, ways=_order(servos, ways, wanted, blocks),
        told=tuple(
            Told(
                code="hatch_way", ref="/build/skull/hatch",
                sentence=f"the hatch {name} says no direction: write a point {hatch_point(name)} under build > points",
            )
            for name in lost
        ),
    )  # fmt: skip


def _in_the_way(
    servos: Sequence[Placed], things: Sequence[Placed], ways: Mapping[str, Vec]
) -> dict[tuple[str, str], tuple[Placed, ...]]:
    """Return by hatch and servo what is in its way, all asked of the kernel at once."""
    asked = [(name, placed) for name in ways for placed in servos]
    solids = [_as_solid(thing) for thing in things] + [drawn_out(placed, ways[name]) for name, placed in asked]
    pairs = [
        (len(things) + k, j)
        for k, (_, placed) in enumerate(asked)
        for j, thing in enumerate(things)
        if thing is not placed
    ]
    if not pairs:
        return {(name, placed.of): () for name, placed in asked}
    index = np.array(pairs, dtype=np.int64)
    gaps: F64 = gaps_of(pack(solids), index, 1e-3)[:, 0]
    found: dict[tuple[str, str], list[Placed]] = {(name, placed.of): [] for name, placed in asked}
    for k, j in index[gaps < -GRAZE].tolist():
        name, placed = asked[k - len(things)]
        found[name, placed.of].append(things[j])
    return {key: tuple(blocked) for key, blocked in found.items()}


def _as_solid(placed: Placed) -> Solid:
    none = f64(np.zeros((0, 3)))
    faces = placed.frame if len(placed.points) == 8 else none
    return Solid(placed.points, placed.radius, faces, faces)


def _order(
    servos: Sequence[Placed],
    ways: Mapping[str, Vec],
    wanted: Mapping[str, Sequence[str]],
    blocks: Mapping[tuple[str, str], tuple[Placed, ...]],
) -> tuple[WayOut, ...]:
    """Take out, layer by layer, what nothing is in the way of; each servo's own list is what its way rests on."""
    out: dict[str, WayOut] = {}
    while True:
        layer: dict[str, WayOut] = {}
        for placed in servos:
            if placed.of in out:
                continue
            free = [
                (len(_before(blocks[name, placed.of], out)), name)
                for name in _allowed(placed.of, ways, wanted)
                if all(thing.kind == "servo" and thing.of in out for thing in blocks[name, placed.of])
            ]
            if free:
                name = min(free)[1]
                things = blocks[name, placed.of]
                layer[placed.of] = WayOut(
                    servo=placed.of, hatch=name, first=_before(things, out), blocked_by=tuple(t.name for t in things)
                )
        if not layer:
            break
        out.update(layer)
    for placed in servos:
        if placed.of not in out:
            tried = [blocks[name, placed.of] for name in _allowed(placed.of, ways, wanted)]
            things = min(tried, key=len, default=())
            out[placed.of] = WayOut(servo=placed.of, hatch=None, first=(), blocked_by=tuple(t.name for t in things))
    return tuple(out[placed.of] for placed in servos)


def _allowed(servo: str, ways: Mapping[str, Vec], wanted: Mapping[str, Sequence[str]]) -> list[str]:
    named = [name for name in wanted.get(servo, ()) if name in ways]
    return named or ([] if wanted.get(servo) else list(ways))


def _before(things: Sequence[Placed], out: Mapping[str, WayOut]) -> tuple[str, ...]:
    """Return everything that must come out before, what comes first first."""
    order: dict[str, None] = {}
    for thing in things:
        for name in (*out[thing.of].first, thing.of):
            order[name] = None
    return tuple(order)
