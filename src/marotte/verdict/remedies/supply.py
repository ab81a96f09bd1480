"""Changes of the supply: more charge or current, a staggered start, a thicker wire, a smaller fuse."""

from __future__ import annotations

import math
from typing import Final

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import Finding
from marotte.basis.units import show
from marotte.creature.schema.supply import Cells, Supply
from marotte.verdict.remedies.proposal import Case, Proposal
from marotte.verdict.remedies.words import spaced
from marotte.verdict.requirements.wiring import AMONG_OTHERS, ampacity_of

HALVES: Final = 3
"""Gauges for which a wire has half the resistance (ASTM B258)."""
BLADES: Final = (1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0)
"""Ratings of blade fuses [A] (ISO 8820-3, from memory)."""


def larger_pack(case: Case) -> tuple[Proposal, ...]:
    """More charge, where the pack does not last."""
    supply = case.creature.supply
    item = case.finding
    if (
        item.id != "power.minutes"
        or supply is None
        or not isinstance(supply.battery, Cells)
        or not isinstance(item.has, Quantity)
    ):
        return ()
    pack = supply.battery
    grow = max(item.needed.value * (1.0 + case.performs) / item.has.value, 1.0)
    to = math.ceil(pack.capacity * grow / 360.0) * 360.0  # whole 100 mAh
    edits = [case.edit("/supply/battery/capacity", f"{to / 3.6:.0f} mAh")]
    if pack.mass is not None:
        edits.append(case.edit("/supply/battery/mass", f"{1e3 * pack.mass * to / pack.capacity:.0f} g"))
    text = f"take a pack of {to / 3.6:.0f} mAh in place of {pack.capacity / 3.6:.0f} mAh"
    return (Proposal(edits=tuple(edits), says=text, then="it is heavier in proportion", cost=2.0),)


def stronger_supply(case: Case) -> tuple[Proposal, ...]:
    """A supply or regulator that gives more current."""
    item = case.finding
    paths = sorted(ref for ref in item.rests_on if ref.startswith("/supply/") and ref.endswith("/limit"))
    if item.id not in ("power.current", "power.startup") or len(paths) != 1 or not isinstance(item.has, Quantity):
        return ()
    to = math.ceil(item.has.value / (1.0 - case.performs))
    what = "regulator" if "/regulator/" in paths[0] else "supply"
    text = f"take a {what} that gives {to} A in place of {show(item.needed.value, 'A')}"
    then = "fuse and wire must bear it too"
    return (Proposal(edits=(case.edit(paths[0], f"{to} A"),), says=text, then=then, cost=2.0),)


def staggered_start(case: Case) -> tuple[Proposal, ...]:
    """Servos that come on one after another, where all at once is too much."""
    supply = case.creature.supply
    if case.finding.id != "power.startup" or supply is None or supply.link.start == "staggered":
        return ()
    path, to = (
        ("/supply/link/start", "staggered")
        if supply.link.ref("").startswith("/")
        else ("/supply/link", {"start": "staggered"})
    )
    text = "let the servos come on one after another, not all at once"
    then = "the receiver or the board must be able to do it: try it with the current meter in"
    return (Proposal(edits=(case.edit(path, to),), says=text, then=then, cost=1.0),)


def thicker_wire(case: Case) -> tuple[Proposal, ...]:
    """A thicker wire where a lead carries too much, loses too much, or would burn before its fuse."""
    supply, item = case.creature.supply, case.finding
    if item.id not in ("power.wire", "power.fuse", "power.brownout") or supply is None:
        return ()
    names = _leads(item, supply)
    table = case.creature.stock_tables.ampacity
    out = []
    for name in names:
        lead = supply.leads[name]
        thicker = sorted((gauge for gauge in table if gauge < lead.awg), reverse=True)
        if item.id == "power.wire" and isinstance(item.has, Quantity):
            wanted = item.has.value / (1.0 - case.performs)
            thicker = [gauge for gauge in thicker if table[gauge].bundled >= wanted]
        elif item.id == "power.fuse":
            thicker = [gauge for gauge in thicker if AMONG_OTHERS * table[gauge].chassis >= (lead.fuse or 0.0)]
        else:
            thicker = [gauge for gauge in thicker if gauge <= lead.awg - HALVES]
        if thicker:
            text = f"wire the lead {spaced(name)} with AWG {thicker[0]} in place of AWG {lead.awg}"
            then = "it is stiffer: leave it a loop wherever it crosses a joint"
            out.append(
                Proposal(edits=(case.edit(f"/supply/leads/{name}/awg", thicker[0]),), says=text, then=then, cost=2.0)
            )
    return tuple(out)


def smaller_fuse(case: Case) -> tuple[Proposal, ...]:
    """The largest fuse that goes before its wire does."""
    supply = case.creature.supply
    if case.finding.id != "power.fuse" or supply is None:
        return ()
    out = []
    for name in _leads(case.finding, supply):
        lead = supply.leads[name]
        bears = AMONG_OTHERS * ampacity_of(lead, case.creature.stock_tables.ampacity).chassis
        rating = max((one for one in BLADES if one <= bears), default=0.0)
        if lead.fuse is not None and 0.0 < rating < lead.fuse:
            to = show(rating, "A")
            text = f"put a fuse of {to} into the lead {spaced(name)} in place of {show(lead.fuse, 'A')}"
            then = "run the whole part on it, with the hardest business, before it is trusted"
            out.append(Proposal(edits=(case.edit(f"/supply/leads/{name}/fuse", to),), says=text, then=then, cost=0.5))
    return tuple(out)


def _leads(item: Finding, supply: Supply) -> list[str]:
    """Return the leads that a finding is about."""
    return sorted({ref.split("/")[3] for ref in item.rests_on if ref.startswith("/supply/leads/")} & set(supply.leads))
