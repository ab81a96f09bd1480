"""What is written and can be read, and yet cannot all be meant: told with its place, never refused (docs/methods/fit.md).

A file with such a thing in it is still worth a check; which of two numbers is wrong, only its writer knows. So these are told as faults
are, under the codes of faults.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from marotte.basis.contracts.common import Told, Unknown
from marotte.basis.units import DEG, number_text, show
from marotte.creature.beside import MESHES
from marotte.creature.creature import Creature
from marotte.creature.naming import named
from marotte.creature.schema.build import Build
from marotte.creature.schema.means import Servo
from marotte.mech.fit.skull import Shell

ASKEW: Final = 1.0 * DEG
"""How far [rad] from square to its shaft the long side of a case may be written; less is rounding (a rule of this project)."""


def odd(creature: Creature, shell: Shell | Unknown) -> Iterator[Told]:
    """Yield what of the build cannot be meant, the skull as it was read."""
    skull = creature.build.skull
    if skull is not None and skull.shape is not None and skull.mesh is not None:
        sentence = f"the skull has a shape and a mesh: {skull.mesh} is what everything is fitted into, the shape is not looked at"
        yield Told(code="twice", ref=skull.ref("shape"), sentence=sentence)
    if skull is not None and skull.mesh is not None and isinstance(shell, Unknown):
        yield Told(
            code="cannot_read",
            ref=skull.ref("mesh"),
            sentence=f"{shell.why}; formats that are read: {', '.join(MESHES)}",
        )
    yield from _eyes(creature.build)
    if isinstance(shell, Shell):
        yield from _skull(creature, shell)
    yield from _askew(creature)


def _eyes(build: Build) -> Iterator[Told]:
    eye, width = build.eye, build.head_width
    if eye is None:
        return
    if eye.diameter > eye.spacing:
        sentence = f"eyes of {_mm(eye.diameter)} whose centres are {_mm(eye.spacing)} apart stand in one another: one of the two is wrong"
        yield Told(code="geometry", ref=eye.ref("spacing"), sentence=sentence)
    if width is not None and eye.spacing >= width:
        sentence = f"the eyes are {_mm(eye.spacing)} apart and the head is {_mm(width)} wide: one of the two is wrong"
        yield Told(code="geometry", ref=eye.ref("spacing"), sentence=sentence)


def _skull(creature: Creature, shell: Shell) -> Iterator[Told]:
    build, skull = creature.build, creature.build.skull
    assert skull is not None  # its shell was read
    ref = skull.ref("mesh" if skull.mesh is not None else "shape")
    width, inner = build.head_width, shell.shape[0]
    if width is not None and inner >= width:
        sentence = (
            f"the skull is {_mm(inner)} wide inside and the head {_mm(width)} wide in all: one of the two is wrong"
        )
        yield Told(code="geometry", ref=build.ref("head_width"), sentence=sentence)
    if build.neck_bore is not None and build.neck_bore >= max(inner, shell.shape[2]):
        sentence = f"the neck's bore of {_mm(build.neck_bore)} is wider than the skull: one of the two is wrong"
        yield Told(code="geometry", ref=build.ref("neck_bore"), sentence=sentence)
    cases = {
        name: max(creature.servos[means.model].body)
        for name, means in creature.means.items()
        if isinstance(means, Servo) and means.carried_by in (None, "skull")
    }
    longest = max(cases, key=lambda name: cases[name], default=None)
    if longest is not None and cases[longest] > max(shell.shape):
        size = " x ".join(number_text(side * 1e3, 3) for side in shell.shape)
        sentence = (
            f"the skull is {size} mm inside, and the case of the servo of the {named(longest)} alone {_mm(cases[longest])} long: "
            "look at the unit of its sizes"
        )
        yield Told(code="geometry", ref=ref, sentence=sentence)


def _askew(creature: Creature) -> Iterator[Told]:
    """A case's long side that is not square to its shaft: it is squared up, and that may be another way than was meant."""
    for name, means in creature.means.items():
        box = means.box if isinstance(means, Servo) else None
        if box is None or (name.endswith("_right") and f"{name.removesuffix('_right')}_left" in creature.means):
            continue
        across = sum(a * b for a, b in zip(box.axis, box.along, strict=True))
        angle = math.acos(max(-1.0, min(1.0, across / (math.hypot(*box.axis) * math.hypot(*box.along)))))
        if abs(angle - 0.5 * math.pi) > ASKEW:
            sentence = (
                f"the long side of the case that drives the {named(name)} is written at {show(angle, 'rad')} to its shaft, and is taken "
                "square to it: write along square to axis"
            )
            yield Told(code="geometry", ref=box.ref("along"), sentence=sentence)


def _mm(length: float) -> str:
    return show(length, "m")
