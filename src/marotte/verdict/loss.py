"""Loss of link: where every function goes when the signal stops, how fast, and what falls (docs/methods/jumps.md)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Told
from marotte.basis.units import number_text, show
from marotte.creature.anatomy import PARTS
from marotte.creature.naming import named
from marotte.creature.schema.means import Servo
from marotte.verdict.graph_jumps import written
from marotte.verdict.upset_words import swings

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

FELL: Final = 0.05
"""A share of the travel under which a part counts as staying where it is (a rule of this project)."""
FAST_M_S: Final = 0.5
"""A swing from which a person near it wants to know [m/s] (a rule of this project)."""


def loss_of_link(creature: Creature, results: Results) -> Iterator[Told]:
    """Yield what servos do when the link is lost, and what their parts do when the power goes.

    Nothing where there are no servos, or no supply is written.
    """
    supply = creature.supply
    if supply is None or not any(isinstance(means, Servo) for means in creature.means.values()):
        return
    link = supply.link
    head = "link lost" if link.kind == "radio" else "signal lost (a plug out, a wire broken)"
    if link.on_loss == "hold":
        text = f"{head}: every servo holds where it is, at whatever it is pressing on"
    else:
        text = f"{head}: every servo {_places(creature, link.on_loss)}{_fast(creature, results)}"
    yield Told(code="link.loss", sentence=text, ref=link.ref("on_loss"))
    fallen = _fallen(creature, results)
    if fallen:
        yield Told(code="power.cut", sentence=f"power cut in the part: {fallen}", ref=link.ref("on_loss"))
    yield from _otherwise(creature, results)


def _places(creature: Creature, on_loss: str) -> str:
    """Return where every function is meant to go, group by group."""
    groups: dict[str, dict[str, str]] = {}
    at_zero: set[str] = set()
    for mech in creature.mechs.values():
        if not any(isinstance(creature.means[name], Servo) for name in mech.inputs):
            continue
        for name in mech.outputs:
            function, part = creature.functions[name], PARTS[creature.functions[name].part]
            place = function.neutral if on_loss == "neutral" else function.power_off
            plain = _pair(name)
            if place == 0.0:
                at_zero.add(plain)
                continue
            groups.setdefault(part.group, {})[plain] = show(place, "rad" if part.kind == "turn" else "m")
    said = "; ".join(
        f"{group} ({', '.join(f'{name} {place}' for name, place in places.items())})"
        for group, places in groups.items()
    )
    rest = "what else it moves" if groups else "all that it moves"
    zero = f"{rest} to 0: {', '.join(sorted(at_zero))}" if at_zero else ""
    where = "goes to neutral" if on_loss == "neutral" else "loses power, as written"
    return f"{where}: {'; '.join(part for part in (said, zero) if part)}"


def _fast(creature: Creature, results: Results) -> str:
    """Return how hard the hardest parts swing when the link is lost at their farthest."""
    found = [swing for swing in swings(creature, results, results.upsets.lost) if swing.speed_m_s > FAST_M_S]
    seen: dict[str, str] = {}
    for swing in found:
        pair = _pair(swing.function)
        there = f"{pair} {number_text(swing.speed_m_s, 2)} m/s, there in {show(swing.way.arrives_s, 's', 2)}"
        seen.setdefault(pair, there)
    return f"; hardest, from their farthest: {'; '.join(list(seen.values())[:3])}" if seen else ""


def falls(creature: Creature, results: Results) -> dict[str, str]:
    """Return by function what moves by itself when the power is cut: ``jaw from 20 deg to 0 deg in 75 ms``."""
    return {
        name: f"{_pair(name)} from {show(way.start, unit, 2)} to {show(way.end, unit, 2)} in {show(way.arrives_s, 's', 2)}"
        for name, way in results.upsets.cut.items()
        for unit in (results.unit_of(name),)
        if abs(way.end - way.start) > FELL * creature.functions[name].span
    }


def _fallen(creature: Creature, results: Results) -> str:
    """Return what falls when the power is cut, and what its gears and friction hold."""
    found = falls(creature, results)
    if not found:
        return "gears and friction hold every part where it is, with the head level" if results.upsets.cut else ""
    said: dict[str, str] = {}
    for name, text in found.items():
        said.setdefault(_pair(name), text)
    rest = "; gears and friction hold the rest" if len(found) < len(results.upsets.cut) else ""
    return f"{'; '.join(said.values())} (from the farthest that is asked; head level){rest}"


def _otherwise(creature: Creature, results: Results) -> Iterator[Told]:
    """Yield where the file says that a function falls to, and the run has it elsewhere."""
    odd: dict[str, str] = {}
    for name, way in results.upsets.cut.items():
        function, unit = creature.functions[name], results.unit_of(name)
        if written(creature, name) and abs(way.end - function.power_off) > 2 * FELL * function.span:
            pair = _pair(name)
            odd.setdefault(
                pair, f"{pair} (written {show(function.power_off, unit, 2)}; cut at {show(way.start, unit, 2)} it comes to rest at "
                f"{show(way.end, unit, 2)})",
            )  # fmt: skip
    if odd:
        yield Told(
            code="power_off", sentence=f"without power some parts lie elsewhere than power_off says, unless something moves them: "
            f"{', '.join(odd.values())}; power-up is run from what is written",
        )  # fmt: skip


def _pair(name: str) -> str:
    return named(name.removesuffix("_left").removesuffix("_right"))
