"""Contacts: lips closed on p, b, m; lower lip to upper teeth on f, v. Reached and held, whatever the blend would leave.

A bilabial's closure lasts 60 to 110 ms in recorded speech (hand-labelled sentences and rate-comparison recordings; Tiede et
al. 2017, JASA 141:3580), the shortest seen 59.9 ms: so a contact is held at least 60 ms, and where the sound itself is
shorter, its neighbours give way and that is told.
"""

from __future__ import annotations

from typing import Final, Literal, NamedTuple

from marotte.basis.ticks import ticks

HELD: Final = ticks(0.060)
"""Least hold of a contact in ``lips`` [ticks]."""
FRAME: Final = 50
"""One frame at 24 a second [ticks]: least hold of a contact that has to be seen at all (common practice, no source)."""
RAMP: Final = ticks(0.100)
"""Least time to reach and to leave a contact [ticks]. Recorded lower lips peak at 11 times their range a second (same recordings, 181 mm/s
over 16.6 mm, 122 over 10.9): a minimum-jerk move over six tenths of the range at that peak lasts 0.1 s."""
RAMP_FULL: Final = RAMP / 0.6
"""The same from the widest that the mouth has, in ``lips`` [ticks]: the same peak speed over the whole of the range."""
TOUCH: Final = ticks(0.035)
"""Two contacts of one kind with less than this between them are one (a rule of this project): nothing would be seen to open."""
BRIEFEST: Final = ticks(0.020)
"""The least that is left of lips on teeth right beside shut lips [ticks]; a rule of this project."""


class Contact(NamedTuple):
    """One contact: reached at ``start``, held until ``stop``."""

    kind: Literal["closure", "lip_teeth"]
    start: int
    stop: int
    hold: int
    """What a hit asks to be held [ticks]."""
    word: int
    """Index into the line's words; -1 for the end of a phrase."""
    weight: float
    ramp_in: int = RAMP
    ramp_out: int = RAMP


def contact(
    kind: Literal["closure", "lip_teeth"], start: int, stop: int, word: int, weight: float, held: int = HELD
) -> tuple[Contact, int]:
    """Return the contact of a sound, and by how many ticks it had to outgrow the sound."""
    short = max(0, held - (stop - start))
    before = min((short + 1) // 2, start)
    return (
        Contact(
            kind=kind, start=start - before, stop=stop + short - before, hold=held,
            word=word, weight=weight,
        ),
        short,
    )  # fmt: skip


def fitted(contacts: list[Contact]) -> list[Contact]:
    """Return contacts in order of time, those that crowd made to go together.

    Two of one kind with next to nothing between them (as in "lamp post") become one long one. Where lips shut right beside lips on
    teeth ("of people"), shut lips win: the other is held ``TOUCH`` less near, and the way between them takes the time there is.
    Otherwise ramps are not shortened where sounds crowd: what lies between two contacts opens less, as it does in fast speech.
    """
    out: list[Contact] = []
    for item in sorted(contacts, key=lambda c: (c.start, c.stop, c.kind)):
        last = out[-1] if out else None
        if last is not None and last.kind == item.kind and item.start <= last.stop + TOUCH:
            out[-1] = last._replace(stop=max(last.stop, item.stop), weight=max(last.weight, item.weight))
            continue
        if last is not None and last.kind != item.kind and item.start - last.stop < RAMP:
            out[-1], item = _beside(last, item)
        out.append(item)
    return out


def _beside(a: Contact, b: Contact) -> tuple[Contact, Contact]:
    if b.start - a.stop < TOUCH:
        if a.kind == "lip_teeth":
            stop = b.start - TOUCH
            start = min(a.start, stop - BRIEFEST)
            a = a._replace(start=start, stop=stop, hold=min(a.hold, stop - start))
        else:
            start = a.stop + TOUCH
            stop = max(b.stop, start + BRIEFEST)
            b = b._replace(start=start, stop=stop, hold=min(b.hold, stop - start))
    gap = b.start - a.stop
    return a._replace(ramp_out=gap), b._replace(ramp_in=gap)
