"""Quantities and knobs: fields of the schema that are numbers with a unit.

A quantity field is ``Annotated[float, q(LENGTH, "r", "horn, from axle to ball", gt=0)]``: the annotation reads the written
text, checks bounds, and puts a ``Given`` into the ledger that the validation context carries. A plain float without an
origin (made in code, not written) is taken as SI.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final, TypeAlias

from pydantic import BaseModel, GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from marotte.basis.given import SOURCES, Given, Ref
from marotte.basis.units import (
    ANGLE,
    AREA,
    ARM,
    FREQUENCY,
    HOURS,
    LENGTH,
    NUMBER,
    RATIO,
    TEMPERATURE,
    TIME,
    VOLTAGE,
    Kind,
    UnitError,
    number_text,
    parse,
)
from marotte.creature.origin import Origin, origin_of

DECISIONS: Final = frozenset((LENGTH, ANGLE, VOLTAGE, RATIO, NUMBER, TIME, FREQUENCY, AREA, ARM, TEMPERATURE, HOURS))
"""Kinds whose unsaid numbers are taken as drawn or decided, not as guessed."""


class Ledger:
    """Collects the quantities of one validation: ref -> Given."""

    def __init__(self) -> None:
        self.given: dict[Ref, Given] = {}
        self.log: list[Given] = []
        """Everything that was put in, in order."""

    def add(self, given: Given) -> None:
        """Put a quantity in; the same ref (both sides of a pair) is put in once."""
        self.given.setdefault(given.ref, given)
        self.log.append(given)


@dataclass(frozen=True, slots=True, kw_only=True)
class Knob:
    """How a field may be turned by a remedy."""

    low: float
    """Least factor on the written value."""
    high: float
    """Largest factor."""
    step: float
    """Step of what can be made or set [SI]."""
    cost: float
    """How dear it is to do and undo; 0 is free (a re-clocked spline), 10 is a new sculpture."""
    ladder: str = ""
    """For a choice instead of a number: the name of the ladder of stock that it climbs."""


@dataclass(frozen=True, slots=True)
class Q:
    """Reads one quantity. ``kinds`` are tried in order; bounds are in SI, gt/lt are strict."""

    kinds: tuple[Kind, ...]
    symbol: str
    says: str
    gt: float | None = None
    ge: float | None = None
    le: float | None = None
    lt: float | None = None
    knob: Knob | None = None
    chosen: bool | None = None
    """Whether the number is the maker's own decision (a length as drawn, a limit), not a property that could be otherwise.
    None: by the kind of quantity. A decision without a source counts as measured, a property without one as a guess."""

    def __get_pydantic_core_schema__(self, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_before_validator_function(self.read, handler(source))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"x-quantity": [kind.name for kind in self.kinds], "description": self.says}

    def read(self, written: object, info: ValidationInfo) -> float:
        """Return the SI value of a written quantity, and note it in the ledger."""
        ledger = info.context if isinstance(info.context, Ledger) else None
        if isinstance(written, float) and origin_of(written) is None:
            return written  # made in code: SI already
        if isinstance(written, Mapping):
            return self._read_block(written, ledger)
        if isinstance(written, (list, tuple)):
            raise PydanticCustomError(
                "wrong_kind", "a list was written where one {kind} is wanted", {"kind": self.kinds[0].name}
            )
        kind, value, spread = self._parse(written)
        self._note(ledger, kind, value, spread, written, origin_of(written), "")
        return value

    def _parse(self, written: object) -> tuple[Kind, float, float | None]:
        if written is None:
            raise PydanticCustomError("missing", "nothing is written here", {})
        try:
            kind, parsed = parse(written, *self.kinds)
        except UnitError as error:
            context = {"what": error.what, "allowed": error.allowed, "try_": error.try_}
            raise PydanticCustomError(error.code, "{what}", context) from None
        self._check(kind, parsed.value, written)
        return kind, parsed.value, parsed.spread

    def _check(self, kind: Kind, value: float, written: object) -> None:
        if (
            (self.gt is not None and value <= self.gt)
            or (self.ge is not None and value < self.ge)
            or (self.le is not None and value > self.le)
            or (self.lt is not None and value >= self.lt)
        ):
            allowed = self.bounds_text(kind)
            bare = kind is RATIO and abs(value) > 1.0 and isinstance(written, (int, float))  # 50 for 50 %
            try_ = f"{written} %" if bare else ""
            raise PydanticCustomError("bounds", "outside what this field allows", {"allowed": allowed, "try_": try_})

    def bounds_text(self, kind: Kind | None = None) -> str:
        """Return the bounds as people read them: ``above 0 mm, at most 500 mm``; empty without bounds."""
        kind = kind or self.kinds[0]
        factor = kind.spellings.get(kind.shown, 1.0) or 1.0
        parts = [
            f"{word} {number_text(bound / factor, 4)} {kind.shown}".strip()
            for word, bound in (("above", self.gt), ("at least", self.ge), ("at most", self.le), ("below", self.lt))
            if bound is not None
        ]
        return ", ".join(parts)

    def _read_block(self, written: Mapping[str, Any], ledger: Ledger | None) -> float:
        unknown = sorted(set(written) - {"value", "source", "spread", "from", "note"})
        if unknown:
            raise PydanticCustomError(
                "unknown_key",
                "{key} is not part of a quantity",
                {"key": unknown[0], "allowed": "value, source, spread, from, note"},
            )
        if "value" not in written:
            raise PydanticCustomError(
                "missing", "a quantity written as a block needs value", {"try_": "value: 10 " + self.kinds[0].shown}
            )
        kind, value, spread = self._parse(written["value"])
        if "spread" in written:
            spread = self._spread(kind, value, written["spread"])
        origin = origin_of(written) or origin_of(written["value"])
        source = written.get("source")
        if source is not None and source not in SOURCES:
            raise PydanticCustomError(
                "choice", "{found} is not a source", {"found": str(source), "allowed": ", ".join(SOURCES)}
            )
        if origin is not None and source is not None:
            origin = Origin(ref=origin.ref, place=origin.place, source=source)
        note = "; ".join(str(written[key]) for key in ("from", "note") if written.get(key))
        self._note(ledger, kind, value, spread, written["value"], origin, note)
        return value

    def _spread(self, kind: Kind, value: float, written: object) -> float:
        try:
            found, parsed = parse(written, RATIO, kind) if str(written).strip().endswith("%") else parse(written, kind)
        except UnitError as error:
            raise PydanticCustomError(error.code, "{what}", {"what": error.what, "allowed": error.allowed}) from None
        width = abs(value) * parsed.value if found is RATIO and kind is not RATIO else parsed.value
        if width < 0:
            raise PydanticCustomError("bounds", "a spread is below zero", {"allowed": "zero or more"})
        return width

    def _note(
        self,
        ledger: Ledger | None,
        kind: Kind,
        value: float,
        spread: float | None,
        written: object,
        origin: Origin | None,
        note: str,
    ) -> None:
        if ledger is None or origin is None:
            return
        chosen = kind in DECISIONS if self.chosen is None else self.chosen
        source = origin.source or ("measured" if chosen else "guess")
        ledger.add(
            Given(
                value=value, unit=kind.si, written=str(written), source=source, spread=spread,
                place=origin.place, ref=origin.ref, note=note, said=origin.source is not None,
            )
        )  # fmt: skip


def q(
    kind: Kind | tuple[Kind, ...], symbol: str, says: str, *, gt: float | None = None, ge: float | None = None,
    le: float | None = None, lt: float | None = None, knob: Knob | None = None, chosen: bool | None = None,
) -> Q:  # fmt: skip
    """Return the annotation of a quantity: its kind or kinds, its symbol in workings, what it is, its bounds in SI."""
    return Q(kind if isinstance(kind, tuple) else (kind,), symbol, says, gt, ge, le, lt, knob, chosen)


Position: TypeAlias = Annotated[
    float, q((ANGLE, LENGTH), "q", "a position of a function, as its travel is written", ge=-7.0, le=7.0)
]
Share: TypeAlias = Annotated[float, q(RATIO, "s", "a share", ge=-4.0, le=4.0)]
Part: TypeAlias = Annotated[float, q(RATIO, "s", "a share from nothing to all", ge=0.0, le=1.0)]
Coordinate: TypeAlias = Annotated[float, q(LENGTH, "x", "a coordinate", ge=-100.0, le=100.0)]
Point: TypeAlias = tuple[Coordinate, Coordinate, Coordinate]
Component: TypeAlias = Annotated[float, q(NUMBER, "u", "a component of a direction", ge=-1e6, le=1e6)]
Direction: TypeAlias = tuple[Component, Component, Component]


def quantity(record: type[BaseModel], field: str) -> Q | None:
    """Return the annotation of a quantity field, or None where the field is not one (or a list or table of them)."""
    info = record.model_fields.get(field)
    if info is None:
        return None
    return next((item for item in info.metadata if isinstance(item, Q)), None) or _inner(info.annotation)


def _inner(annotation: object) -> Q | None:
    for item in getattr(annotation, "__metadata__", ()):
        if isinstance(item, Q):
            return item
    for argument in getattr(annotation, "__args__", ()):
        found = _inner(argument)
        if found is not None:
            return found
    return None
