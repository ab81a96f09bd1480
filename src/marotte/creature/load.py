"""A creature folder -> Creature, or all faults at once."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

from marotte.basis.faults import BadInput, Fault, short
from marotte.basis.given import Given, Place, Ref
from marotte.creature.beside import side_files
from marotte.creature.creature import Creature, Mechanism, all_points, mechanisms
from marotte.creature.crosscheck import crosscheck
from marotte.creature.expand import expand
from marotte.creature.kept import Kept
from marotte.creature.migrate import migrate
from marotte.creature.report import Report
from marotte.creature.schema.base import Record
from marotte.creature.schema.file import CreatureFile
from marotte.creature.schema.mechs import Cable, PullPull
from marotte.creature.schema.supply import Cells
from marotte.creature.shelf import EDITIONS, Stock, shelf
from marotte.creature.tree import FILE_NAME, Tree, place_of, read
from marotte.creature.validate import validate

SECTIONS: Final = ("build", "poses", "brief", "audience", "show", "limits", "shop")
"""Sections that have a meaning even where they are not written."""


def load(folder: Path) -> Creature:
    """Return the creature of a folder.

    Raises:
        BadInput: every fault of creature.yaml and of the files that it names.
    """
    return build(open_tree(folder), folder)


def open_tree(folder: Path) -> Tree:
    """Return the written tree of a folder, brought up to this version in memory.

    Raises:
        BadInput: no such folder, or no readable creature.yaml in it.
    """
    shown = folder.resolve().name if folder.name in ("", "..") and folder.exists() else str(folder)
    if not folder.exists():
        what = f"there is no folder {shown}"
        raise BadInput([Fault(code="no_folder", what=what, try_="marotte new NAME makes one")])
    if not folder.is_dir():
        raise BadInput(
            [Fault(code="not_a_file", what=f"{shown} is a file; a creature is a folder with a {FILE_NAME} in it")]
        )
    if not (folder / FILE_NAME).exists():
        place = Place(file=FILE_NAME, line=1, column=1)
        raise BadInput(
            [
                Fault(
                    code="no_folder",
                    what=f"there is no {FILE_NAME} in {shown}",
                    place=place,
                    try_="marotte new NAME makes one",
                )
            ]
        )
    tree = read(folder / FILE_NAME)
    migrate(tree)
    return tree


def build(tree: Tree, folder: Path | None, kept: Kept | None = None) -> Creature:
    """Return the creature of a tree; files that it names are read from the folder.

    Args:
        tree: as written, or as edited.
        folder: where the files are that it names; None: it names none.
        kept: what was built of this tree before. Records of what no edit touched are then the same objects as before; the
            creature is the same either way.

    Raises:
        BadInput: every fault found.
    """
    edition = _edition(tree)
    stock = shelf(edition)
    kept = kept if kept is not None else Kept()
    kept.begin(edition)
    expanded = expand(tree, stock.raw_servos, kept)
    file, ledger, faults = validate(expanded.root)
    faults = [*expanded.faults, *faults]
    if file is None:
        raise BadInput(faults)
    faults.extend(crosscheck(file, expanded.root, ledger.given, stock))
    report = Report(expanded.root)
    beside = side_files(file, folder, report, kept)
    faults.extend(beside.faults)
    if faults:
        raise BadInput(faults)
    if kept.before is not None:
        unwritten = [name for name in SECTIONS if name not in file.model_fields_set]
        file = file.model_copy(update={name: _as_before(getattr(file, name), kept.before, name) for name in unwritten})
    mechs, means = mechanisms(file)
    points = all_points(file.build)
    if kept.before is not None:
        points = kept.before.points if kept.before.build is file.build else points
        mechs = {name: _or_before(mech, kept.before.mechs.get(name)) for name, mech in mechs.items()}
    made = Creature(
        folder=folder, name=file.name, about=file.about or "", seed=file.seed, stock=edition, stock_tables=stock,
        build=file.build, functions=file.functions, mechs=mechs, means=means, servos=file.servos, skins=file.skins,
        supply=file.supply, masses=file.masses, poses=file.poses, brief=file.brief, performers=file.performers,
        controls=file.controls, hand_plan=file.hand_plan, audience=file.audience, show=file.show, worn=file.worn,
        limits=file.limits, shop=file.shop, points=points, given=MappingProxyType({**ledger.given, **_used_stock(file, stock)}),
        script_text=beside.script_text, script_name=beside.script_name, recordings=beside.recordings, tables=beside.tables,
        place=report.place,
    )  # fmt: skip
    kept.done(made)
    return made


def _as_before(now: Record, creature: Creature, section: str) -> Record:
    """Return a section that is not written as the object that stood for it before, where nothing was written then either."""
    before: Record = getattr(creature, section)
    return before if not before.refs() and before.__digest__() == now.__digest__() else now


def _or_before(mech: Mechanism, before: Mechanism | None) -> Mechanism:
    """Return the mechanism as it was before, where it is the same."""
    return before if before is not None and before.record is mech.record and before == mech else mech


def _edition(tree: Tree) -> str:
    written = tree.data.get("stock")
    place = place_of(tree, ("stock",))
    if written is None:
        what = "stock is missing here"
        raise BadInput(
            [Fault(code="missing", what=what, place=place, path="/stock", try_=f"write stock: {EDITIONS[-1]}")]
        )
    if str(written) not in EDITIONS:
        what = f"{short(written)} is not an edition of the stock"
        raise BadInput(
            [
                Fault(
                    code="no_such",
                    what=what,
                    place=place,
                    path="/stock",
                    allowed=", ".join(EDITIONS),
                    try_=EDITIONS[-1],
                )
            ]
        )
    return str(written)


def _used_stock(file: CreatureFile, stock: Stock) -> Mapping[Ref, Given]:
    """Return the stock's values that this creature rests on besides its servos, whose values are in the file's ledger."""
    used = {"joints"}
    for skin in file.skins.values():
        if skin.strip is not None:
            used.update((f"skins/{skin.strip.material}", f"backings/{skin.strip.backing}"))
    for mech in (*(f.mech for f in file.functions.values()), *(j.mech for j in file.mechs.values())):
        if isinstance(mech, (Cable, PullPull)):
            used.update((f"wires/{mech.core}", f"liners/{mech.liner}"))
    if file.limits.hours is not None:
        used.add("hours")
    if file.supply is not None and isinstance(file.supply.battery, Cells):
        used.add(f"batteries/{file.supply.battery.kind}")
    return _given_under(stock, tuple(f"stock:{name}/" for name in sorted(used)))


@lru_cache(maxsize=64)
def _given_under(stock: Stock, prefixes: tuple[str, ...]) -> Mapping[Ref, Given]:
    return {ref: given for ref, given in stock.given.items() if ref.startswith(prefixes)}
