"""Lost motion at the place that shows, link by link: docs/methods/slop.md."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from marotte.basis.contracts.common import F64, Bool, Unknown
from marotte.basis.contracts.mech import Slop, SlopPart, Transmission
from marotte.basis.given import Ref
from marotte.creature.naming import named
from marotte.creature.schema.functions import Function
from marotte.creature.schema.mechs import Cable, Linkage, PullPull
from marotte.creature.schema.servos import ServoClass

SPLINE_RAD = math.radians(0.1)
"""Full width that a screwed horn shifts on its spline (common practice, no source)."""
BRACKET_M = 0.05e-3
"""Full width that a servo's bracket gives along the rod (common practice, no source)."""
BEARING_M = 0.03e-3
"""Full width of a function's own bearing, felt at the telling point (common practice, no source)."""
WORN = {"gears": 1.5, "spline": 1.0, "ball joints": 2.0, "wire": 1.3, "bracket": 1.0, "bearing": 2.0}
"""Worn over new (common practice, no source)."""


def slop(
    name: str, function: Function, record: Linkage, transmission: Transmission, servos: Sequence[ServoClass | None]
) -> Slop | Unknown:
    """Return the lost motion of one function at its telling point, all along the chain from its servos.

    Args:
        name: the function; an output of the transmission.
        function: its record, for the telling point.
        record: of its mech.
        transmission: what that does.
        servos: of each input, None where no servo pushes.

    Returns:
        The sum of all parts at the worst place of the travel; Unknown where it turns and no telling point is written.
    """
    output = transmission.outputs.index(name)
    arm = _telling_arm(function, transmission.output_units[output])
    if arm is None:
        why = f"{named(name)}: where its movement is seen is not written, so its slop has no millimetres"
        return Unknown(why=why, wants=(function.ref("tells_at"),))
    parts: list[tuple[str, F64, str, Ref | None]] = []
    rates = np.abs(transmission.rate[output])  # (in, *grid)
    gears = sum((rates[i] * servo.play for i, servo in enumerate(servos) if servo), np.zeros(rates.shape[1:]))
    if any(servos):
        first = next(servo for servo in servos if servo)
        parts.append(("gears", gears, "play of the servo's gears, through the ratio", first.ref("play")))
        turning = sum((rates[i] for i, servo in enumerate(servos) if servo), np.zeros(rates.shape[1:]))
        parts.append(("spline", turning * SPLINE_RAD, "horn on its spline, 0.1 deg (common practice, no source)", None))
    own = transmission.play_at[output] if transmission.play_at is not None else np.zeros(rates.shape[1:])
    wire = isinstance(record, (Cable, PullPull))
    if own.any():
        what = "clearance of the wire times its bends" if wire else "ball joints of the rods, at the angle of each rod"
        parts.append(("wire" if wire else "ball joints", own, what, record.ref("bore" if wire else "slop")))
    if own.any() and not wire and any(servos):
        along = transmission.facts.get("rod_slop_m", 0.0)
        if along > 0.0:
            said = "give of the servo's bracket, 0.05 mm along the rod (common practice, no source)"
            parts.append(("bracket", own * (BRACKET_M / along), said, None))
    bearing = np.full(rates.shape[1:], BEARING_M / arm)
    parts.append(("bearing", bearing, "the function's own bearing, 0.03 mm (common practice, no source)", None))
    inside = _inside(transmission, output, function)
    total = np.where(inside, np.sum([part[1] for part in parts], axis=0), -1.0)
    worst = np.unravel_index(int(np.argmax(total)), total.shape)
    made = tuple(
        SlopPart(
            name=part,
            new_m=float(width[worst]) * arm,
            worn_m=float(width[worst]) * arm * WORN[part],
            note=note,
            ref=ref,
        )
        for part, width, note, ref in parts
    )
    refs = {part.ref for part in made if part.ref} | {function.ref("tells_at")}
    return Slop(
        function=name,
        at=float(transmission.position[output][worst]),
        arm_m=arm,
        parts=made,
        new_m=sum(part.new_m for part in made),
        worn_m=sum(part.worn_m for part in made),
        rests_on=transmission.rests_on | frozenset(ref for ref in refs if not ref.startswith("default:")),
    )


def _telling_arm(function: Function, unit: str) -> float | None:
    if unit == "m":
        return 1.0
    if function.tells_at is not None:
        return function.tells_at.arm
    shell = function.load.shell
    return None if shell is None else shell.inner + shell.thickness


def _inside(transmission: Transmission, output: int, function: Function) -> Bool:
    """Return where a transmission is inside its function's travel, (*grid); of a sheet, inside every output's."""
    if transmission.inside is not None:
        return transmission.inside
    low, high = function.travel
    q = transmission.position[output]
    return np.asarray((q >= low - 1e-6) & (q <= high + 1e-6))
