"""Which functions a requirement is about, and the servo behind a function."""

from __future__ import annotations

from typing import TYPE_CHECKING

from marotte.creature.schema.means import Servo
from marotte.creature.schema.servos import ServoClass

if TYPE_CHECKING:
    from marotte.creature.creature import Creature


def moved(creature: Creature) -> list[str]:
    """Return the functions that a mechanism moves, in the order of the file."""
    outputs = {name for mech in creature.mechs.values() for name in mech.outputs}
    return [name for name in creature.functions if name in outputs]


def driven(creature: Creature) -> list[str]:
    """Return the functions that servos move, in the order of the file."""
    return [name for name in moved(creature) if servo_of(creature, name) is not None]


def servo_of(creature: Creature, function: str) -> ServoClass | None:
    """Return the (first) servo that moves a function, or None where a person, air or a picture does."""
    means = servo_means(creature, function)
    return creature.servos[means[0].model] if means else None


def servo_means(creature: Creature, function: str) -> list[Servo]:
    """Return the servo means of the mechanism that moves a function, in the order of its inputs."""
    for mech in creature.mechs.values():
        if function in mech.outputs:
            found = [creature.means[name] for name in mech.inputs]
            return [item for item in found if isinstance(item, Servo)]
    return []
