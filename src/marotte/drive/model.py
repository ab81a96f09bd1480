"""From a creature's records and its Mechs to the drive model: what the islands are cut from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Protocol

import numpy as np

from marotte.basis.contracts.common import F64, Told, f64
from marotte.basis.contracts.mech import Load, Mechs, Skin, Transmission
from marotte.basis.digest import digest, kept_digest
from marotte.basis.ticks import TICKS_PER_SECOND, ticks
from marotte.creature.schema.functions import Function
from marotte.creature.schema.means import Means, Servo
from marotte.creature.schema.servos import ServoClass
from marotte.creature.schema.stock import BatteryKind
from marotte.creature.schema.supply import Supply
from marotte.creature.shelf import LATEST, shelf
from marotte.drive.leads import LeadRow, lead_of, leads_of, nominal_volts
from marotte.drive.plain import Plain, plain_law
from marotte.drive.servo import Motor, motor
from marotte.drive.tables import Table, table

SKIN_PLACES = 257


class Rides(Protocol):
    """What the drive asks of a part of the anatomy."""

    @property
    def rides_on(self) -> str:
        """ "head", "jaw", "body"...: what carries it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveRow:
    """One servo input."""

    name: str
    model: str
    count: int
    lead: int
    motor: Motor
    full_at: float
    brake_time: float
    dead_band: float
    signal_step: float
    frame: int
    """Ticks."""
    delay: int
    """Ticks: link and servo."""
    thermal: tuple[float, float, float, float]
    """Heat of winding and case [J/K], resistances winding to case and case to air [K/W]."""
    winding_limit_k: float
    _digest: list[bytes] = field(default_factory=list, init=False, compare=False, repr=False)

    def __digest__(self) -> bytes:
        return kept_digest(self, self._digest)


@dataclass(frozen=True, slots=True, kw_only=True)
class SkinRow:
    """One skin with a uniform force table."""

    name: str
    functions: tuple[str, ...]
    holds: F64
    rest: float
    low: float
    high: float
    force: F64
    _digest: list[bytes] = field(default_factory=list, init=False, compare=False, repr=False)

    def __digest__(self) -> bytes:
        return kept_digest(self, self._digest)


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveModel:
    """All that moves, in the order of the creature's file."""

    functions: tuple[str, ...]
    neutral: tuple[float, ...]
    drives: tuple[DriveRow, ...]
    tables: tuple[Table, ...]
    """Of the mechs that servos move."""
    world: frozenset[str]
    """Mechs that do not ride on the head: gravity is upright for them."""
    plain: tuple[Plain, ...]
    skins: tuple[SkinRow, ...]
    leads: tuple[LeadRow, ...]
    told: tuple[Told, ...]
    _digest: list[bytes] = field(default_factory=list, compare=False, repr=False)

    def __digest__(self) -> bytes:
        if not self._digest:
            parts = (
                self.functions,
                self.neutral,
                self.drives,
                self.tables,
                self.world,
                self.plain,
                self.skins,
                self.leads,
            )
            self._digest.append(digest(("DriveModel", *parts)))
        return self._digest[0]

    def drive(self, name: str) -> DriveRow:
        """Return the drive of an input.

        Raises:
            KeyError: no servo has that name.
        """
        for row in self.drives:
            if row.name == name:
                return row
        raise KeyError(name)


