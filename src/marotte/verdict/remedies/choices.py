"""How far each knob may be turned: numbers by their steps, servo classes and skins by the stock."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any, Final

from marotte.basis.given import Ref
from marotte.basis.units import DEG
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature
from marotte.creature.schema.base import Record
from marotte.creature.schema.means import CHANGE_SERVO, Servo
from marotte.creature.schema.mechs import Linkage
from marotte.creature.schema.quantities import Knob, quantity
from marotte.creature.schema.skins import SkinCard, Strip
from marotte.verdict.remedies.fed import fed
from marotte.verdict.remedies.turn import Chain, Turn

RELIEF: Final = Knob(low=0.0, high=0.5, step=0.05, cost=2)
"""Creases or slits take up to half of the width out (a rule of this project); low and high are values."""
SCULPTED: Final = Knob(low=0.0, high=0.4, step=DEG, cost=5)
"""Sculpt it open by up to that share of the travel: beyond it the fold shows when it is shut (a rule of this project). It
is a new sculpture and mould."""
EACH_SERVO: Final = 0.1
"""Cost of another voltage for every servo that gets it too (a rule of this project)."""
MATERIAL_COST: Final = 5.0
BACKING_COST: Final = 4.0
DIFFERENCES: Final = frozenset({"rad"})
"""Units in which a declared knob's low and high are differences, not factors."""


def choice_of(creature: Creature, chain: Chain, holder: Record, field: str, ref: Ref) -> Turn | None:
    """Return the knob that a field of a record is, with every place that it may be turned to; None where it is none."""
    written = not holder.ref(field).startswith("default:")
    if isinstance(holder, Servo) and field == "model":
        return _ladder(creature, chain, holder, ref)
    if isinstance(holder, Strip) and field in ("material", "backing"):
        return _of_skin(creature, chain, holder, field, ref, written)
    if isinstance(holder, Strip) and field == "relief":
        return _of_values(ref, written, chain, holder, field, RELIEF, _steps(RELIEF.low, RELIEF.high, RELIEF.step))
    note = quantity(type(holder), field)
    value = getattr(holder, field)
    if isinstance(holder, SkinCard) and field == "sculpted_at":
        return _sculpted(creature, chain, holder)
    if note is None or note.knob is None or not isinstance(value, float):
        return None
    if isinstance(holder, Linkage) and not written:
        return None
    knob, unit = note.knob, note.kinds[0].si
    low, high = (
        (value + knob.low, value + knob.high) if unit in DIFFERENCES else sorted((value * knob.low, value * knob.high))
    )
    choices = [v for v in _steps(low, high, knob.step) if _within(note, v)]
    if field == "volts":
        servos = fed(creature, chain)
        most = min((servo.points[-1].at for servo in servos), default=math.inf)
        choices = [v for v in choices if v <= most + 1e-9]
        knob = replace(knob, cost=knob.cost + EACH_SERVO * len(servos))
    return _of_values(ref, written, chain, holder, field, knob, choices, re_clocks=knob.cost == 0)


def _within(note: Any, value: float) -> bool:
    return (
        (note.gt is None or value > note.gt)
        and (note.ge is None or value >= note.ge)
        and (note.le is None or value <= note.le)
        and (note.lt is None or value < note.lt)
    )


def _of_values(
    ref: Ref, written: bool, chain: Chain, holder: Record, field: str, knob: Knob, values: list[float], *, re_clocks: bool = False
) -> Turn | None:  # fmt: skip
    note = quantity(type(holder), field)
    now = float(getattr(holder, field))
    assert note is not None
    choices = sorted((v for v in values if abs(v - now) > 1e-9), key=lambda v: (abs(v - now), v))
    if not choices:
        return None
    return Turn(
        ref=ref, written=written, says=note.says.split(",")[0], chains=(chain,), now=now, choices=tuple(choices), kind=note.kinds[0],
        cost=knob.cost, re_clocks=re_clocks, stands=holder.ref(field),
    )  # fmt: skip


def _steps(low: float, high: float, step: float) -> list[float]:
    """Return the multiples of a step inside a range, rounded so that they are written short."""
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [k * step for k in range(first, last + 1)]


def _sculpted(creature: Creature, chain: Chain, card: SkinCard) -> Turn | None:
    """The pose in which a skin is sculpted: the first function that holds it, more open."""
    name = min(card.holds, key=lambda held: (-abs(card.holds[held]) * creature.functions[held].span, held))
    function = creature.functions[name]
    now = card.sculpted_at.get(name, function.neutral)
    ref = card.ref("sculpted_at", name)
    if not ref.startswith("/") or name not in card.sculpted_at:
        return None  # where no pose is written the file has no place to turn it at
    note = quantity(type(function), "neutral")
    assert note is not None
    turning = PARTS[function.part].kind == "turn"
    step = SCULPTED.step if turning else 0.5e-3
    values = _steps(function.travel[0], function.travel[0] + SCULPTED.high * function.span, step)
    choices = tuple(sorted((v for v in values if abs(v - now) > 1e-9), key=lambda v: (abs(v - now), v)))
    kind = note.kinds[0] if turning else note.kinds[1]
    return Turn(
        ref=ref,
        written=True,
        says=f"sculpted at {name}",
        chains=((*chain, name),),
        now=now,
        choices=choices,
        kind=kind,
        cost=SCULPTED.cost,
    )


def _ladder(creature: Creature, chain: Chain, means: Servo, ref: Ref) -> Turn | None:
    """Other servo classes of the stock: those of the same body first, then by how far their mass is from this one's."""
    now = creature.servos[means.model]
    stock = creature.stock_tables.servos
    others = [name for name in stock if name not in (means.model, now.like) and not stock[name].measured]
    others.sort(key=lambda name: (not stock[name].same_body(now), abs(stock[name].mass - now.mass), name))
    if not others:
        return None
    return Turn(
        ref=ref,
        written=True,
        says="servo",
        chains=(chain,),
        now=means.model,
        choices=tuple(others),
        kind=None,
        cost=CHANGE_SERVO.cost,
        near=sum(stock[name].same_body(now) for name in others),
    )


def _of_skin(creature: Creature, chain: Chain, strip: Strip, field: str, ref: Ref, written: bool) -> Turn | None:
    """Softer materials of the same family, or backings that hold less, the nearest first."""
    now = getattr(strip, field)
    if field == "material":
        stuffs = creature.stock_tables.skins
        stiff = {name: stuffs[name].modulus for name in stuffs if name.split("_")[0] == now.split("_")[0]}
    else:
        stiff = {name: backing.factor for name, backing in creature.stock_tables.backings.items()}
    others = sorted((name for name in stiff if stiff[name] < 0.95 * stiff[now]), key=lambda name: (-stiff[name], name))
    if not others:
        return None
    cost = MATERIAL_COST if field == "material" else BACKING_COST
    return Turn(
        ref=ref,
        written=written,
        says=field,
        chains=(chain,),
        now=now,
        choices=tuple(others),
        kind=None,
        cost=cost,
        near=len(others),
    )
