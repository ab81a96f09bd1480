"""One set of lengths and clocking, judged; and which of many are worth showing. docs/methods/sizing.md."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from marotte.basis.contracts.mech import MechFault
from marotte.basis.units import DEG
from marotte.creature.schema.mechs import Linkage
from marotte.mech.ask import Ask
from marotte.mech.size_free import is_clock, value_of

GOOD_ANGLE = 40.0 * DEG
"""Least angle of a rod that is aimed for (textbook rule; R. L. Norton, *Design of Machinery*, from memory)."""
GOOD_USE = 0.5
"""Share of the real torque, at the operating point, that is aimed for (common practice, no source)."""
BETTER: Final = 0.9
"""What performs no more than what is written is shown where its score is this share of the other's (a rule of this project)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One set of lengths and clocking, judged."""

    record: Linkage
    changes: dict[str, tuple[float | None, float]]
    """Field -> (from, to), SI; a field of a block inside as ``arms/spacing``."""
    least_angle: float | None
    """Worst angle of a rod over the travel [rad]; None of a mech without rods."""
    use: float
    """Largest share of a servo's real torque at the operating point."""
    use_at: tuple[float, ...]
    """Position of the function there; of an eye, turn and lift."""
    swing: float
    """Of the horn [rad]; of two, the larger."""
    play: float
    """Lost motion at the function by its joints or its wire, at the worst place [rad or m]."""
    faults: tuple[MechFault, ...]
    """The serious ones."""
    performs: bool
    cross_talk: tuple[float, float] | None = None
    """Of an eye: how far it lifts when only turned, and turns when only lifted [rad]."""

    @property
    def what(self) -> str:
        """Return what kind of change it is: "as written", "clocked anew" (which costs a screw), "new lengths"."""
        if not self.changes:
            return "as written"
        return "clocked anew" if all(map(is_clock, self.changes)) else "new lengths"

    @property
    def score(self) -> float:
        """How far the worse of angle and torque is from its aim; 1 or less is there, smaller is better."""
        square = 0.0 if self.least_angle is None else GOOD_ANGLE / max(self.least_angle, 1e-6)
        return max(square, self.use / GOOD_USE)


def is_good(angle: float | None, use: float, swing: float, ask: Ask, faults: tuple[MechFault, ...]) -> bool:
    """Return whether a mech performs: no serious fault, square rods, torque to spare, and the servo's turn is enough."""
    square = angle is None or angle >= GOOD_ANGLE
    return not faults and square and use <= GOOD_USE and swing <= min(line.turn for line in ask.lines)


def best_of(found: list[Candidate], now: Candidate | None, count: int) -> tuple[Candidate, ...]:
    """Return the best few that differ and improve on what is written.

    Those that perform by how few things they change, and one that changes more only where it is clearly better; of those that
    fall short the nearest alone.
    """

    def rank(candidate: Candidate) -> tuple[int, int, float, tuple[float, ...]]:
        values = tuple(to for _, to in candidate.changes.values())
        if candidate.performs:
            return 0, sum(1 if is_clock(field) else 2 for field in candidate.changes), candidate.score, values
        return 1 + len(candidate.faults), 0, candidate.score, values

    picked: list[Candidate] = []
    for candidate in sorted(found, key=rank):
        if (picked and not candidate.performs) or _no_better(candidate, now):
            continue
        if picked and candidate.score > BETTER * min(other.score for other in picked):
            continue
        if candidate.changes and not any(_alike(candidate, other) for other in picked):
            picked.append(candidate)
    return tuple(picked[:count])


def _no_better(candidate: Candidate, now: Candidate | None) -> bool:
    """Return whether a proposal is not worth a screw: it performs no more than what is written, and comes hardly nearer."""
    if now is None or candidate.performs > now.performs:
        return False
    more = len(now.faults) - len(candidate.faults)
    return candidate.performs < now.performs or more < 0 or (more == 0 and candidate.score > BETTER * now.score)


def _alike(one: Candidate, other: Candidate) -> bool:
    """Return whether two candidates are the same to within a couple of millimetres and five degrees."""
    for field in sorted(set(one.changes) | set(other.changes)):
        if field.startswith("shares/"):
            continue  # the same for all
        gap = abs((value_of(one.record, field) or 0.0) - (value_of(other.record, field) or 0.0))
        if gap > (5 * DEG if is_clock(field) else 2e-3):
            return False
    return True
