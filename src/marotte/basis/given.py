"""Where a number came from: its source, its spread, its place in the file.

The ledger of these stands beside the model (``creature.given[ref]``); the numbers inside the model are plain floats.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias, get_args

Ref: TypeAlias = str
"""A JSON Pointer (RFC 6901) into the file as written, ``/functions/lid_upper/mech/horn``, or into the stock,
``stock:servos/micro/mass``, or a default of ours, ``default:functions/neutral``."""

Source: TypeAlias = Literal["measured", "datasheet", "typical", "guess"]
SOURCES: Final[tuple[Source, ...]] = get_args(Source)
"""From the surest to the least sure."""

DEFAULT_SPREAD: Final[dict[Source, float]] = {"measured": 0.02, "datasheet": 0.10, "typical": 0.25, "guess": 0.50}
"""Half-width that holds 19 pieces of 20, as a share of the value, where the file gives none. A rule of this project."""


def less_sure(*sources: Source) -> Source:
    """Return the least sure of some sources; none at all counts as measured."""
    return max(sources, key=SOURCES.index, default="measured")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place in a written file; line and column count from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """One written quantity."""

    value: float
    """In SI."""
    unit: str
    """The SI unit of ``value``: "m", "rad", "N*m", "1"."""
    written: str
    """As the file has it, ``14 mm ± 0.5 mm``."""
    source: Source
    spread: float | None
    """95 % half-width in SI where the file gives one; None: it follows from the source."""
    place: Place
    ref: Ref
    note: str = ""
    said: bool = True
    """Whether the file names the source; else a decision of the maker counts as measured and a property as a guess."""

    @property
    def half_width(self) -> float:
        """The 95 % half-width in SI, from the file or else from the source."""
        return abs(self.value) * DEFAULT_SPREAD[self.source] if self.spread is None else self.spread

    @property
    def spread_written(self) -> bool:
        """Whether the file gives the spread itself."""
        return self.spread is not None
