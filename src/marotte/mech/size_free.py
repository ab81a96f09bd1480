"""What may change of each kind of mech when it is sized, between which bounds, and how a trial record is made.

Axles stay where they are: the ground, and for an eye what its servos' boxes say, are not among the lengths. docs/methods/sizing.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.units import DEG
from marotte.creature.schema.base import Record
from marotte.creature.schema.mechs import (
    BallRod,
    BellCrank,
    Cable,
    CrankSlider,
    FourBar,
    Linkage,
    PullPull,
    TeeBar,
    TwoRodGimbal,
)
from marotte.creature.schema.quantities import Q, quantity

LENGTH_STEP: Final = 0.5e-3
CLOCK_STEP: Final = 1.0 * DEG
SHRINKS, GROWS, TURNS = 0.6, 1.6, 60 * DEG
"""How far a length may go from what is written, as shares, and a clocking either way."""


@dataclass(frozen=True, slots=True)
class Free:
    """What may change of one record. A field of a block inside is written ``arms/spacing``."""

    lengths: tuple[str, ...]
    clocks: tuple[str, ...] = ()

    @property
    def fields(self) -> tuple[str, ...]:
        """Lengths, then clockings."""
        return (*self.lengths, *self.clocks)


def free_of(record: Linkage) -> Free | None:
    """Return what may change of a mech; None of one that has nothing to size."""
    if isinstance(record, FourBar):
        clock = "arm_at_neutral" if record.arm_at_neutral is not None else "horn_at_neutral"
        return Free(("horn", "rod", "arm"), (clock,))
    if isinstance(record, CrankSlider):
        return Free(("horn", "rod"), ("horn_at_neutral",))
    if isinstance(record, BallRod):
        return Free(("horn", "rod", "arm"), ("arm_at_neutral",))
    if isinstance(record, BellCrank):
        more = tuple(name for name in ("next_rod", "next_arm") if getattr(record, name) is not None)
        return Free(("horn", "rod", "in_arm", "out_arm", *more), ("in_arm_at_neutral", "out_arm_at_neutral"))
    if isinstance(record, TeeBar):
        return Free(("horn", "rod") if record.rod is not None else ("horn",), ("horn_at_neutral",))
    if isinstance(record, TwoRodGimbal):
        return Free(("horn", "rod", "arms/spacing", "arms/height"), ("horn_at_neutral",))
    if isinstance(record, PullPull) or (isinstance(record, Cable) and record.arm is not None):
        return Free(("horn", "arm"))
    return Free(("horn",)) if isinstance(record, Cable) else None


def value_of(record: Record, field: str) -> float | None:
    """Return the value of a field, None where it is not written and has no default."""
    inside: Any = record
    for name in field.split("/"):
        inside = getattr(inside, name)
    return None if inside is None else float(inside)


def made(record: Linkage, values: dict[str, float]) -> Linkage:
    """Return a record with some fields changed; a clocking that follows from the rod is left unwritten."""
    update: dict[str, Any] = {}
    for field, value in values.items():
        block, _, name = field.rpartition("/")
        if block:
            own = update.get(block, getattr(record, block))
            update[block] = own.model_copy(update={name: value})
        else:
            update[name] = value
    if isinstance(record, BallRod):
        update["horn_at_neutral"] = None
    return record.model_copy(update=update)


def ref_of(record: Linkage, field: str) -> str:
    """Return where a field is written, or would be."""
    block, _, name = field.rpartition("/")
    if block == "shares":
        return record.ref(block, int(name))
    own: Record = getattr(record, block) if block else record
    ref = own.ref(name)
    return f"{own.ref('')}/{name}" if ref.startswith("default:") else ref


def rounded(field: str, value: float) -> float:
    """Return a value as it can be made: lengths in half millimetres, clockings in degrees."""
    step = CLOCK_STEP if is_clock(field) else LENGTH_STEP
    return round(value / step) * step


def changes(written: Linkage, record: Linkage, free: Free) -> dict[str, tuple[float | None, float]]:
    """Return what differs between what is written and a proposal: field -> (from, to), SI."""
    found: dict[str, tuple[float | None, float]] = {}
    for field in free.fields:
        before, after = value_of(written, field), value_of(record, field)
        if after is not None and after != before:
            found[field] = (before, after)
    if isinstance(written, TeeBar) and isinstance(record, TeeBar):
        pairs = zip(written.shares, record.shares, strict=True)
        found.update({f"shares/{i}": pair for i, pair in enumerate(pairs) if pair[0] != pair[1]})
    return found


def is_clock(field: str) -> bool:
    """Return whether a field is a clocking and not a length."""
    return field.endswith("at_neutral")


def bounds(record: Linkage, free: Free, start: F64, shares: tuple[float, float] = (SHRINKS, GROWS)) -> tuple[F64, F64]:
    """Return the least and the largest value of each free field, (f,), round where a search starts.

    Lengths between two shares of it, rods no longer than ``room``, clockings 60 deg either way, and nothing that the file's
    schema would refuse.
    """
    room = record.room or math.inf
    low, high = np.empty(start.size), np.empty(start.size)
    for i, (field, value) in enumerate(zip(free.fields, start, strict=True)):
        if is_clock(field):
            low[i], high[i] = value - TURNS, value + TURNS
        else:
            low[i], high[i] = sorted((shares[0] * value, shares[1] * value))
        if field in ("rod", "next_rod"):
            high[i] = min(high[i], room)
            low[i] = min(low[i], 0.9 * high[i])
        kept = _schema(record, field)
        if kept is not None:
            least = kept.ge if kept.ge is not None else kept.gt
            low[i] = max(low[i], -math.inf if least is None else least)
            high[i] = min(high[i], math.inf if kept.le is None else kept.le)
        if not is_clock(field) and value > 0.0:
            low[i] = max(low[i], LENGTH_STEP)
    return low, high


def _schema(record: Linkage, field: str) -> Q | None:
    block, _, name = field.rpartition("/")
    return quantity(type(getattr(record, block) if block else record), name)
