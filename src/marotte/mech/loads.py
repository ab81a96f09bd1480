"""What a function bears by itself: gravity, inertia, friction, springs. docs/methods/loads.md."""

from __future__ import annotations

import numpy as np

from marotte.basis.contracts.common import F64, f64
from marotte.basis.contracts.mech import Load
from marotte.basis.frames import Vec, mirrored
from marotte.creature.anatomy import Part
from marotte.creature.schema.functions import Function
from marotte.creature.schema.mechs import Cable
from marotte.mech.case import axis_of

POINTS = 181
"""Positions over the travel."""
SIZE_SHARE = 1.1
"""Inertia of a part over that of a point mass at its centre (common practice, no source)."""


def load(name: str, function: Function, part: Part) -> Load:
    """Return what one function bears over its travel, at every attitude and all speeds.

    Args:
        name: the function's name.
        function: its record; the centre of a right one is the mirror of what is written.
        part: its place on the anatomy.

    Returns:
        The load. ``gravity`` is linear in the vector of gravity in the part's parent frame, so that each attitude is one
        dot product: generalised force = gravity[:, i] . g, positive where it drives the position up.

    Raises:
        ValueError: neither the file nor the anatomy gives it an axis (validation refuses such a file).
    """
    axis = axis_of(function, part)
    if axis is None:
        raise ValueError(f"{name} has no axis")
    record = function.load
    grid = np.linspace(function.travel[0], function.travel[1], POINTS)
    centre: Vec = mirrored(record.centre) if function.side == "right" else record.centre
    spring = np.zeros(POINTS)
    if record.spring is not None:
        spring = -record.spring.rate * (grid - record.spring.slack_at)
    if isinstance(function.mech, Cable) and function.mech.returns == "spring":
        # the wire pulls the position up; its return pulls it down
        spring = spring - (function.mech.preload or 0.0) - (function.mech.spring or 0.0) * (grid - function.neutral)
    refs = {ref for ref in record.refs() if not ref.startswith("default:")}
    own = [function.ref("travel"), function.ref("axis")]
    if isinstance(function.mech, Cable):
        own += [function.mech.ref("spring"), function.mech.ref("preload")]
    refs.update(ref for ref in own if not ref.startswith("default:"))
    return Load(
        function=name,
        grid=f64(grid),
        gravity=f64(_gravity(np.array(axis), np.array(centre), record.mass, grid, part.kind == "turn")),
        spring=f64(spring),
        inertia=_inertia(np.array(axis), np.array(centre), record.mass, record.inertia, part.kind == "turn"),
        dry=record.friction,
        viscous=record.damping,
        rests_on=frozenset(refs),
    )


def _gravity(axis: F64, centre: F64, mass: float, grid: F64, turns: bool) -> F64:
    """Return (3, m): of a turn m (axis x R(q) c), of a slide m axis."""
    if not turns:
        return np.repeat((mass * axis)[:, None], grid.size, axis=1)
    along = float(axis @ centre) * axis
    flat = centre - along
    square = np.cross(axis, flat)
    # R(q) c = along + cos q flat + sin q square; axis x that = cos q square - sin q flat
    return np.asarray(mass * (np.outer(square, np.cos(grid)) - np.outer(flat, np.sin(grid))))


def _inertia(axis: F64, centre: F64, mass: float, own: float | None, turns: bool) -> float:
    if not turns:
        return mass
    flat = centre - float(axis @ centre) * axis
    point = mass * float(flat @ flat)
    return SIZE_SHARE * point if own is None else point + own


def gravity_force(load_: Load, g: Vec) -> F64:
    """Return the generalised force of gravity over the load's grid, (m,), for gravity g [m/s2] in the parent's frame."""
    return np.asarray(np.array(g) @ load_.gravity)
