"""Levers: rows of changes along one number or ladder, single knobs and those of which several parts must follow together."""

from __future__ import annotations

import cmath
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from marotte.basis.contracts.mech import Mechs, Transmission
from marotte.basis.given import Ref
from marotte.creature.creature import Creature
from marotte.creature.schema.mechs import FourBar
from marotte.verdict.remedies.turn import Turn, Value

GEARS: Final = tuple(round(0.6 + 0.05 * k, 2) for k in range(19))
"""Factors on a horn over its arm, 0.6 to 1.5."""
HALF_MM: Final = 0.5e-3
ELSEWHERE: Final = 1.5
"""Cost of another bracket and another place for a servo of another body (a rule of this project)."""
FAR_SHARE: Final = 0.5
"""What turning a knob as far as it goes adds to its cost, so that of equal remedies the smaller change comes first."""


@dataclass(frozen=True, kw_only=True)
class Setting:
    """Knobs at other values."""

    turns: tuple[tuple[Turn, Value], ...]
    share: float
    """How far that is, as a share of all that the lever gives."""
    aside: float = 0.0
    """What it costs beside: a servo of another body wants another bracket, and a place."""

    @cached_property
    def cost(self) -> float:
        """How dear it is: of the knobs, and a little for how far they are turned."""
        return max(turn.cost for turn, _ in self.turns) + FAR_SHARE * self.share + self.aside

    @cached_property
    def refs(self) -> tuple[Ref, ...]:
        """What it turns."""
        return tuple(turn.ref for turn, _ in self.turns)

    @property
    def marks(self) -> tuple[str, ...]:
        """What it turns, as two things where it is a servo of the same body or one of another."""
        return tuple(f"{ref} aside" if self.aside else ref for ref in self.refs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lever:
    """Settings in order along one number, without the one that stands; or the rungs of a ladder, nearest first."""

    settings: tuple[Setting, ...]
    below: int
    """How many of them lie below where it stands."""
    ordered: bool
    """Whether what lies between two settings lies between them in effect, so that steps may be halved."""
    free: bool
    """Whether turning costs nothing: then the most margin is as cheap as the least turn."""


def ladder(turn: Turn) -> tuple[Lever, ...]:
    """Return the levers of a choice: its near rungs, and those that want another place, as two."""
    count = len(turn.choices)
    rungs = [
        Setting(turns=((turn, value),), share=k / count, aside=0.0 if k < turn.near else ELSEWHERE)
        for k, value in enumerate(turn.choices)
    ]
    parts = (tuple(rungs[: turn.near]), tuple(rungs[turn.near :]))
    return tuple(Lever(settings=part, below=0, ordered=False, free=False) for part in parts if part)


def lever(turn: Turn) -> Lever:
    """Return the lever of one knob that is a number."""
    assert not isinstance(turn.now, str)
    now = turn.now
    values = sorted(value for value in turn.choices if not isinstance(value, str))
    far = max(abs(value - now) for value in values)
    settings = tuple(Setting(turns=((turn, value),), share=abs(value - now) / far) for value in values)
    return Lever(
        settings=settings, below=sum(value < now for value in values), ordered=True, free=turn.re_clocks
    )  # fmt: skip


def levers(creature: Creature, mechs: Mechs, knobs: tuple[Turn, ...]) -> tuple[Lever, ...]:
    """Return every lever that some knobs make, the joined ones last."""
    joined = (found for name in mechs.transmissions if (found := geared(creature, mechs, name, knobs)) is not None)
    single = (row for turn in knobs for row in (ladder(turn) if turn.kind is None else (lever(turn),)))
    return (*single, *joined)


def geared(creature: Creature, mechs: Mechs, name: str, knobs: tuple[Turn, ...]) -> Lever | None:
    """Return the ratio of a four-bar as a lever: horn and arm the other way each, the rod following so that it closes.

    Both stay at the angles that they have at neutral, so that the rod meets them as before there.
    """
    record, transmission = creature.mechs[name].record, mechs.transmissions[name]
    if not isinstance(record, FourBar) or not isinstance(transmission, Transmission):
        return None
    own = {part: _knob(knobs, name, part) for part in ("horn", "arm", "rod")}
    horn, arm, rod = own["horn"], own["arm"], own["rod"]
    if horn is None or arm is None or rod is None:
        return None
    angles = transmission.clocking
    settings: dict[float, Setting] = {}
    for factor in GEARS:
        lengths = _lengths(record, angles, factor)
        turns = tuple(
            (turn, value)
            for turn, value in ((horn, lengths[0]), (arm, lengths[1]), (rod, lengths[2]))
            if abs(value - float(turn.now)) > 1e-9
        )
        inside = all(min(_numbers(turn)) - 1e-9 <= value <= max(_numbers(turn)) + 1e-9 for turn, value in turns)
        ratio = lengths[0] / lengths[1]
        if len(turns) > 1 and inside and abs(ratio - record.horn / record.arm) > 1e-9:
            settings[ratio] = Setting(turns=turns, share=min(abs(factor - 1.0) / 0.5, 1.0))
    if not settings:
        return None
    rows = sorted(settings)
    now = record.horn / record.arm
    return Lever(
        settings=tuple(settings[ratio] for ratio in rows), below=sum(ratio < now for ratio in rows), ordered=True,
        free=False,
    )  # fmt: skip


def _lengths(record: FourBar, angles: Mapping[str, float], factor: float) -> tuple[float, float, float]:
    """Return (horn, arm, rod) in half millimetres for a ratio that is a factor of what it is."""
    horn = round(record.horn * factor**0.5 / HALF_MM) * HALF_MM
    arm = round(record.arm / factor**0.5 / HALF_MM) * HALF_MM
    reach = record.ground + cmath.rect(arm, angles["arm"]) - cmath.rect(horn, angles["horn"])
    return horn, arm, round(abs(reach) / HALF_MM) * HALF_MM


def _knob(knobs: tuple[Turn, ...], mech: str, part: str) -> Turn | None:
    for turn in knobs:
        if turn.ref.endswith(f"/mech/{part}") and any(chain[1] == mech for chain in turn.chains):
            return turn
    return None


def _numbers(turn: Turn) -> Iterator[float]:
    return (value for value in (*turn.choices, turn.now) if not isinstance(value, str))
