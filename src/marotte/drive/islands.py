"""Islands: what is joined by an unregulated lead, a skin or a mechanism must be run together; the rest need not.

A regulated lead is a border where nothing above it carries a servo: the island below it sees a stiff source. That holds
as long as the regulator never drops out, which is checked after the run (``upstream.py``); else the whole tree is joined.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from marotte.basis.digest import digest
from marotte.drive.filled import plan_of
from marotte.drive.leads import LeadRow
from marotte.drive.model import DriveModel, DriveRow, SkinRow
from marotte.drive.plain import Plain
from marotte.drive.plan import PLAIN, Plan
from marotte.drive.tables import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Island:
    """One part of the drive that runs by itself."""

    name: str
    drives: tuple[str, ...]
    functions: tuple[str, ...]
    """Outputs of its mechs, in the order of the plan."""
    plain: tuple[Plain, ...]
    """Functions that no servo moves and that hold one of its skins."""
    leads: tuple[str, ...]
    roots: tuple[int, ...]
    """Of ``leads``, those that stand on a stiff source."""
    plan: Plan
    delay: int
    """Longest delay of a drive [ticks]."""
    _digest: list[bytes] = field(default_factory=list, compare=False, repr=False)

    def __digest__(self) -> bytes:
        if not self._digest:
            parts = (self.name, self.drives, self.functions, self.plain, self.leads, self.roots, tuple(self.plan))
            self._digest.append(digest(("Island", *parts)))
        return self._digest[0]

    @property
    def asked(self) -> tuple[str, ...]:
        """Names of the rows that its command has: outputs, then plain functions."""
        return self.functions + tuple(row.function for row in self.plain)


class _Groups:
    """Things that are joined, by the least of their numbers."""

    def __init__(self, size: int) -> None:
        self.up = list(range(size))

    def find(self, item: int) -> int:
        while self.up[item] != item:
            self.up[item] = self.up[self.up[item]]
            item = self.up[item]
        return item

    def join(self, items: Iterable[int]) -> None:
        roots = sorted({self.find(item) for item in items})
        for root in roots[1:]:
            self.up[root] = roots[0]


def islands(
    model: DriveModel,
    whole: bool = False,
    again: Callable[..., Any] = lambda function, *arguments: function(*arguments),
) -> tuple[Island, ...]:
    """Return the islands of a model, in the order of their first drive.

    Args:
        model: the drive model.
        whole: join the supply into one tree, as where a regulator dropped out.
        again: as in ``model``.
    """
    zones = _zones(model, whole)
    groups = _Groups(len(model.tables))
    drive_at = {row.name: k for k, row in enumerate(model.drives)}
    moved_by = {name: m for m, t in enumerate(model.tables) for name in t.outputs}
    by_zone: dict[int, list[int]] = {}
    for m, t in enumerate(model.tables):
        for name in t.inputs:
            by_zone.setdefault(zones[model.drives[drive_at[name]].lead], []).append(m)
    for members in by_zone.values():
        groups.join(members)
    for skin in model.skins:
        groups.join(moved_by[name] for name in skin.functions if name in moved_by)
    by_root: dict[int, list[int]] = {}
    for m in range(len(model.tables)):
        by_root.setdefault(groups.find(m), []).append(m)
    return tuple(
        _one(model, zones, sorted((model.tables[m] for m in members), key=lambda t: len(t.inputs)), again)
        for _, members in sorted(by_root.items())
    )


def _one(model: DriveModel, zones: list[int], tables: list[Table], again: Callable[..., Any]) -> Island:
    """Return the island of some mechs, made of what it reads of the model alone."""
    outs = {name for t in tables for name in t.outputs}
    inputs = {name for t in tables for name in t.inputs}
    drives = tuple(row for row in model.drives if row.name in inputs)
    skins = tuple(skin for skin in model.skins if not outs.isdisjoint(skin.functions))
    world = tuple(t.name for t in tables if t.name in model.world)
    made: Island = again(_made, drives, tuple(tables), world, model.plain, skins, model.leads, tuple(zones))
    return made


def _made(
    drives: tuple[DriveRow, ...], tables: tuple[Table, ...], world: tuple[str, ...], plain: tuple[Plain, ...],
    skins: tuple[SkinRow, ...], leads: tuple[LeadRow, ...], zones: tuple[int, ...],
) -> Island:  # fmt: skip
    part = DriveModel(
        functions=(), neutral=(), drives=drives, tables=tables, world=frozenset(world), plain=plain, skins=skins, leads=leads,
        told=(),
    )  # fmt: skip
    return _island(part, list(zones), list(tables))


def _zones(model: DriveModel, whole: bool) -> list[int]:
    """Return for each lead the lead at which its stiff source stands."""
    loaded = {row.lead for row in model.drives}
    zones: list[int] = []
    for k, lead in enumerate(model.leads):
        above = k
        free = not whole and lead.regulator != PLAIN and lead.parent >= 0
        while free and model.leads[above].parent >= 0:
            above = model.leads[above].parent
            # servos on the same unregulated stretch, or one of its other branches, would move this lead's feed
            free = not any(_feed(model.leads, other) == _feed(model.leads, above) for other in loaded)
        zones.append(k if free else (zones[lead.parent] if lead.parent >= 0 else k))
    return zones


def _feed(leads: tuple[LeadRow, ...], index: int) -> int:
    """Return the lead whose regulator (or the battery) holds the voltage of a lead."""
    while leads[index].parent >= 0 and leads[index].regulator == PLAIN:
        index = leads[index].parent
    return index


def _island(model: DriveModel, zones: list[int], tables: list[Table]) -> Island:
    rows = {row.name: row for row in model.drives}
    drives = [rows[name] for t in tables for name in t.inputs]
    outs = [name for t in tables for name in t.outputs]
    skins = [skin for skin in model.skins if any(name in outs for name in skin.functions)]
    held = {name for skin in skins for name in skin.functions}
    plain = tuple(row for row in model.plain if row.function in held)
    wanted = sorted({zones[row.lead] for row in drives})
    lead_at = [k for k in range(len(model.leads)) if zones[k] in wanted]
    leads = [model.leads[k] for k in lead_at]
    parents = [
        lead_at.index(lead.parent) if lead.parent in lead_at and k not in wanted else -1
        for k, lead in zip(lead_at, leads, strict=True)
    ]
    return Island(
        name="+".join(lead.name for k, lead in enumerate(leads) if parents[k] < 0) + ":" + drives[0].name,
        drives=tuple(row.name for row in drives),
        functions=tuple(outs),
        plain=plain,
        leads=tuple(lead.name for lead in leads),
        roots=tuple(k for k, parent in enumerate(parents) if parent < 0),
        plan=plan_of(
            tables, drives, [lead_at.index(row.lead) for row in drives], leads, parents, skins,
            [row.function for row in plain], model.world,
        ),
        delay=max(row.delay for row in drives),
    )  # fmt: skip
