"""Loss of link: where every function goes when the signal stops, how fast, and what falls (docs/methods/jumps.md)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Told
from marotte.basis.units import number_text, show
from marotte.creature.anatomy import PARTS
from marotte.creature.naming import pairs
from marotte.creature.schema.means import Servo
from marotte.verdict.graph_jumps import written
from marotte.verdict.upset_words import swings

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

FELL: Final = 0.05
"""A share of the travel under which a part counts as staying where it is (a rule of this project)."""
NAMED: Final = 3
"""So many parts are named, the worst; the others are counted."""
FAST_M_S: Final = 0.5
"""A swing from which a person near it wants to know [m/s] (a rule of this project)."""


def loss_of_link(creature: Creature, results: Results) -> Iterator[Told]:
    """Yield what servos do when the link is lost, and what their parts do when the power goes: the worst, with all as more.

    Nothing where there are no servos, or no supply is written.
    """
    supply = creature.supply
    if supply is None or not any(isinstance(means, Servo) for means in creature.means.values()):
        return
    link = supply.link
    head = "link lost" if link.kind == "radio" else "signal lost (a plug out, a wire broken)"
    if link.on_loss == "hold":
        yield Told(
            code="link.loss", sentence=f"{head}: every servo holds where it is, at whatever it is pressing on",
            ref=link.ref("on_loss"),
        )  # fmt: skip
    else:
        goes = "goes to neutral" if link.on_loss == "neutral" else "loses power, as written"
        yield Told(
            code="link.loss", sentence=f"{head}: every servo {goes}{_fast(creature, results)}", ref=link.ref("on_loss"),
            more=f"{head}: every servo {goes}: {_places(creature, link.on_loss)}{_fast(creature, results, None)}",
        )  # fmt: skip
    yield from _fallen(creature, results)
    yield from _otherwise(creature, results)


def _places(creature: Creature, on_loss: str) -> str:
    """Return where every function is meant to go, group by group."""
    groups: dict[str, dict[str, str]] = {}
    at_zero: list[str] = []
    served = [
        name
        for mech in creature.mechs.values()
        if any(isinstance(creature.means[given], Servo) for given in mech.inputs)
        for name in mech.outputs
    ]
    for label, name in pairs(served).items():
        function, part = creature.functions[name], PARTS[creature.functions[name].part]
        place = function.neutral if on_loss == "neutral" else function.power_off
        if place == 0.0:
            at_zero.append(label)
        else:
            groups.setdefault(part.group, {})[label] = show(place, "rad" if part.kind == "turn" else "m")
    said = "; ".join(
        f"{group} ({', '.join(f'{label} {place}' for label, place in places.items())})"
        for group, places in groups.items()
    )
    rest = "what else it moves" if groups else "all that it moves"
    zero = f"{rest} to 0: {', '.join(at_zero)}" if at_zero else ""
    return "; ".join(part for part in (said, zero) if part)


def _fast(creature: Creature, results: Results, most: int | None = NAMED) -> str:
    """Return how hard the hardest parts swing when the link is lost at their farthest."""
    found = {one.function: one for one in swings(creature, results, results.upsets.lost) if one.speed_m_s > FAST_M_S}
    said = [
        f"{label} {number_text(found[name].speed_m_s, 2)} m/s, there in {show(found[name].way.arrives_s, 's', 2)}"
        for label, name in pairs(list(found)).items()
    ]
    return (
        f"; hardest, from their farthest: {_worst(said, most, f'are faster than {number_text(FAST_M_S)} m/s')}"
        if said
        else ""
    )


def _worst(said: Sequence[str], most: int | None, do: str) -> str:
    """Return the first few of what is said, and how many more there are."""
    few = said if most is None else said[:most]
    rest = f"; {len(said) - len(few)} more {do}" if len(few) < len(said) else ""
    return "; ".join(few) + rest


def falls(creature: Creature, results: Results, groups: Sequence[str] | None = None) -> dict[str, str]:
    """Return by name what moves by itself when the power is cut, quickest first; both of a pair at once, by its quicker side.

    ``{"the jaw": "the jaw from 20 deg to 0 deg in 75 ms"}``, of all parts or of those of some groups of the anatomy.
    """
    ways = results.upsets.cut
    quick = [swing.function for swing in swings(creature, results, ways)]
    found = [
        name
        for name in dict.fromkeys((*quick, *ways))
        if abs(ways[name].end - ways[name].start) > FELL * creature.functions[name].span
        and (groups is None or PARTS[creature.functions[name].part].group in groups)
    ]
    said: dict[str, str] = {}
    for label, name in pairs(found).items():
        way, unit = ways[name], results.unit_of(name)
        said[label] = (
            f"{label} from {show(way.start, unit, 2)} to {show(way.end, unit, 2)} in {show(way.arrives_s, 's', 2)}"
        )
    return said


def _fallen(creature: Creature, results: Results) -> Iterator[Told]:
    """Yield what falls when the power is cut, and what its gears and friction hold."""
    cut = results.upsets.cut
    if not cut:
        return
    found = list(falls(creature, results).values())
    if not found:
        yield Told(
            code="power.cut",
            sentence="power cut in the part: gears and friction hold every part where it is, with the head level",
        )
        return
    held = "; gears and friction hold the rest" if _moved(creature, results) < len(cut) else ""

    def text(most: int | None) -> str:
        return (
            f"power cut in the part: {_worst(found, most, 'move')} (from the farthest that is asked; head level){held}"
        )

    yield Told(code="power.cut", sentence=text(NAMED), more=text(None))


def _moved(creature: Creature, results: Results) -> int:
    ways = results.upsets.cut
    return sum(abs(way.end - way.start) > FELL * creature.functions[name].span for name, way in ways.items())


def _otherwise(creature: Creature, results: Results) -> Iterator[Told]:
    """Yield where the file says that a function falls to, and the run has it elsewhere; farthest off first."""
    off = {
        name: abs(way.end - creature.functions[name].power_off) / creature.functions[name].span
        for name, way in results.upsets.cut.items()
        if written(creature, name)
    }
    odd = sorted((name for name in off if off[name] > 2 * FELL), key=lambda name: (-off[name], name))
    if not odd:
        return
    brief, whole = [], []
    for label, name in pairs(odd).items():
        way, unit = results.upsets.cut[name], results.unit_of(name)
        ends, own = show(way.end, unit, 2), show(creature.functions[name].power_off, unit, 2)
        brief.append(f"{label} at {ends}, not {own}")
        whole.append(f"{label} (written {own}; cut at {show(way.start, unit, 2)} comes to rest at {ends})")
    told = "without power some parts lie elsewhere than power_off says, unless something moves them: "
    runs = "; power-up is run from what is written"
    yield Told(
        code="power_off", sentence=f"{told}{_worst(brief, NAMED, 'do')}{runs}", more=f"{told}{'; '.join(whole)}{runs}"
    )
