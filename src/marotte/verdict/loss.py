"""Loss of link: where every function goes when the signal stops, how fast, and what falls (docs/methods/jumps.md)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Told
from marotte.basis.units import number_text, show
from marotte.creature.anatomy import PARTS
from marotte.creature.naming import agrees, pairs
from marotte.creature.schema.means import Servo
from marotte.drive.jumps import Moved
from marotte.verdict.graph_jumps import written
from marotte.verdict.upset_words import swings

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

UPSETS: Final = frozenset({"link.loss", "power.cut"})
"""Codes of what is told here: computed, so not among what was assumed or guessed."""
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
    does = {
        "hold": "holds where it is, at whatever it is pressing on",
        "power_off": "loses power, and its part does what it does when the power is cut",
        "neutral": f"goes to neutral{failsafes(creature)}",
    }[link.on_loss]
    more = ""
    if link.on_loss == "neutral":
        more = f"{head}: every servo goes to neutral, or its failsafe place: {_places(creature)}{_fast(creature, results, None)}"
        does += _fast(creature, results)
    yield Told(code="link.loss", sentence=f"{head}: every servo {does}", ref=link.ref("on_loss"), more=more)
    yield from _fallen(creature, results)


def _served(creature: Creature) -> list[str]:
    """Return the functions that servos move."""
    return [
        name
        for mech in creature.mechs.values()
        if any(isinstance(creature.means[given], Servo) for given in mech.inputs)
        for name in mech.outputs
    ]


def failsafes(creature: Creature) -> str:
    """Return which functions go elsewhere than to neutral: ``, but for both upper lids (28 deg)``."""
    own = [name for name in _served(creature) if creature.functions[name].failsafe is not None]
    said = [
        f"{label} ({show(creature.functions[name].on_lost_signal, _unit(creature, name))})"
        for label, name in pairs(own).items()
    ]
    return f", but for {', '.join(said)}" if said else ""


def _unit(creature: Creature, name: str) -> str:
    return "rad" if PARTS[creature.functions[name].part].kind == "turn" else "m"


def _places(creature: Creature) -> str:
    """Return where every function goes with the power on, group by group."""
    groups: dict[str, dict[str, str]] = {}
    at_zero: list[str] = []
    for label, name in pairs(_served(creature)).items():
        function, part = creature.functions[name], PARTS[creature.functions[name].part]
        place = function.on_lost_signal
        if place == 0.0:
            at_zero.append(label)
        else:
            groups.setdefault(part.group, {})[label] = show(place, _unit(creature, name))
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


def moves(
    creature: Creature, results: Results, ways: Mapping[str, Moved], groups: Sequence[str] | None = None
) -> dict[str, str]:
    """Return by name what moves in an upset, quickest first; both of a pair at once, by its quicker side.

    ``{"the jaw": "the jaw from 20 deg to 0 deg in 75 ms"}``, of all parts or of those of some groups of the anatomy.
    """
    quick = [swing.function for swing in swings(creature, results, ways)]
    found = [
        name
        for name in dict.fromkeys((*quick, *ways))
        if _goes(creature, name, ways[name])
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
    found = list(moves(creature, results, cut).values())
    if not found:
        yield Told(
            code="power.cut",
            sentence="power cut in the part: every part that a servo moves stays where it is cut, on gears and friction, with the head "
            "level",
        )
        return
    stay = any(not _goes(creature, name, way) for name, way in cut.items())
    held = "; what else servos move stays where it is cut, on gears and friction" if stay else ""

    def text(most: int | None) -> str:
        return f"power cut in the part: {_worst(found, most, 'move')} (from the farthest that each gets to; head level){held}"

    yield Told(code="power.cut", sentence=text(NAMED), more=text(None))


def _goes(creature: Creature, name: str, way: Moved) -> bool:
    """Whether a part moves so far that it is not said to stay where it is."""
    return abs(way.end - way.start) > FELL * creature.functions[name].span


def otherwise(creature: Creature, results: Results) -> dict[str, str]:
    """Return by name what does not lie, without power, where the file says that it falls: farthest off first.

    ``{"the jaw": "the jaw comes to rest at 12 deg, not 0 deg"}``; what its gears hold is said to stay where it is cut.
    """
    cut = results.upsets.cut
    off = {
        name: abs(way.end - creature.functions[name].power_off) / creature.functions[name].span
        for name, way in cut.items()
        if written(creature, name)
    }
    odd = sorted((name for name in off if off[name] > 2 * FELL), key=lambda name: (-off[name], name))
    said: dict[str, str] = {}
    for label, name in pairs(odd).items():
        unit, way = results.unit_of(name), cut[name]
        ends, own = show(way.end, unit, 2), show(creature.functions[name].power_off, unit, 2)
        if _goes(creature, name, way):
            said[label] = f"{label} {_agrees(label, 'comes', 'come')} to rest at {ends}, not {own}"
        else:
            does = _agrees(label, "stays where it is", "stay where they are")
            said[label] = f"{label} {does} cut, in the part at up to {ends}, and not at {own}"
    return said


def _agrees(label: str, one: str, many: str) -> str:
    return many if label.startswith("both ") else agrees(label.removeprefix("the "), one, many)
