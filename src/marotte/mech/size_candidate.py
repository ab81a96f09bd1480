"""One set of lengths and clocking, judged; and which of many are worth showing. docs/methods/sizing.md."""

from __future__ import annotations

from dataclasses import dataclass

from marotte.basis.contracts.mech import MechFault
from marotte.basis.units import DEG
from marotte.creature.schema.mechs import Linkage

GOOD_ANGLE = 40.0 * DEG
"""Least angle of a rod that is aimed for (textbook rule; R. L. Norton, *Design of Machinery*, from memory)."""
GOOD_USE = 0.5
"""Share of the real torque, at the operating point, that is aimed for (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One set of lengths and clocking, judged."""

    what: str
    """"as written", "clocked anew", "new lengths"."""
    record: Linkage
    changes: dict[str, tuple[float | None, float]]
    """Field -> (from, to), SI."""
    least_angle: float
    """Worst angle of a rod over the travel [rad]."""
    use: float
    """Largest share of the servo's real torque at the operating point."""
    use_at: float
    """Position of the function there."""
    swing: float
    """Of the horn [rad]."""
    horn_at_neutral: float
    """Where the horn stands [rad], as the kind counts it."""
    play: float
    """Lost motion at the function by its ball joints, at the worst place [rad or m]."""
    faults: tuple[MechFault, ...]
    performs: bool

    @property
    def angle_margin(self) -> float:
        """Least angle over what is aimed for, less 1."""
        return self.least_angle / GOOD_ANGLE - 1.0

    @property
    def torque_margin(self) -> float:
        """Torque that is there over what is asked, at the operating point, less 1."""
        return 1.0 / max(self.use, 1e-9) - 1.0

    @property
    def score(self) -> float:
        """How far the worse of angle and torque is from its aim; 1 or less is there, smaller is better."""
        return max(GOOD_ANGLE / max(self.least_angle, 1e-6), self.use / GOOD_USE)


def best_of(found: list[Candidate], now: Candidate | None, count: int) -> tuple[Candidate, ...]:
    """Return the best few that differ and improve on what is written."""

    def rank(candidate: Candidate) -> tuple[int, int, float, tuple[float, ...]]:
        order = 0 if candidate.performs else 1
        cheap = 0 if candidate.what == "clocked anew" and candidate.performs else 1
        values = tuple(to for _, to in candidate.changes.values())
        return order + len(candidate.faults), cheap, candidate.score, values

    picked: list[Candidate] = []
    for candidate in sorted(found, key=rank):
        if picked and candidate.score > max(1.0, 1.5 * picked[0].score):
            continue
        worse = now is not None and len(candidate.faults) >= len(now.faults) and candidate.score > 0.98 * now.score
        seen = any(_alike(candidate, other) for other in picked)
        if candidate.changes and not seen and (candidate.performs or not worse):
            picked.append(candidate)
    return tuple(picked[:count])


def _alike(one: Candidate, other: Candidate) -> bool:
    """Return whether two candidates are the same to within a couple of millimetres and five degrees."""
    names = set(one.changes) | set(other.changes)
    gaps = [abs(float(getattr(one.record, name)) - float(getattr(other.record, name))) for name in sorted(names)]
    limits = [5 * DEG if name.endswith("at_neutral") else 2e-3 for name in sorted(names)]
    return all(gap <= limit for gap, limit in zip(gaps, limits, strict=True))
