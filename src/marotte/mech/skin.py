"""Skins: force over stretch, from what the strip is made of or from the shop's own table. docs/methods/skin.md."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from marotte.basis.contracts.common import F64, Told, f64
from marotte.basis.contracts.mech import Skin
from marotte.basis.given import Ref
from marotte.creature.schema.functions import Function
from marotte.creature.schema.skins import SkinCard, Strip
from marotte.creature.schema.stock import Backing, SkinStuff
from marotte.creature.shelf import Stock

POINTS = 256
"""Steps of a curve over its whole stretch."""
LOCKED = 20.0
"""Stiffness of a taut backing over that of the backed skin at rest (a rule of this project: it stops, in a few mm)."""
LEAST_STRETCH_RATIO = 0.3
"""A strip that pushes is not followed past this ratio of lengths; thick skin folds long before."""


def neo_hookean(ratio: F64, modulus: float) -> F64:
    """Return the nominal uniaxial stress [Pa] of an incompressible neo-Hookean solid at ratios of lengths.

    sigma = mu (r - r^-2), mu [Pa] the shear modulus (Treloar, *The Physics of Rubber Elasticity*).
    """
    return np.asarray(modulus * (ratio - ratio**-2.0))


def gent_modulus(shore_a: float) -> float:
    """Return Young's modulus [Pa] of a rubber from its Shore A hardness; good from 20 to 90 A or so.

    Gent 1958, Rubber Chemistry and Technology 31:896: E = 0.0981 (56 + 7.62336 S) / (0.137505 (254 - 2.54 S)) MPa.

    Raises:
        ValueError: the hardness is outside 0 to 99.
    """
    if not 0.0 < shore_a <= 99.0:
        raise ValueError("Shore A goes from 0 to 99; harder than that the formula has no meaning")
    return 1e6 * 0.0981 * (56.0 + 7.62336 * shore_a) / (0.137505 * (254.0 - 2.54 * shore_a))


def strip_force(strip: Strip, stuff: SkinStuff, backing: Backing, stretch: F64, pushes: bool) -> F64:
    """Return the pull [N] of a strip over its stretch [m], (p,); negative where it pushes.

    In pull: neo-Hookean over the width that relief leaves, times the backing's factor; past the ratio at which the
    backing is taut it goes on at ``LOCKED`` times its stiffness at rest. In push: the same law where it pushes, else no
    more than the strip bears before it buckles (Euler, both ends free to turn: pi^2 E I / L^2).
    """
    ratio = np.maximum(1.0 + stretch / strip.length, LEAST_STRETCH_RATIO)
    area = strip.width * strip.thickness * (1.0 - strip.relief)
    modulus = stuff.modulus * backing.factor
    at_rest = 3.0 * modulus * area / strip.length  # dF/dx at ratio 1
    lock = (backing.locks_at - 1.0) * strip.length
    free = area * neo_hookean(np.minimum(ratio, backing.locks_at), modulus)
    force = free + LOCKED * at_rest * np.maximum(stretch - lock, 0.0)
    if not pushes:
        second_moment = strip.width * (1.0 - strip.relief) * strip.thickness**3 / 12.0
        buckles = math.pi**2 * 3.0 * modulus * second_moment / strip.length**2
        force = np.maximum(force, -buckles)
    return np.asarray(force)


def skin(
    name: str, card: SkinCard, functions: Mapping[str, Function], stock: Stock, tables: Mapping[str, F64] | None = None
) -> Skin:
    """Return one skin: its holds, its sculpted pose, its curve over all the stretch that the travels can ask.

    Args:
        name: of the skin.
        card: its record.
        functions: by name; those that hold it give their travels and neutrals.
        stock: an edition, for what the skin and its backing are made of.
        tables: measured curves (2, p) [m, N] by the path that the card writes.

    Raises:
        KeyError: a name that validation should have refused.
    """
    sculpted = {held: card.sculpted_at.get(held, functions[held].neutral) for held in sorted(card.holds)}
    low, high = _stretches(card, functions, sculpted)
    step = max(high - low, 1e-6) / POINTS
    stretch: F64 = step * np.arange(math.floor(low / step) - 2, math.ceil(high / step) + 3, dtype=np.float64)
    refs: set[Ref] = {ref for ref in card.refs() if not ref.startswith("default:")}
    refs.update(functions[held].ref("travel") for held in sculpted)
    if card.strip is not None:
        stuff, backing = stock.skins[card.strip.material], stock.backings[card.strip.backing]
        refs.update(
            {stuff.ref("modulus"), stuff.ref("cold"), stuff.ref("warm"), stuff.ref("creep"), backing.ref("factor")}
        )
        return Skin(
            name=name,
            holds=dict(sorted(card.holds.items())),
            sculpted=sculpted,
            curve=f64(np.stack((stretch, strip_force(card.strip, stuff, backing, stretch, card.pushes)))),
            band=(stuff.warm * (1.0 - stuff.creep), stuff.cold),
            locks_at=(backing.locks_at - 1.0) * card.strip.length,
            tears_at=(stuff.tears_at - 1.0) * card.strip.length,
            rests_on=frozenset(refs),
        )
    table = (tables or {})[card.curve or ""]
    force, told = _from_table(name, table, stretch, card)
    return Skin(
        name=name,
        holds=dict(sorted(card.holds.items())),
        sculpted=sculpted,
        curve=f64(np.stack((stretch, force))),
        told=told,
        rests_on=frozenset(refs),
    )


def _stretches(card: SkinCard, functions: Mapping[str, Function], sculpted: Mapping[str, float]) -> tuple[float, float]:
    """Return the least and the largest stretch [m] over all the travels, zero within."""
    low = high = 0.0
    for held, hold in card.holds.items():
        ends = [hold * (end - sculpted[held]) for end in functions[held].travel]
        low, high = low + min(*ends, 0.0), high + max(*ends, 0.0)
    return low, high


def _from_table(name: str, table: F64, stretch: F64, card: SkinCard) -> tuple[F64, tuple[Told, ...]]:
    """Return measured force over other stretches, straight on past its ends; and what was assumed."""
    told = []
    xs, fs = table[0], table[1]
    force = np.interp(stretch, xs, fs)
    above, below = stretch > xs[-1], stretch < xs[0]
    force[above] = fs[-1] + (fs[-1] - fs[-2]) / (xs[-1] - xs[-2]) * (stretch[above] - xs[-1])
    if above[:-2].any():
        sentence = (
            f"{name}: measured to {xs[-1] * 1e3:.1f} mm, asked to {stretch[-3] * 1e3:.1f}: gone on in a straight line"
        )
        told.append(Told(code="past_table", sentence=sentence, ref=card.ref("curve")))
    if card.pushes:
        force[below] = fs[0] + (fs[1] - fs[0]) / (xs[1] - xs[0]) * (stretch[below] - xs[0])
    else:
        force[below] = min(fs[0], 0.0) if xs[0] < 0.0 else 0.0
    return force, tuple(told)


def stretch_at(skin_: Skin, positions: Mapping[str, float]) -> float:
    """Return the stretch [m] of a skin with its functions at some positions; one that is not named stands as sculpted."""
    return sum(
        hold * (positions.get(held, skin_.sculpted[held]) - skin_.sculpted[held]) for held, hold in skin_.holds.items()
    )


def force_at(skin_: Skin, stretch: float) -> float:
    """Return the pull [N] at a stretch [m], straight on past the ends of the curve."""
    xs, fs = skin_.curve
    i = min(max(int((stretch - xs[0]) / (xs[1] - xs[0])), 0), xs.size - 2)
    return float(fs[i] + (fs[i + 1] - fs[i]) / (xs[i + 1] - xs[i]) * (stretch - xs[i]))


def energy_at(skin_: Skin, stretch: float) -> float:
    """Return the energy [J] stored at a stretch [m]: the integral of the pull from no stretch."""
    xs = skin_.curve[0]
    between = xs[(xs > min(0.0, stretch)) & (xs < max(0.0, stretch))]
    knots = np.concatenate(([min(0.0, stretch)], between, [max(0.0, stretch)]))
    pulls = np.array([force_at(skin_, float(x)) for x in knots])
    whole = float(np.sum(np.diff(knots) * 0.5 * (pulls[1:] + pulls[:-1])))
    return whole if stretch >= 0.0 else -whole


def force_on(skin_: Skin, function: str, positions: Mapping[str, float]) -> float:
    """Return the generalised force [N*m or N] of a skin on one function: -hold * pull, positive where it drives it up."""
    return -skin_.holds[function] * force_at(skin_, stretch_at(skin_, positions))
