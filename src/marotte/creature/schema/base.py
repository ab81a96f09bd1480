"""Records: what every section of the schema is made of, and what knows where each of its fields was written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal, Self, TypeAlias

from pydantic import (
    BaseModel,
    ConfigDict,
    ModelWrapValidatorHandler,
    PrivateAttr,
    StringConstraints,
    ValidationInfo,
    model_validator,
)

from marotte.basis.digest import digest
from marotte.basis.given import Ref
from marotte.creature.origin import Block, Row, origin_of
from marotte.creature.schema.quantities import Ledger

Word: TypeAlias = Annotated[str, StringConstraints(min_length=1, max_length=200)]
Name: TypeAlias = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]{0,59}$")]
CarriedBy: TypeAlias = Literal["hand", "skull", "shoulders", "post", "rod"]


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

    def path_of(self, field: str) -> Ref:
        """Return the ref at which a field stands, or would stand where it is not written."""
        block = self._refs.get("")
        return self._refs.get(field) or (f"{block}/{field}" if block else self.ref(field))

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


@dataclass(frozen=True, slots=True)
class Only:
    """Some fields of a record, where what is found rests on them alone."""

    record: Record
    fields: tuple[str, ...]

    def refs(self) -> frozenset[Ref]:
        """Return the refs of those that are written."""
        found = (self.record.ref(field) for field in self.fields)
        return frozenset(ref for ref in found if not ref.startswith("default:"))

    def __digest__(self) -> bytes:
        return digest((type(self.record).__name__, *(getattr(self.record, field) for field in self.fields)))


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
