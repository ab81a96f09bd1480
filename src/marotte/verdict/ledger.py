"""The part of a creature's ledger that a finding rests on, found by walking what was gathered for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cache, cached_property

from marotte.basis.digest import digest
from marotte.basis.given import Given, Ref
from marotte.creature.schema.base import Only, Record


class Ledger:
    """The part of the ledger that some records rest on; its digest leaves out where in the file a number stands."""

    def __init__(self, given: Mapping[Ref, Given], parts: tuple[frozenset[Ref], ...], content: bytes) -> None:
        self._whole = given
        self._parts = parts
        self._content = content

    def __digest__(self) -> bytes:
        return self._content

    @cached_property
    def refs(self) -> frozenset[Ref]:
        """Every ref of the records."""
        return frozenset().union(*self._parts)

    @cached_property
    def given(self) -> dict[Ref, Given]:
        """Their quantities."""
        return {ref: self._whole[ref] for ref in sorted(self.refs) if ref in self._whole}


class Ledgers:
    """Hands out ledgers for what requirements gather; each record is walked once, and again where its numbers changed."""

    def __init__(self, given: Mapping[Ref, Given], before: dict[int, Walked] | None = None) -> None:
        self.given = given
        self.seen: dict[int, Walked] = {}
        """By identity, in this check."""
        self._before = before or {}

    def of(self, gathered: object) -> Ledger:
        """Return the ledger of every record in what was gathered."""
        return self.part(self.records(gathered))

    def records(self, gathered: object) -> tuple[Walked, ...]:
        """Return every record in what was gathered, with its part of the ledger."""
        return tuple([self.walked(record) for record in records_in(gathered)])

    def part(self, found: tuple[Walked, ...]) -> Ledger:
        """Return the ledger of some records."""
        return Ledger(self.given, tuple(one.refs for one in found), b"".join(one.mark for one in found))

    def walked(self, record: Record | Only) -> Walked:
        """Return the refs of a record with the digest of their quantities."""
        found = self.seen.get(id(record))
        if found is None:
            old = self._before.get(id(record))
            now = old.numbers(self.given) if old is not None and old.record is record else None
            found = old if old is not None and now == old.given else self._walk(record)
            self.seen[id(record)] = found
        return found

    def _walk(self, record: Record | Only) -> Walked:
        refs = record.refs()
        there = sorted(ref for ref in refs if ref in self.given)
        given = tuple(self.given[ref] for ref in there)
        lines = [f"{ref}|{g.source}|{g.value!r}|{g.spread!r}" for ref, g in zip(there, given, strict=True)]
        return Walked(record, refs, tuple(there), given, digest("\n".join(lines)))


@dataclass(frozen=True, slots=True)
class Walked:
    """A record with the part of the ledger that it rests on."""

    record: Record | Only
    refs: frozenset[Ref]
    there: tuple[Ref, ...]
    """Those of the refs that hold a quantity."""
    given: tuple[Given, ...]
    mark: bytes

    def numbers(self, given: Mapping[Ref, Given]) -> tuple[Given | None, ...]:
        """Return what a ledger holds at the refs where this one held a quantity."""
        return tuple(map(given.get, self.there))


def records_in(thing: object) -> Iterator[Record | Only]:
    """Yield the records that something gathered holds, outermost only, in order."""
    if isinstance(thing, (Record, Only)):
        yield thing
    elif isinstance(thing, (float, str, int)) or thing is None:
        return
    elif isinstance(thing, (tuple, list)):
        for item in thing:
            yield from records_in(item)
    elif isinstance(thing, Mapping):
        for item in thing.values():
            yield from records_in(item)
    elif is_dataclass(thing) and not isinstance(thing, type):
        for name in _names(type(thing)):
            yield from records_in(getattr(thing, name))


@cache
def _names(kind: type) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind))
