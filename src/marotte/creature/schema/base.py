"""Records, quantities and knobs: what every section of the schema is made of.

A quantity field is ``Annotated[float, q(LENGTH, "r", "horn, from axle to ball", gt=0)]``: the annotation reads the written
text, checks bounds, and puts a ``Given`` into the ledger that the validation context carries. A plain float without an
origin (made in code, not written) is taken as SI.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Final, Literal, Self, TypeAlias

from pydantic import (
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ModelWrapValidatorHandler,
    PrivateAttr,
    StringConstraints,
    ValidationInfo,
    model_validator,
)
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from marotte.basis.digest import digest
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
from marotte.creature.origin import Block, Origin, Row, origin_of

DECISIONS: Final = frozenset((LENGTH, ANGLE, VOLTAGE, RATIO, NUMBER, TIME, FREQUENCY, AREA, ARM, TEMPERATURE, HOURS))
"""Kinds whose unsaid numbers are taken as drawn or decided, not as guessed."""
Word: TypeAlias = Annotated[str, StringConstraints(min_length=1, max_length=200)]
Name: TypeAlias = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]{0,59}$")]
CarriedBy: TypeAlias = Literal["hand", "skull", "shoulders", "post", "rod"]


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


class Record(BaseModel):
    """One block of the file: frozen, in SI, no unknown keys. It knows the ref of each of its fields."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=False, use_attribute_docstrings=True)
    _refs: dict[str, Ref] = PrivateAttr(default_factory=dict)
    _digest: bytes = PrivateAttr(default=b"")
    _below: frozenset[Ref] | None = PrivateAttr(default=None)
    pairable: ClassVar[bool] = False
    """Whether the written form takes ``sides``, ``left`` and ``right``."""

    @model_validator(mode="wrap")
    @classmethod
    def _keep_refs(cls, data: Any, handler: ModelWrapValidatorHandler[Any], info: ValidationInfo) -> Any:
        """Validate a block once: it keeps its record, and what that put into the ledger."""
        if not isinstance(data, Block):
            return handler(data)
        ledger = info.context if isinstance(info.context, Ledger) else None
        if data.made and ledger is not None and type(data.made[0]) is cls:
            for given in data.made[1]:
                ledger.add(given)
            return data.made[0]
        start = len(ledger.log) if ledger is not None else 0
        made = handler(data)
        if isinstance(made, Record):
            made._refs.update(_refs_of(data))
            if ledger is not None:
                data.made[:] = (made, tuple(ledger.log[start:]))
        return made

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """Return a copy with some fields changed; its digest is its own."""
        made = super().model_copy(update=update, deep=deep)
        made._digest, made._below = b"", None
        return made

    def __eq__(self, other: object) -> bool:
        """Records are equal that hold equal values from the same places; what was worked out of them meanwhile is no part of that."""
        if self is other:
            return True
        if type(self) is not type(other) or not isinstance(other, Record):
            return False
        return self.__dict__ == other.__dict__ and self._refs == other._refs

    def ref(self, field: str, item: int | str | None = None) -> Ref:
        """Return the ref of a field (or of one item of it); of the default where it was not written."""
        name = field if item is None else f"{field}/{item}"
        return self._refs.get(name) or self._refs.get(field) or f"default:{type(self).__name__}/{field}"

    def refs(self) -> frozenset[Ref]:
        """Return the refs of everything written in this block and below."""
        if self._below is None:
            found: set[Ref] = {ref for name, ref in self._refs.items() if name}
            for name in type(self).model_fields:
                _collect_refs(getattr(self, name), found)
            self._below = frozenset(found)
        return self._below

    def __digest__(self) -> bytes:
        own = self.__pydantic_private__  # the library's own way to a private attribute takes ten times as long
        found: bytes = own["_digest"] if own is not None else b""
        if not found:
            kind = type(self)
            self._digest = found = digest((kind.__name__, *(getattr(self, name) for name in kind.model_fields)))
        return found


def _collect_refs(value: object, found: set[Ref]) -> None:
    if isinstance(value, Record):
        found.update(value.refs())
    elif isinstance(value, Mapping):
        for item in value.values():
            _collect_refs(item, found)
    elif isinstance(value, (tuple, list)):
        for item in value:
            _collect_refs(item, found)


def _refs_of(block: Block) -> dict[str, Ref]:
    """Return field -> ref for the scalars and short lists of a block; a quantity written as a block counts as a scalar."""
    refs: dict[str, Ref] = {"": block.origin.ref}
    for name, value in block.items():
        origin = origin_of(value) or block.keys_at.get(name)
        if origin is None:
            continue
        if isinstance(value, Block):
            if "value" in value:
                refs[name] = origin.ref
            else:  # a mapping of name -> quantity
                refs.update(
                    {
                        f"{name}/{key}": o.ref
                        for key, item in value.items()
                        if (o := origin_of(item)) and not _is_record(item)
                    }
                )
        elif isinstance(value, Row):
            refs[name] = origin.ref
            refs.update(
                {
                    f"{name}/{i}": o.ref
                    for i, item in enumerate(value)
                    if (o := origin_of(item)) and not _is_record(item)
                }
            )
        else:
            refs[name] = origin.ref
    return refs


def _is_record(value: object) -> bool:
    return isinstance(value, Block) and "value" not in value


def quantity(record: type[Record], field: str) -> Q | None:
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
