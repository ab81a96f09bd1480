"""The mass sheet: what each carrier bears, where it sits, and its inertia about the neck. docs/methods/masses.md."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np

from marotte.basis.contracts.common import Told, f64
from marotte.basis.contracts.fit import CarrierSheet, MassLine, MassPlace, MassSheet
from marotte.basis.faults import shown_path
from marotte.basis.frames import Vec, mirrored, rotation
from marotte.basis.given import Ref
from marotte.basis.units import show
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature, Mechanism
from marotte.creature.naming import several
from marotte.creature.schema.build import Build, Carried
from marotte.creature.schema.functions import Function
from marotte.creature.schema.means import Means, Servo
from marotte.creature.schema.servos import ServoClass
from marotte.creature.schema.skins import SkinCard
from marotte.creature.schema.supply import Cells, Supply
from marotte.creature.shelf import Stock
from marotte.mech.balance import POINT, as_vec, balance
from marotte.mech.case import axis_of
from marotte.mech.fit.places import eye_spacing, neck_of, place_of
from marotte.mech.skin_pieces import weighed_as

CARRIERS = ("hand", "skull", "shoulders", "post", "rod")
FORGOTTEN = (0.10, 0.15)
"""Share of the written sum that is usually forgotten: glue, screws, wire, paint (common practice, no source)."""
OWN_SHARE = 0.1
"""A part's own inertia about its axis over that of a point mass at its centre (common practice, no source)."""
WHOLE: Final = ("suit", "costume")
"""Words in the name of an entry that is weighed, or bought, as it is worn."""
USUAL = {
    "glue": ("glue", "adhesive"), "paint": ("paint",), "wire": ("wire", "loom", "cable"),
    "screws and brackets": ("screw", "bracket", "link", "fixing"), "hair or fur": ("hair", "fur", "feather", "wool"),
}  # fmt: skip
"""What a head nearly always has, and words that say a sheet has it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MassParts:
    """All that the mass sheet reads."""

    build: Build
    points: Mapping[str, Vec]
    functions: Mapping[str, Function]
    mechs: Mapping[str, Mechanism]
    means: Mapping[str, Means]
    servos: Mapping[str, ServoClass]
    skins: Mapping[str, SkinCard]
    masses: Mapping[str, Carried]
    supply: Supply | None
    stock: Stock
    placed: Mapping[str, Vec]
    """Centres of servo bodies [m] that a placement proposes, by means; written boxes win."""
    weighed: tuple[Ref, ...]
    """Entries and battery whose mass was measured."""

    @classmethod
    def of(cls, creature: Creature, placed: Mapping[str, Vec] | None = None) -> MassParts:
        """Return what the sheet reads of a creature."""
        c = creature
        whole = [entry.ref("mass") for entry in c.masses.values()]
        if c.supply is not None:
            whole.append(c.supply.battery.ref("mass"))
        return cls(
            build=c.build, points=c.points, functions=c.functions, mechs=c.mechs, means=c.means, servos=c.servos,
            skins=c.skins, masses=c.masses, supply=c.supply, stock=c.stock_tables, placed=placed or {},
            weighed=tuple(ref for ref in whole if ref in c.given and c.given[ref].source == "measured"),
        )  # fmt: skip


Row: TypeAlias = tuple[str, MassLine]
"""A line with what bears it."""


def mass_sheet(parts: MassParts) -> MassSheet:
    """Return the mass sheet of a creature, one sheet a carrier, in the order of ``CARRIERS``.

    Nothing is added that the file does not have: what is usually forgotten stands beside the sum.
    """
    spacing = eye_spacing(parts.build)
    neck, written = neck_of(parts.points, spacing)
    told: list[Told] = []
    rows = [
        *_moving(parts, spacing), *_servos(parts), *_skins(parts, told), *_entries(parts), *_battery(parts, told),
    ]  # fmt: skip
    carriers = {
        name: _sheet(name, tuple(line for carrier, line in rows if carrier == name), neck, parts.build)
        for name in CARRIERS
        if any(carrier == name for carrier, _ in rows)
    }
    told.extend(_weightless(parts))
    told.extend(_missing(parts, carriers))
    return MassSheet(carriers=carriers, neck=neck, neck_written=written, told=tuple(told))


def _moving(parts: MassParts, spacing: float) -> Iterator[Row]:
    """Yield the moving parts, each with its centre at neutral."""
    for name, function in parts.functions.items():
        load = function.load
        if load.mass <= 0.0:
            continue
        axis, part = axis_of(function, PARTS[function.part]), PARTS[function.part]
        hinge = np.array(place_of(function, parts.points, spacing))
        centre = np.array(mirrored(load.centre) if function.side == "right" else load.centre)
        own = np.zeros((3, 3))
        if axis is not None and part.kind == "turn":
            centre = rotation(axis, function.neutral) @ centre
            direction = np.array(axis)
            flat = centre - float(centre @ direction) * direction
            about = load.inertia if load.inertia is not None else OWN_SHARE * load.mass * float(flat @ flat)
            own = about * np.outer(direction, direction)
        elif axis is not None:
            centre = centre + function.neutral * np.array(axis)
        line = MassLine(
            label=name, kind="part", of=name, count=1, each=load.mass, at=as_vec(hinge + centre), placed="hinge",
            ref=load.ref("mass"), own=f64(own),
        )  # fmt: skip
        yield function.carried_by, line


def _servos(parts: MassParts) -> Iterator[Row]:
    """Yield the servos; what bears the (first) function that one moves bears it too, where nothing else is written."""
    for mech in parts.mechs.values():
        first = parts.functions[mech.outputs[0]]
        for name in mech.inputs:
            means = parts.means[name]
            if not isinstance(means, Servo):
                continue
            servo = parts.servos[means.model]
            carrier = means.carried_by or first.carried_by
            at, placed = _servo_place(means, mech.side, parts.placed.get(name), carrier)
            sides = np.array(servo.body) ** 2
            own = servo.mass * means.count / 12.0 * np.diag(sides.sum() - sides)
            line = MassLine(
                label=means.model, kind="servo", of=name, count=means.count, each=servo.mass, at=at, placed=placed,
                ref=servo.ref("mass"), own=f64(own),
            )  # fmt: skip
            yield carrier, line


def _servo_place(means: Servo, side: str | None, proposed: Vec | None, carrier: str) -> tuple[Vec | None, MassPlace]:
    if means.box is not None:
        return (mirrored(means.box.at) if side == "right" else means.box.at), "written"
    return (proposed, "proposed") if proposed is not None else (None, _unplaced(carrier))


def _skins(parts: MassParts, told: list[Told]) -> Iterator[Row]:
    """Yield the strips of the skin cards, borne as the first function that holds them, unless an entry under masses is the skin already."""
    counted: dict[str, list[str]] = {}
    for name, card in parts.skins.items():
        entry = weighed_as(name, parts.masses)
        if card.strip is None:
            why = f"{name}: a measured skin has no thickness here, so its mass must stand under masses"
            if entry is None:
                told.append(Told(code="skin_mass", sentence=why, ref=card.ref("curve")))
            continue
        if entry is not None:
            counted.setdefault(entry, []).append(name)
            continue
        carrier = skin_bearer(card, parts.functions)
        line = MassLine(
            label=f"{name} (strip of skin)", kind="skin", of=name, count=1, each=strip_mass(card, parts.stock), at=None,
            placed=_unplaced(carrier), ref=card.strip.ref("thickness"), own=POINT,
        )  # fmt: skip
        yield carrier, line
    for entry, names in counted.items():
        sentence = f"the strips of skin on {several(names)} are part of masses > {entry}: not counted twice"
        told.append(Told(code="skin_mass", sentence=sentence, ref=f"/masses/{entry}"))


def skin_bearer(card: SkinCard, functions: Mapping[str, Function]) -> str:
    """Return what bears a skin: what bears the first function that holds it."""
    first = functions.get(next(iter(card.holds)))
    return first.carried_by if first is not None else "skull"


def strip_mass(card: SkinCard, stock: Stock) -> float:
    """Return the mass [kg] of a skin card's strip with its backing: area x (thickness x density + backing)."""
    strip = card.strip
    if strip is None:
        raise ValueError("a measured skin has no strip")
    area = strip.width * strip.length
    return area * (strip.thickness * stock.skins[strip.material].density + stock.backings[strip.backing].mass)


