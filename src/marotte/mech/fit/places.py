"""Where functions, eyes and the neck are, as written or else by the anatomy."""

from __future__ import annotations

from collections.abc import Mapping

from marotte.basis.frames import Vec, mirrored
from marotte.creature.anatomy import EYE_SPACING, PARTS
from marotte.creature.schema.build import Build
from marotte.creature.schema.functions import Function

NECK = "neck"
"""Name under build > points of the place about which the head moves."""


def eye_spacing(build: Build) -> float:
    """Return the distance of the eye centres [m]; the anatomy's own where the build gives none."""
    return build.eye.spacing if build.eye is not None else EYE_SPACING


def place_of(function: Function, points: Mapping[str, Vec], spacing_m: float) -> Vec:
    """Return a point on a function's axis [m]: a named point, a written one (mirrored on the right), or the anatomy's."""
    at = function.at
    if isinstance(at, str):
        return points[at] if at in points else points[f"{at}_{function.side}"]
    if at is not None:
        return mirrored(at) if function.side == "right" else at
    return PARTS[function.part].place(function.side, spacing_m)


def neck_of(points: Mapping[str, Vec], spacing_m: float) -> tuple[Vec, bool]:
    """Return the place about which the head moves [m], and whether the build writes it."""
    if NECK in points:
        return points[NECK], True
    return PARTS["head_nod"].place(None, spacing_m), False


def named_place(written: str | Vec, side: str | None, points: Mapping[str, Vec]) -> Vec | None:
    """Return a place that a mech writes [m]: a named point, of a pair's its own side's, or a written one, mirrored on the right."""
    if isinstance(written, str):
        return points.get(f"{written}_{side}", points.get(written))
    return mirrored(written) if side == "right" else written
