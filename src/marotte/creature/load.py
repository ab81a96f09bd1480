"""A creature folder -> Creature, or all faults at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache, partial
from hashlib import blake2b
from pathlib import Path
from types import MappingProxyType
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.faults import BadInput, Fault, nearest, short
from marotte.basis.given import Given, Place, Ref
from marotte.creature.creature import Creature, Mechanism, Recording, all_points, mechanisms
from marotte.creature.crosscheck import crosscheck
from marotte.creature.expand import expand
from marotte.creature.kept import Kept
from marotte.creature.measured import read_curve
from marotte.creature.migrate import migrate
from marotte.creature.report import Report
from marotte.creature.schema.base import Record
from marotte.creature.schema.file import CreatureFile
from marotte.creature.schema.mechs import Cable, PullPull
from marotte.creature.schema.supply import Cells
from marotte.creature.shelf import EDITIONS, Stock, shelf
from marotte.creature.tree import FILE_NAME, Tree, place_of, read, read_text
from marotte.creature.validate import validate

SECTIONS: Final = ("build", "poses", "brief", "audience", "show", "limits", "shop")
"""Sections that have a meaning even where they are not written."""
SCRIPT_MOST_BYTES: Final = 8_000_000
VOICES: Final = (".wav", ".flac", ".ogg")


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
    shown = str(folder)
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


@dataclass(slots=True)
class SideFiles:
    """What the folder holds beside creature.yaml, as far as the file names it."""

    script_text: str | None = None
    script_name: str = ""
    recordings: dict[str, Recording] = field(default_factory=dict)
    tables: dict[str, F64] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)


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
    beside = side_files(file, folder, Report(expanded.root), kept)
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


def side_files(file: CreatureFile, folder: Path | None, report: Report, kept: Kept) -> SideFiles:
    """Return what the folder holds beside creature.yaml; what cannot be read is among the faults.

    A recording is hashed again only where its size, its times or its place on the disk have changed.
    """
    out = SideFiles()
    if folder is None:
        return out
    name = file.brief.script
    if name is not None:
        out.script_name = name
        path = _inside(folder, name, file.brief.ref("script"), report, out.faults)
        if path is not None:
            try:
                out.script_text = read_text(path, name, SCRIPT_MOST_BYTES)
            except BadInput as error:
                out.faults.extend(error.faults)
    for skin in file.skins.values():
        if skin.curve is not None and skin.curve not in out.tables:
            path = _inside(folder, skin.curve, skin.ref("curve"), report, out.faults)
            if path is not None:
                try:
                    curve = read_curve(path, skin.curve)
                    old = kept.before.tables.get(skin.curve) if kept.before is not None else None
                    out.tables[skin.curve] = old if old is not None and np.array_equal(old, curve) else curve
                except BadInput as error:
                    out.faults.extend(error.faults)
    voices = folder / "voice"
    if voices.is_dir():
        for path in sorted(voices.iterdir()):
            if path.suffix.lower() in VOICES and path.is_file():
                on = path.stat()
                key = ("voice", path, on.st_size, on.st_mtime_ns, on.st_ctime_ns, on.st_ino, on.st_dev)
                content = kept.of(key, (), partial(_hash, path))
                voice = Recording(name=path.stem, path=path, content=content)
                out.recordings[path.stem] = kept.same(voice)
    return out


def _inside(folder: Path, name: str, ref: Ref, report: Report, faults: list[Fault]) -> Path | None:
    """Return the path of a named file; nothing outside the creature folder is ever read."""
    path = folder / name
    try:
        inside = path.resolve().is_relative_to(folder.resolve())
        there = path.exists()
    except (OSError, ValueError, RuntimeError):  # too long, a NUL inside, a link that loops
        inside, there = False, False
    if inside and there:
        return path
    what = f"there is no {name} in the creature folder" if inside else f"{name} lies outside the creature folder"
    near = nearest(name, (item.name for item in folder.iterdir() if item.is_file())) if inside else ""
    faults.append(Fault(code="no_folder", what=what, place=report.place(ref), path=ref, found=name, try_=near))
    return None


def _hash(path: Path) -> str:
    out = blake2b(digest_size=16)
    with path.open("rb") as handle:
        while piece := handle.read(1 << 20):
            out.update(piece)
    return out.hexdigest()