def taken_whole(name: str, weighed: bool) -> bool:
    """Return whether an entry under masses was weighed whole or is worn as it was bought, so that nothing of it is forgotten."""
    return weighed or any(word in name.split("_") for word in WHOLE)


def _entries(parts: MassParts) -> Iterator[Row]:
    for name, carried in parts.masses.items():
        placed: MassPlace = "written" if carried.at is not None else _unplaced(carried.carried_by)
        whole = taken_whole(name, carried.ref("mass") in parts.weighed)
        line = MassLine(
            label=name, kind="entry", of=name, count=1, each=carried.mass, at=carried.at, placed=placed,
            ref=carried.ref("mass"), own=POINT, whole=whole,
        )  # fmt: skip
        yield carried.carried_by, line


def _battery(parts: MassParts, told: list[Told]) -> Iterator[Row]:
    battery = parts.supply.battery if parts.supply is not None else None
    if not isinstance(battery, Cells):
        return
    if battery.mass is None or battery.carried_by is None:
        missing = "mass" if battery.mass is None else "carried_by"
        sentence = f"the battery is not on the mass sheet: its {missing} is not written"
        told.append(Told(code="battery_mass", sentence=sentence, ref=battery.ref(missing)))
        return
    line = MassLine(
        label="battery", kind="battery", of="battery", count=1, each=battery.mass, at=battery.at,
        placed="written" if battery.at is not None else _unplaced(battery.carried_by), ref=battery.ref("mass"), own=POINT,
        whole=battery.ref("mass") in parts.weighed,
    )  # fmt: skip
    yield battery.carried_by, line


