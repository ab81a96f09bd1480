"""Which cells a creature has: the only place where results are handed from one engine to another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from marotte.basis.contracts.common import Bool, Told, Unknown
from marotte.basis.contracts.drive import Response
from marotte.basis.contracts.fit import MassSheet
from marotte.basis.contracts.mech import Mechs, Transmission
from marotte.basis.contracts.script import Demand
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature, Mechanism
from marotte.drive.model import DriveModel
from marotte.verdict import METHODS as OWN
from marotte.verdict.asked import Point
from marotte.verdict.cells import Cache
from marotte.verdict.graph_drive import driven, operating, responses
from marotte.verdict.graph_fit import masses
from marotte.verdict.graph_mech import mechanics
from marotte.verdict.graph_script import demanded
from marotte.verdict.hits import came_off


@dataclass(frozen=True, slots=True, kw_only=True)
class Results:
    """What the engines found about one creature."""

    creature: Creature
    demand: Demand | Unknown
    mechs: Mechs
    model: DriveModel
    response: Response | Unknown
    met: Bool | Unknown
    """(hits,) whether each hit comes off in what is reached."""
    asked_met: Bool | Unknown
    """(hits,) whether it would come off if everything followed exactly."""
    worst: Mapping[str, tuple[Point, ...] | Unknown]
    """By mechanism that servos move: its scarcest instant, one an input."""
    held: Mapping[str, tuple[tuple[Point, ...], ...] | Unknown]
    """By mechanism: what holding still takes, (poses, inputs); poses as in ``poses``."""
    poses: Mapping[str, tuple[str, ...]]
    """By mechanism: the names of the poses that are held."""
    reach: Mapping[str, tuple[float, float]]
    """By mechanism with one servo input: how far its first output can be held, down and up, with what the servo has."""
    masses: MassSheet
    """What each carrier bears."""
    told: tuple[Told, ...]

    def tick_of(self, sample: int) -> int:
        """Return the tick of a sample of the asked motion; 0 where it belongs to no part."""
        if isinstance(self.demand, Unknown) or sample < 0:
            return 0
        return self.demand.motion.start + sample * self.demand.motion.every

    def mech_of(self, function: str) -> Mechanism:
        """Return the mechanism that moves a function.

        Raises:
            KeyError: nothing moves it.
        """
        for mech in self.creature.mechs.values():
            if function in mech.outputs:
                return mech
        raise KeyError(function)

    def transmission_of(self, function: str) -> Transmission | Unknown:
        """Return the transmission of the mechanism that moves a function."""
        return self.mechs.transmissions[self.mech_of(function).name]

    def unit_of(self, function: str) -> str:
        """Return the SI unit of a function's position."""
        return "rad" if PARTS[self.creature.functions[function].part].kind == "turn" else "m"


def results_of(creature: Creature, cache: Cache) -> Results:
    """Return every result of a creature, from the cache where what it reads is as it was."""
    demand, told_of_script = demanded(creature, cache)
    mechs = mechanics(creature, cache)
    model = driven(creature, mechs)
    response = responses(demand, model, cache)
    worst, held, poses, reach = operating(creature, demand, mechs, model, cache)
    met: Bool | Unknown
    if isinstance(demand, Unknown):
        met = demand
    elif isinstance(response, Unknown):
        met = response
    else:
        met = came_off(response.reached, demand.value.hits)
    asked_met = (
        demand
        if isinstance(demand, Unknown)
        else cache.cell("verdict/hits", OWN["verdict/hits"], _asked_met, demand).value
    )
    asked = demand if isinstance(demand, Unknown) else demand.value
    sheet = masses(creature, cache)
    told = (
        *told_of_script,
        *(() if isinstance(asked, Unknown) else asked.told),
        *(note for item in mechs.transmissions.values() if isinstance(item, Transmission) for note in item.told),
        *(model.told if isinstance(response, Unknown) else response.told),
        *sheet.told,
    )
    return Results(
        creature=creature, demand=asked, mechs=mechs, model=model, response=response, met=met, asked_met=asked_met, worst=worst, held=held,
        poses=poses, reach=reach, masses=sheet, told=tuple(dict.fromkeys(told)),
    )  # fmt: skip


def _asked_met(demand: Demand) -> Bool:
    out = came_off(demand.motion, demand.hits)
    out.flags.writeable = False
    return out


def methods() -> dict[str, int]:
    """Return every method with its number."""
    from marotte import drive, mech, script, verdict

    return dict(sorted({**script.METHODS, **mech.METHODS, **drive.METHODS, **verdict.METHODS}.items()))
