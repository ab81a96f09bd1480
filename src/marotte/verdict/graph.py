"""Which cells a creature has: the only place where results are handed from one engine to another."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from functools import cached_property
from typing import Any, TypeVar

from marotte.basis.contracts.common import Bool, Motion, Told, Unknown
from marotte.basis.contracts.drive import Response
from marotte.basis.contracts.fit import MassSheet
from marotte.basis.contracts.mech import Mechs, Transmission
from marotte.basis.contracts.script import Demand
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature, Mechanism
from marotte.drive.model import DriveModel
from marotte.verdict.cells import Cache, Cell
from marotte.verdict.graph_drive import Operating, driven, operating, responses, started
from marotte.verdict.graph_fit import Fitted, fitted, masses, proposed_places, skull_shell
from marotte.verdict.graph_jumps import Upsets, upsets
from marotte.verdict.graph_mech import mechanics
from marotte.verdict.graph_script import demanded
from marotte.verdict.graph_spent import Spent, spent
from marotte.verdict.hits import Sought, came_off_as, sought
from marotte.verdict.loss import loss_of_link
from marotte.verdict.odd import odd
from marotte.verdict.points import Point
from marotte.verdict.running import Running
from marotte.verdict.spent_words import spent_pack

T = TypeVar("T")


class Results:
    """What the engines find about one creature: each result when it is first asked for, from the cache where it can be.

    ``only`` limits the mechanisms that are looked at, and ``demand`` gives what is asked instead of the creature's own
    script: that is how a remedy is screened. A check uses neither.
    """

    def __init__(
        self,
        creature: Creature,
        cache: Cache,
        *,
        only: Collection[str] | None = None,
        demand: Cell[Demand] | Unknown | None = None,
    ) -> None:
        self.creature = creature
        self.cache = cache
        self.only = only
        self._given = demand
        self._once: dict[str, Any] = {}

    def once(self, name: str, make: Callable[[], T]) -> T:
        """Return what several requirements gather alike; it is made when the first of them asks."""
        if name not in self._once:
            self._once[name] = make()
        return self._once[name]  # type: ignore[no-any-return]

    @cached_property
    def _asked(self) -> tuple[Cell[Demand] | Unknown, tuple[Told, ...]]:
        return demanded(self.creature, self.cache) if self._given is None else (self._given, ())

    @property
    def asked(self) -> Cell[Demand] | Unknown:
        """What the script asks, with its digest."""
        return self._asked[0]

    @cached_property
    def demand(self) -> Demand | Unknown:
        """What the script asks."""
        return self.asked.value if isinstance(self.asked, Cell) else self.asked

    @cached_property
    def mechs(self) -> Mechs:
        """Every transmission, load and skin."""
        return mechanics(self.creature, self.cache, self.only)

    @cached_property
    def model(self) -> DriveModel:
        """The drive model."""
        return driven(self.creature, self.mechs, self.cache)

    @cached_property
    def _running(self) -> Running | None:
        return started(self.asked, self.model, self.cache) if isinstance(self.asked, Cell) else None

    def ahead(self) -> None:
        """Begin to run the windows, and find what needs none of them meanwhile."""
        for each in ("_running", "operating", "fitted", "masses"):
            getattr(self, each)

    @cached_property
    def answered(self) -> Cell[Response] | Unknown:
        """How the whole creature answers what is asked, with its digest."""
        return responses(self.asked, self.model, self.cache, self._running)

    @property
    def response(self) -> Response | Unknown:
        """How the whole creature answers what is asked."""
        return self.answered.value if isinstance(self.answered, Cell) else self.answered

    @cached_property
    def met(self) -> Bool | Unknown:
        """(hits,) whether each hit comes off in what is reached."""
        if not isinstance(self.asked, Cell):
            return self.asked
        if not isinstance(self.answered, Cell):
            return self.answered
        return self._came_off(self.answered.value.reached, self.asked)

    @cached_property
    def asked_met(self) -> Bool | Unknown:
        """(hits,) whether each hit would come off if everything followed exactly."""
        if not isinstance(self.asked, Cell):
            return self.asked
        return self._came_off(self.asked.value.motion, self.asked)

    def _came_off(self, motion: Motion, asked: Cell[Demand]) -> Bool:
        what = self.cache.again(_sought, asked, motion.names, motion.start, motion.every, motion.samples)
        out = came_off_as(motion, what)
        out.flags.writeable = False
        return out

    @cached_property
    def operating(self) -> Operating:
        """What is wanted of every servo's mechanism, at its scarcest and at rest."""
        return operating(self.creature, self.asked, self.mechs, self.model, self.cache)

    @property
    def worst(self) -> Mapping[str, tuple[Point, ...] | Unknown]:
        """By mechanism that servos move: its scarcest instant, one an input."""
        return self.operating.worst

    @property
    def held(self) -> Mapping[str, tuple[tuple[Point, ...], ...] | Unknown]:
        """By mechanism: what holding still takes, (poses, inputs); poses as in ``poses``."""
        return self.operating.held

    @property
    def poses(self) -> Mapping[str, tuple[str, ...]]:
        """By mechanism: the names of the poses that are held."""
        return self.operating.poses

    @property
    def reach(self) -> Mapping[str, tuple[float, float]]:
        """By mechanism with one servo input: how far its first output can be held, down and up, with what the servo has."""
        return self.operating.reach

    @cached_property
    def upsets(self) -> Upsets:
        """What happens when power comes on, and when the link is lost."""
        return upsets(self.creature, self.response, self.reach, self.model, self.cache)

    @cached_property
    def spent(self) -> Spent | None:
        """What reaches the servos at the scarcest moments of the part when the pack is at the end of its time."""
        return spent(self.creature, self.asked, self.response, self.model, self.cache)

    @cached_property
    def masses(self) -> MassSheet:
        """What each carrier bears."""
        return masses(self.creature, self.cache, proposed_places(self.fitted))

    @cached_property
    def fitted(self) -> Fitted:
        """What sits in the head, and how it comes out."""
        return fitted(self.creature, self.mechs, self.cache)

    @cached_property
    def told(self) -> tuple[Told, ...]:
        """What was assumed, guessed or could not be read, by all engines."""
        told = (
            *self._asked[1],
            *(() if isinstance(self.demand, Unknown) else self.demand.told),
            *(
                note
                for item in self.mechs.transmissions.values()
                if isinstance(item, Transmission)
                for note in item.told
            ),
            *(note for skin in self.mechs.skins for note in skin.told),
            *(self.model.told if isinstance(self.response, Unknown) else self.response.told),
            *self.masses.told,
            *self.fitted.told,
            *odd(self.creature, skull_shell(self.creature, self.cache)[0]),
            *loss_of_link(self.creature, self),
            *spent_pack(self.creature, self),
        )
        return tuple(dict.fromkeys(told))

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
        return self._movers[function]

    @cached_property
    def _movers(self) -> dict[str, Mechanism]:
        """By function; the first of two that move the same."""
        return {name: mech for mech in reversed(self.creature.mechs.values()) for name in mech.outputs}

    def transmission_of(self, function: str) -> Transmission | Unknown:
        """Return the transmission of the mechanism that moves a function."""
        return self.mechs.transmissions[self.mech_of(function).name]

    def unit_of(self, function: str) -> str:
        """Return the SI unit of a function's position."""
        return "rad" if PARTS[self.creature.functions[function].part].kind == "turn" else "m"


def _sought(asked: Cell[Demand], *rows: Any) -> Sought:
    return sought(asked.value.hits, *rows)


def methods() -> dict[str, int]:
    """Return every method with its number."""
    from marotte import drive, mech, script, verdict

    return dict(sorted({**script.METHODS, **mech.METHODS, **drive.METHODS, **verdict.METHODS}.items()))
