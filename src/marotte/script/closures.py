"""Contacts: lips closed on p, b, m; lower lip to upper teeth on f, v. Reached and held, whatever the blend would leave.

A bilabial's closure lasts 60 to 110 ms in recorded speech (hand-labelled sentences and rate-comparison recordings; Tiede et
al. 2017, JASA 141:3580), the shortest seen 59.9 ms: so a contact is held at least 60 ms, and where the sound itself is
shorter, its neighbours give way and that is told.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

from marotte.basis.ticks import ticks

HELD: Final = ticks(0.060)
"""Least hold of a contact in ``lips`` [ticks]."""
FRAME: Final = 50
"""One frame at 24 a second [ticks]: least hold of a contact that has to be seen at all (common practice, no source)."""
RAMP: Final = ticks(0.060)
"""Time to reach and to leave a contact [ticks]; a rule of this project: a closure as long as its own ramps."""
LEAST_RAMP: Final = ticks(0.035)
"""The shortest ramp asked when sounds crowd [ticks]; a rule of this project."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """One contact: ramps in until ``start``, holds until ``stop``, ramps out."""

    kind: Literal["closure", "lip_teeth"]
    start: int
    stop: int
    ramp_in: int
    ramp_out: int
    hold: int
    """What a hit asks to be held [ticks]."""
    word: int
    """Index into the line's words; -1 for the end of a phrase."""
    weight: float


def contact(
    kind: Literal["closure", "lip_teeth"], start: int, stop: int, word: int, weight: float, held: int = HELD
) -> tuple[Contact, int]:
    """Return the contact of a sound, and by how many ticks it had to outgrow the sound."""
    short = max(0, held - (stop - start))
    before = (short + 1) // 2
    return (
        Contact(
            kind=kind, start=start - before, stop=stop + short - before, ramp_in=RAMP, ramp_out=RAMP, hold=held,
            word=word, weight=weight,
        ),
        short,
    )  # fmt: skip


def fitted(contacts: list[Contact]) -> list[Contact]:
    """Return contacts in order of time, the ramps between two of them shortened to share the room there is.

    Two of one kind with less than a ramp between them (as in "lamp post") become one long contact.
    """
    out: list[Contact] = []
    for item in sorted(contacts, key=lambda c: (c.start, c.stop, c.kind)):
        if not out:
            out.append(item)
            continue
        last = out[-1]
        if last.kind == item.kind and item.start <= last.stop + LEAST_RAMP:
            out[-1] = replace(
                last, stop=max(last.stop, item.stop), ramp_out=item.ramp_out, weight=max(last.weight, item.weight)
            )
            continue
        ramp = max(LEAST_RAMP, min(RAMP, (item.start - last.stop) // 2))
        out[-1] = replace(last, ramp_out=ramp)
        out.append(replace(item, ramp_in=ramp))
    return out