def _unplaced(carrier: str) -> MassPlace:
    return "shell" if carrier == "skull" else "nowhere"


def _sheet(carrier: str, lines: tuple[MassLine, ...], neck: Vec, build: Build) -> CarrierSheet:
    total = parts = 0.0
    for line in lines:
        total += line.mass
        parts += 0.0 if line.whole else line.mass
    centre, inertia = balance(carrier, lines, total, np.array(neck), build)
    return CarrierSheet(
        carrier=carrier, lines=lines, total=total, parts=parts, forgotten=(FORGOTTEN[0] * parts, FORGOTTEN[1] * parts),
        centre=centre, inertia=inertia,
    )  # fmt: skip


def _weightless(parts: MassParts) -> Iterator[Told]:
    """Yield what is written as weighing nothing: a mass that is left out is said elsewhere, one of nothing is a slip."""
    refs = [function.load.ref("mass") for function in parts.functions.values() if function.load.mass == 0.0]
    refs += [carried.ref("mass") for carried in parts.masses.values() if carried.mass == 0.0]
    for ref in dict.fromkeys(refs):
        if not ref.startswith("default:"):
            sentence = f"{shown_path(ref)} is written as nothing: nothing weighs nothing, so weigh it"
            yield Told(code="mass_zero", sentence=sentence, ref=ref)


def _missing(parts: MassParts, carriers: Mapping[str, CarrierSheet]) -> Iterator[Told]:
    """Yield what the skull's sheet has no line for, though heads nearly always have it."""
    if "skull" not in carriers:
        return
    words = " ".join(line.of for line in carriers["skull"].lines)
    lacks = [name for name, said in USUAL.items() if not any(word in words for word in said)]
    if lacks:
        sheet = carriers["skull"]
        least, most = (f"{mass * 1e3:.0f}" for mass in sheet.forgotten)
        whole = sheet.total - sheet.parts
        aside = f"; {show(whole, 'kg')} of it was weighed whole and is left out of that" if whole > 0.0 else ""
        sentence = (
            f"the head's mass sheet has no line for {', '.join(lacks)}; what is forgotten usually adds 10 to 15 %, here "
            f"{least} to {most} g (common practice, no source), and is not in the sum{aside}"
        )
        yield Told(code="mass_forgotten", sentence=sentence, ref="/masses")