def model(
    functions: Mapping[str, Function],
    means: Mapping[str, Means],
    servos: Mapping[str, ServoClass],
    supply: Supply | None,
    mechs: Mechs,
    anatomy: Mapping[str, Rides],
    cells: Mapping[str, BatteryKind] | None = None,
    again: Callable[..., Any] = lambda function, *arguments: function(*arguments),
) -> DriveModel:
    """Return the drive model of a creature.

    Args:
        functions: all functions, in the order of the file; that order is the order of every result.
        means: who pushes, by input name.
        servos: every servo model that ``means`` names.
        supply: the tree; None with servos is told, and a stiff supply is taken.
        mechs: transmissions, loads and skins.
        anatomy: parts by name; a part that rides on the body, or is not known, sees upright gravity.
        cells: the chemistries of the creature's stock; None: of the newest edition.
        again: calls a pure function with arguments; one that keeps results by the identity of the arguments saves their making.
    """
    told: list[Told] = []
    known_mechs = [t for t in mechs.transmissions.values() if isinstance(t, Transmission)]
    moved = {name for t in known_mechs for name in t.outputs}
    driven = [t for t in known_mechs if _all_servos(t.inputs, means)]
    servo_inputs = [name for t in driven for name in t.inputs]
    leads = leads_of(
        supply,
        [servos[m.model] for name in servo_inputs if isinstance(m := means[name], Servo)],
        shelf(LATEST).batteries if cells is None else cells,
        told,
    )
    link_ticks = ticks(supply.link.delay) if supply is not None else 0
    drives = tuple(_drive(name, means[name], servos, leads, link_ticks, told, again) for name in servo_inputs)
    by_servo = {name for t in driven for name in t.outputs}
    for t in known_mechs:
        if t not in driven and any(isinstance(means.get(name), Servo) for name in t.inputs):
            sentence = f"{t.name} is pushed by servos and by hands together; it is taken to follow exactly"
            told.append(Told(code="mixed_means", sentence=sentence))
    plain = []
    for name, function in functions.items():
        if name in by_servo:
            continue
        inputs = next((t.inputs for t in known_mechs if name in t.outputs), (name,))
        plain.append(again(plain_law, name, function, means.get(inputs[0])))
        if name not in moved and isinstance(means.get(name), Servo):
            sentence = f"{name} has no mechanism that could be computed; it is taken to follow exactly"
            told.append(Told(code="no_mech", sentence=sentence))
    world = frozenset(t.name for t in driven if not _on_head(t.outputs, functions, anatomy))
    known = set(functions)
    return DriveModel(
        functions=tuple(functions),
        neutral=tuple(function.neutral for function in functions.values()),
        drives=drives,
        tables=tuple(again(_table, t, tuple(mechs.loads.get(name) for name in t.outputs)) for t in driven),
        world=world,
        plain=tuple(plain),
        skins=tuple(again(_skin, skin) for skin in mechs.skins if set(skin.holds) <= known and skin.holds),
        leads=leads,
        told=tuple(told),
    )


def _table(t: Transmission, loads: tuple[Load | None, ...]) -> Table:
    return table(t, {name: load for name, load in zip(t.outputs, loads, strict=True) if load is not None})


def _all_servos(inputs: tuple[str, ...], means: Mapping[str, Means]) -> bool:
    return all(isinstance(means.get(name), Servo) for name in inputs)


def _on_head(outputs: tuple[str, ...], functions: Mapping[str, Function], anatomy: Mapping[str, Rides]) -> bool:
    parts = [functions[name].part for name in outputs if name in functions]
    return all(part in anatomy and anatomy[part].rides_on not in ("body", "world") for part in parts)


def _drive(
    name: str, means: Means, servos: Mapping[str, ServoClass], leads: tuple[LeadRow, ...], link: int, told: list[Told],
    again: Callable[..., Any],
) -> DriveRow:  # fmt: skip
    assert isinstance(means, Servo)
    lead = lead_of(name, means, leads, told)
    row: DriveRow = again(_row, name, means, servos[means.model], lead, nominal_volts(leads, lead), link)
    told.extend(row.motor.told)
    return row


def _row(name: str, means: Servo, servo: ServoClass, lead: int, volts: float, link: int) -> DriveRow:
    made = motor(servo, volts)
    return DriveRow(
        name=name,
        model=means.model,
        count=means.count,
        lead=lead,
        motor=made,
        full_at=servo.full_at,
        brake_time=servo.brake_time,
        dead_band=servo.dead_band,
        signal_step=servo.signal_step,
        frame=max(1, int(TICKS_PER_SECOND / servo.frame + 0.5)),
        delay=link + ticks(servo.response),
        thermal=(servo.winding_heat, servo.case_heat, servo.winding_to_case, servo.case_to_air),
        winding_limit_k=servo.winding_limit,
    )


def with_source(model: DriveModel, volts: float, ohm: float) -> DriveModel:
    """Return a model whose battery stands at another voltage [V] behind another resistance [ohm]; its motors stay as they are."""
    first = replace(model.leads[0], source_v=volts, ohm=ohm)
    return replace(model, leads=(first, *model.leads[1:]), _digest=[])


def _skin(skin: Skin) -> SkinRow:
    """Return a skin with its curve on a uniform grid; beyond its ends the last stretch goes on."""
    names = tuple(sorted(skin.holds))
    stretch, force = skin.curve
    low, high = float(stretch[0]), float(stretch[-1])
    return SkinRow(
        name=skin.name,
        functions=names,
        holds=f64([skin.holds[name] for name in names]),
        rest=sum(skin.holds[name] * skin.sculpted.get(name, 0.0) for name in names),
        low=low,
        high=high,
        force=f64(np.interp(np.linspace(low, high, SKIN_PLACES), stretch, force)),
    )
