"""The cells of fit: the mass sheet, what sits in the skull, what comes out, the hand, the neck."""

from __future__ import annotations

from dataclasses import dataclass

from marotte.basis.contracts.common import Told, Unknown
from marotte.basis.contracts.fit import Access, Fit, HandFit, MassSheet, NeckFit, WearerFit
from marotte.basis.contracts.mech import Mechs
from marotte.basis.digest import digest
from marotte.basis.frames import Vec
from marotte.creature.creature import Creature
from marotte.creature.schema.means import Hand, Servo
from marotte.mech import METHODS
from marotte.mech.fit.access import access
from marotte.mech.fit.fit import FitParts, fit, hand_inside
from marotte.mech.fit.hand import FOAM, WALL, hand_fit, performer_of
from marotte.mech.fit.meshes import Hollow, MeshFile, hollow_of
from marotte.mech.fit.neck import neck_fit
from marotte.mech.fit.skull import Shell, shell_of
from marotte.mech.fit.wearer import WEARER, wearer_fit, wearer_of
from marotte.mech.masses import MassParts, mass_sheet
from marotte.verdict.cells import Cache


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """All that was found about what sits in the head."""

    fit: Fit | Unknown
    access: Access | Unknown
    hand: HandFit | Unknown | None
    """None where no hand works inside the head."""
    wearer: WearerFit | None
    """None where no one's head is in the creature's."""
    neck: NeckFit | None
    told: tuple[Told, ...]


def masses(creature: Creature, cache: Cache, placed: dict[str, Vec] | None = None) -> MassSheet:
    """Return the mass sheet of a creature; ``placed`` holds proposed middles of servos [m]."""
    return cache.cell(
        "mech/masses", METHODS["mech/masses"], mass_sheet, MassParts.of(creature, placed), by_key=True
    ).value


def fit_parts(creature: Creature, mechs: Mechs, shell: Shell | Unknown) -> FitParts:
    """Return what fit reads of a creature in its skull."""
    hand = _hand(creature, shell)
    breadth = hand.breadth + 2.0 * FOAM if isinstance(hand, HandFit) else None
    return FitParts.of(creature, mechs, breadth, _worn(creature, _wearer(creature, shell)))


def fitted(creature: Creature, mechs: Mechs, cache: Cache) -> Fitted:
    """Return what sits in the head and how it comes out."""
    shell, notes = skull_shell(creature, cache)
    hand, wearer = _hand(creature, shell), _wearer(creature, shell)
    number = METHODS["mech/fit"]
    parts = fit_parts(creature, mechs, shell)
    cell = cache.cell("mech/fit", number, fit, parts, shell, notes, by_key=True)
    found = cell.value
    out: Access | Unknown
    if isinstance(found, Unknown):
        out = found
    else:
        out = cache.cell("mech/fit", number, access, cell, *hatches(creature)).value
    inside = hand.performer if isinstance(hand, HandFit) else None
    stock, attitudes = creature.stock_tables, creature.brief.attitudes
    neck = neck_fit(creature.functions, creature.mechs, creature.means, stock, attitudes, inside)
    told = (
        *(found.told if isinstance(found, Fit) else ()),
        *(out.told if isinstance(out, Access) else ()),
        *(neck.told if neck is not None else ()),
    )
    return Fitted(fit=found, access=out, hand=hand, wearer=wearer, neck=neck, told=told)


def proposed_places(found: Fitted) -> dict[str, Vec]:
    """Return the middles [m] of servos that sit in a proposed place."""
    if isinstance(found.fit, Unknown):
        return {}
    return {item.of: item.at for item in found.fit.placed if item.kind == "servo" and item.how == "proposed"}


def skull_shell(creature: Creature, cache: Cache) -> tuple[Shell | Unknown, tuple[Told, ...]]:
    """Return the inside of a creature's skull, and what was assumed of it."""
    skull = creature.build.skull
    hollow: Hollow | Unknown | None = None
    if skull is not None and skull.mesh is not None:
        file = _mesh_file(creature, skull.mesh)
        hollow = (
            file if isinstance(file, Unknown) else cache.cell("mech/fit", METHODS["mech/fit"], hollow_of, file).value
        )
    return shell_of(skull, hollow), hollow.told if isinstance(hollow, Hollow) else ()


def _mesh_file(creature: Creature, name: str) -> MeshFile | Unknown:
    """Return a mesh in the creature folder, and nowhere else."""
    wants = ("/build/skull/mesh",)
    if creature.folder is None:
        return Unknown(why=f"there is no folder to find {name} in", wants=wants)
    folder = creature.folder.resolve()
    path = (folder / name).resolve()
    if not path.is_relative_to(folder) or not path.is_file():
        return Unknown(why=f"there is no mesh {name} in the creature folder", wants=wants)
    return MeshFile(path, digest(path.read_bytes()).hex())


def hatches(creature: Creature) -> tuple[tuple[str, ...], dict[str, tuple[str, ...]], dict[str, Vec], Vec]:
    """Return the skull's hatches, those that each box names, the points of the build, and the skull's middle."""
    skull = creature.build.skull
    assert skull is not None
    hatch = skull.hatch
    names = () if hatch is None else (hatch,) if isinstance(hatch, str) else hatch
    wanted = {
        name: means.box.access
        for name, means in creature.means.items()
        if isinstance(means, Servo) and means.box is not None and means.box.access
    }
    points = {name: place for name, place in creature.points.items() if name.startswith("hatch_")}
    return names, wanted, points, skull.centre


def _wearer(creature: Creature, shell: Shell | Unknown) -> WearerFit | None:
    """Return how the wearer's head goes in, where the file says that it is in there."""
    name = wearer_of(creature.performers)
    if name is None or WEARER not in creature.points or isinstance(shell, Unknown):
        return None
    return wearer_fit(name, creature.performers[name], creature.points[WEARER], shell)


def _worn(creature: Creature, wearer: WearerFit | None) -> tuple[str, Vec, Vec] | None:
    """Return whose head takes its room in the skull, where, and its whole sides with padding [m]."""
    if wearer is None:
        return None
    sides = (wearer.breadth, wearer.height, wearer.length)
    grown = (sides[0] + 2.0 * wearer.pad, sides[1] + 2.0 * wearer.pad, sides[2] + 2.0 * wearer.pad)
    return wearer.performer, creature.points[WEARER], grown


def _hand(creature: Creature, shell: Shell | Unknown) -> HandFit | Unknown | None:
    name = hand_inside(creature.functions, creature.mechs, creature.means)
    if name is None:
        return None
    means = creature.means[name]
    assert isinstance(means, Hand)
    who = performer_of(means, creature.performers)
    if who is None:
        return Unknown(why=f"whose hand works the {name} is not written", wants=(means.ref("of"),))
    build = creature.build
    if isinstance(shell, Shell):
        inner = shell.shape[0]
    elif build.head_width is not None:
        inner = build.head_width - 2.0 * WALL
    else:
        return Unknown(why="the head's width is not written", wants=("/build/head_width",))
    mech = next(mech for mech in creature.mechs.values() if name in mech.inputs)
    return hand_fit(name, means, who, creature.performers, mech, creature.functions, inner)
