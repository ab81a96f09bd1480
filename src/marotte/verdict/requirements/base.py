"""What a requirement is: one record in the registry, made of pure functions of what it names.

``gather`` takes from the creature and the results the few things that a requirement reads; ``find``, ``work`` and ``say``
see nothing else, so that what is gathered is also the key under which the finding is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.given import Ref
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.workings import AGREES, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

A = TypeVar("A")


@dataclass(frozen=True, slots=True, kw_only=True)
class NotClaimed:
    """This creature does not claim what the requirement asks about."""

    why: str
    has: Quantity | None = None
    """What can be said all the same."""
    shown: Any = None
    """What the requirement's ``work`` makes a working of, although nothing is asked; its number is ``has``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What a requirement found before it is graded."""

    needed: Quantity
    has: Quantity | Unknown
    at: int | None = None
    """The tick at which it is worst."""
    passed: bool | None = None
    """Of a yes-or-no requirement."""
    agrees: float = AGREES
    """How closely the working must meet the engine; more than 1e-6 where the engine reads between places of a table. The
    finding then carries the working's number."""
    performs: float | None = None
    """The margin from which it performs, where that hangs on what was found; else the requirement's own."""
    rests_on: frozenset[Ref] = frozenset()
    """What it read through engines' results, beside the records that were gathered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A finding in words."""

    sentence: str
    clause: str
    """Its clause in the standing line, without a subject's name repeated and without a full stop."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement(Generic[A]):
    """One requirement of the registry. Its findings are called ``about.name``."""

    name: str
    number: int
    """Raise it when the way of finding changes."""
    asks: str
    """What is asked, in a sentence for the reference page."""
    unit: str
    rule: Rule
    thresholds: Thresholds
    method: str
    """Page in docs/methods."""
    subjects: Callable[[Creature], Iterable[str]]
    gather: Callable[[Creature, Results, str], A | Unknown | NotClaimed]
    find: Callable[[A], Found]
    work: Callable[[Writer, A, Found], None] | None
    """Writes the working; None for counts that open on a list of faults instead."""
    say: Callable[[A, Found, Grade], Said]
    weight: float = 1.0
    """How much an equal shortfall counts in the order of the standing line."""
    local: bool = False
    """Whether it looks at one mechanism alone, and at no simulation: then remedies can be screened on that mechanism."""
    example: str = "jaw"
    """A subject for the reference page."""
    name_first: bool = False
    """Whether its findings are called ``mass.skull`` and not ``jaw.drive``."""

    def thresholds_of(self, found: Found) -> Thresholds:
        """Return the margins from which its grades hold for one finding."""
        return self.thresholds if found.performs is None else replace(self.thresholds, performs=found.performs)

    def id_of(self, about: str) -> str:
        """Return the id of its finding about a subject; of one that is about itself, its name."""
        if about == self.name:
            return about
        return f"{self.name}.{about}" if self.name_first else f"{about}.{self.name}"
