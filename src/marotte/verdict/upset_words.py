"""Which part swings hardest in an upset, and how it is said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from marotte.basis.units import number_text
from marotte.creature.anatomy import PARTS
from marotte.creature.naming import agrees, named
from marotte.drive.jumps import Moved

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results


@dataclass(frozen=True, slots=True)
class Swing:
    """One part on its way."""

    function: str
    point: str
    unit: Literal["rad", "m"]
    fastest: float
    """[rad/s or m/s]"""
    speed_m_s: float
    """Where it shows."""
    inertia: float
    """[kg*m2 or kg]"""
    way: Moved

    @property
    def energy_j(self) -> float:
        """With which it strikes what stands in its way, beside what its servo goes on giving."""
        return 0.5 * self.inertia * self.fastest**2

    def words(self) -> str:
        """Return it as a clause: ``the left ear lift swings at 2.1 m/s at its ear tip (0.03 J)``."""
        at = f" at its {self.point}" if self.point else ""
        knock = f" ({_joules(self.energy_j)})" if self.energy_j > 0.0 else ""
        name = named(self.function)
        return f"the {name} {agrees(name, 'swings', 'swing')} at {number_text(self.speed_m_s, 2)} m/s{at}{knock}"


def _joules(energy: float) -> str:
    return f"{number_text(energy, 2)} J" if energy >= 0.1 else f"{number_text(1e3 * energy, 2)} mJ"


def swings(creature: Creature, results: Results, ways: Mapping[str, Moved]) -> list[Swing]:
    """Return every part that moves, hardest first; of turning ones those whose telling point is written."""
    out: list[Swing] = []
    for name, way in ways.items():
        function = creature.functions[name]
        turns = PARTS[function.part].kind == "turn"
        if way.fastest <= 0.0 or (turns and function.tells_at is None):
            continue
        arm = function.tells_at.arm if turns and function.tells_at is not None else 1.0
        point = function.tells_at.point if function.tells_at is not None else ""
        inertia = results.mechs.loads[name].inertia
        out.append(Swing(name, point, "rad" if turns else "m", way.fastest, way.fastest * arm, inertia, way))
    return sorted(out, key=lambda swing: (-swing.speed_m_s, swing.function))


def quickest(creature: Creature, results: Results, ways: Mapping[str, Moved]) -> Swing | None:
    """Return the part that swings fastest where it shows, or None where nothing moves."""
    return next(iter(swings(creature, results, ways)), None)
