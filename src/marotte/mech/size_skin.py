"""Where no linkage performs under a skin: the skin eased a little, then sized again. docs/methods/sizing.md.

A builder's order: sculpt it part-way open, thin it, and only then look for lengths. The steps here are few and fixed, cheapest
first, and the first that lets a linkage perform is taken; what it costs in looks is the builder's to judge.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.finding import ABSENT, Edit
from marotte.basis.units import DEG
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature
from marotte.creature.schema.base import Record
from marotte.creature.schema.skins import SkinCard
from marotte.mech.asked_of import Asking, asked_of
from marotte.mech.size import Sizing, as_written, size
from marotte.mech.size_candidate import GOOD_USE

OPEN: Final = (0.0, 1 / 4, 1 / 3, 1 / 2)
"""How far through the travel the skin may be sculpted: half way is as far as a shut pose bears (common practice, no source)."""
THIN: Final = (1.0, 0.75, 0.5)
"""Share of the thickness that is left."""
THINNEST_M: Final = 1.5e-3
"""A silicone skin thinner than this tears at its tabs (common practice, no source)."""
RELIEVED: Final = (0.0, 0.4)
"""Share of the width that a crease may relieve."""
WITHIN_REACH: Final = 1.25
"""What lengths and clocking still gain where the skin is what bears on them; worse cases are not searched."""


def size_with_skin(
    creature: Creature, function: str, asking: Asking = asked_of
) -> tuple[Sizing, tuple[Edit, ...]] | None:
    """Return a sizing that performs with the function's skins eased, and the edits of the skins; None where none was found.

    Args:
        creature: as loaded; nothing in it is changed.
        function: its name.
        asking: what asks of it.
    """
    for skins, edits in _eased(creature, function):
        eased = replace(creature, skins={**creature.skins, **skins})
        ask = asking(eased, function)
        if isinstance(ask, Unknown):
            return None
        now = as_written(eased, function, ask)
        if now is None or now.use > WITHIN_REACH * GOOD_USE:
            continue
        found = size(eased, function, asking)
        if isinstance(found, Unknown):
            return None
        if now.performs or any(candidate.performs for candidate in found.candidates):
            return found, edits
    return None


def _eased(creature: Creature, function: str) -> Iterator[tuple[dict[str, SkinCard], tuple[Edit, ...]]]:
    """Yield skins and their edits, the smaller change first."""
    held = {name: card for name, card in creature.skins.items() if function in card.holds and card.strip is not None}
    if not held:
        return
    low, high = creature.functions[function].travel
    step = DEG if PARTS[creature.functions[function].part].kind == "turn" else 0.5e-3
    all_tries = itertools.product(OPEN, THIN, RELIEVED)
    tries = sorted(all_tries, key=lambda one: (one[0] + (1.0 - one[1]) + 0.75 * one[2], one))
    for opened, left, relieved in tries[1:]:
        skins: dict[str, SkinCard] = {}
        edits: list[Edit] = []
        for name, card in held.items():
            was = card.sculpted_at.get(function, creature.functions[function].neutral)
            to = max(was, low + round(opened * (high - low) / step) * step) if opened else was
            strip = card.strip
            assert strip is not None
            thickness = max(round(strip.thickness * left / 0.5e-3) * 0.5e-3, min(THINNEST_M, strip.thickness))
            if to != was:
                text = f"{to / DEG:.0f} deg" if step == DEG else _mm(to)
                edits.append(_edit(creature, card, "sculpted_at", function, text))
            if thickness < strip.thickness:
                edits.append(_edit(creature, strip, "thickness", None, _mm(thickness)))
            relief = max(relieved, strip.relief)
            if relief > strip.relief:
                edits.append(_edit(creature, strip, "relief", None, f"{relief * 100:.0f} %"))
            skins[name] = card.model_copy(
                update={
                    "sculpted_at": {**card.sculpted_at, function: to},
                    "strip": strip.model_copy(update={"thickness": thickness, "relief": relief}),
                }
            )
        written = {edit.path: edit for edit in edits}
        if written:
            yield skins, tuple(written[path] for path in sorted(written))


def _mm(metres: float) -> str:
    return f"{metres * 1e3:.1f}".rstrip("0").rstrip(".") + " mm"


def _edit(creature: Creature, record: Record, field: str, item: str | None, to: str) -> Edit:
    """Return the edit of a field; one that is not written yet is put into its block."""
    ref = record.ref(field, item)
    given = creature.given.get(ref)
    if given is not None and not ref.startswith(("default:", "stock:")):
        return Edit(path=ref, from_=given.written, to=to)
    path = "/".join((record.ref(""), field, *((item,) if item else ())))
    return Edit(path=path, from_=ABSENT, to=to)
