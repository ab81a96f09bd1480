"""Where what a carrier bears balances, and its inertia about the neck. docs/methods/masses.md."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64, Unknown, f64
from marotte.basis.contracts.fit import MassLine
from marotte.basis.frames import Vec
from marotte.creature.naming import named
from marotte.creature.schema.build import Build

POINT: Final = f64(np.zeros((3, 3)))
"""Own inertia [kg*m2] of what is taken as a point, or is spread over a shell."""


def balance(
    carrier: str, lines: Sequence[MassLine], total: float, neck: F64, build: Build
) -> tuple[Vec | Unknown, F64 | Unknown]:
    """Return the centre of mass [m] and the inertia (3, 3) about the neck [kg*m2], or why not.

    What has no place is spread over the skull's shell where the skull bears it; borne by anything else it leaves both unknown.
    """
    lost = [line for line in lines if line.at is None and line.mass > 0.0]
    skull = build.skull
    if total <= 0.0:
        why = Unknown(why=f"all that {carrier} bears weighs nothing as written")
        return why, why
    shape = skull.shape if skull is not None and carrier == "skull" else None
    if lost and (shape is None or skull is None):
        names = list(dict.fromkeys(named(line.label) for line in lost))
        why = Unknown(
            why=f"where {', '.join(names)} {'sits' if len(names) == 1 else 'sit'} is not written",
            wants=tuple(dict.fromkeys(line.ref for line in lost)),
        )
        return why, why
    moment, about = np.zeros(3), np.zeros((3, 3))
    middle = np.array(skull.centre) if skull is not None else np.zeros(3)
    for line in lines:
        if line.at is None and shape is not None:
            place, own = middle, shell_inertia(line.mass, shape) + line.own
        else:  # without a place and without a shell it weighs nothing
            place, own = np.array(line.at or (0.0, 0.0, 0.0)), line.own
        moment += line.mass * place
        about += own + steiner(line.mass, place - neck)
    return as_vec(moment / total), f64(about)


def shell_inertia(mass: float, shape: tuple[float, float, float]) -> F64:
    """Return (3, 3) the inertia [kg*m2] about its centre of a mass spread over the shell of an ellipsoid of whole axes ``shape``.

    The shell lies between two ellipsoids of the same shape: m (b^2 + c^2) / 3 with half axes b, c; a sphere's is 2/3 m r^2.
    """
    half2 = (np.array(shape) / 2.0) ** 2
    return np.asarray(mass / 3.0 * np.diag(half2.sum() - half2))


def steiner(mass: float, arm: F64) -> F64:
    """Return (3, 3) m (r.r 1 - r r^T): the inertia [kg*m2] of a point mass at ``arm`` [m] from a point."""
    return np.asarray(mass * (float(arm @ arm) * np.eye(3) - np.outer(arm, arm)))


def as_vec(array: F64) -> Vec:
    """Return (3,) as three plain numbers."""
    return (float(array[0]), float(array[1]), float(array[2]))
