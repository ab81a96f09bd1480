"""The shelf: an edition of the stock as records, with the ledger of its values.

The data lie in ``stock/EDITION.toml``: TOML, because it is data of ours, not a person's file, and the standard library
reads it in 10 ms, where YAML without a compiled part takes ten times that. A value's ref is
``stock:servos/micro/mass``; the creature's own file wins over every one of them.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any, Final, TypeVar

from marotte.basis.digest import digest
from marotte.basis.faults import BadInput, Fault, nearest, short
from marotte.basis.given import Given, Place, Ref, Source
from marotte.creature.origin import Block, Origin, Row, scalar
from marotte.creature.schema.base import Record
from marotte.creature.schema.quantities import Ledger
from marotte.creature.schema.servos import ServoClass
from marotte.creature.schema.stock import (
    Ampacity,
    Backing,
    BatteryKind,
    ControlKind,
    Fabric,
    Hours,
    Joint,
    Liner,
    SkinStuff,
    Wire,
)

EDITIONS: Final = ("2026-1",)
"""From the oldest to the newest."""
LATEST: Final = EDITIONS[-1]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stock:
    """One edition. Tables are by name; ``given`` holds source and spread of every value by its ref."""

    edition: str
    servos: Mapping[str, ServoClass]
    skins: Mapping[str, SkinStuff]
    backings: Mapping[str, Backing]
    fabrics: Mapping[str, Fabric]
    wires: Mapping[str, Wire]
    liners: Mapping[str, Liner]
    joints: Mapping[str, Joint]
    batteries: Mapping[str, BatteryKind]
    controls: Mapping[str, ControlKind]
    hours: Mapping[str, Hours]
    ampacity: Mapping[int, Ampacity]
    given: Mapping[Ref, Given]
    raw_servos: Mapping[str, Block]
    """The written values of each servo class with their origins, for ``like``: lay another over it, never change it."""
    content: bytes
    """Hash of the written edition."""

    def __digest__(self) -> bytes:
        return digest((self.edition, self.content))


R = TypeVar("R", bound=Record)


@cache
def shelf(edition: str) -> Stock:
    """Return an edition of the stock.

    Raises:
        BadInput: there is no such edition.
    """
    if edition not in EDITIONS:
        what = f"there is no stock edition {short(edition)}"
        if edition > LATEST:
            what += f"; the newest that this release knows is {LATEST}"
        fault = Fault(
            code="version",
            what=what,
            path="/stock",
            allowed=", ".join(EDITIONS),
            try_=nearest(edition, EDITIONS) or LATEST,
        )
        raise BadInput([fault])
    text = (resources.files("marotte.creature") / "stock" / f"{edition}.toml").read_text(encoding="utf-8")
    dresser = _Dresser(f"stock {edition}", text)
    raw = tomllib.loads(text)
    tables = {name: dresser.table(name, raw[name], raw) for name in raw if isinstance(raw[name], dict)}
    ledger = Ledger()

    def records(name: str, kind: type[R]) -> Mapping[str, R]:
        return MappingProxyType(
            {key: kind.model_validate(block, context=ledger) for key, block in tables[name].items()}
        )

    rows = [Ampacity.model_validate(row, context=ledger) for row in tables["ampacity"]["rows"]]
    return Stock(
        edition=edition,
        servos=records("servos", ServoClass),
        skins=records("skins", SkinStuff),
        backings=records("backings", Backing),
        fabrics=records("fabrics", Fabric),
        wires=records("wires", Wire),
        liners=records("liners", Liner),
        joints=records("joints", Joint),
        batteries=records("batteries", BatteryKind),
        controls=records("controls", ControlKind),
        hours=records("hours", Hours),
        ampacity=MappingProxyType({row.awg: row for row in rows}),
        given=MappingProxyType(ledger.given),
        raw_servos=MappingProxyType(dict(tables["servos"])),
        content=digest(text),
    )


_QUANTITY: Final = re.compile(r"[-+]?\.?\d")
_OF_CLASS: Final = "not from there: typical of the class, from memory"
_ABOUT_VALUES: Final = ("source", "spread", "from")


@dataclass(frozen=True, slots=True)
class _Told:
    """What holds for the values of a block that do not say otherwise."""

    source: Source
    spread: str | None
    from_: str

    def under(self, block: Mapping[str, Any]) -> _Told:
        own = "source" in block and block["source"] != self.source
        return _Told(
            block.get("source", self.source),
            block.get("spread", None if own else self.spread),
            block.get("from", _OF_CLASS if own else self.from_),
        )


class _Dresser:
    """Gives every value of a TOML table its ref, its line, its source and its spread."""

    def __init__(self, file: str, text: str) -> None:
        self.file = file
        self.lines = dict(_lines(text))

    def table(self, name: str, rows: dict[str, Any], top: Mapping[str, Any]) -> Block:
        told = _Told(top["source"], None, top["from"])
        return self._block(rows, (name,), told)

    def _origin(self, path: tuple[str, ...], source: Source) -> Origin:
        line = next((self.lines[path[:n]] for n in range(len(path), 0, -1) if path[:n] in self.lines), 1)
        return Origin(ref="stock:" + "/".join(path), place=Place(file=self.file, line=line, column=1), source=source)

    def _block(self, raw: dict[str, Any], path: tuple[str, ...], told: _Told) -> Block:
        told = told.under(raw)
        block = Block(self._origin(path, told.source))
        for key, value in raw.items():
            if key not in _ABOUT_VALUES:
                block[key] = self._value(value, (*path, key), told)
                block.keys_at[key] = self._origin((*path, key), told.source)
        return block

    def _value(self, raw: Any, path: tuple[str, ...], told: _Told) -> Any:
        if isinstance(raw, dict):
            return (
                self._quantity(raw["value"], path, told.under(raw)) if "value" in raw else self._block(raw, path, told)
            )
        if isinstance(raw, list):
            items = [self._value(item, (*path, str(i)), told) for i, item in enumerate(raw)]
            return Row(self._origin(path, told.source), items)
        if isinstance(raw, str) and path[-1] != "about" and _QUANTITY.match(raw):
            return self._quantity(raw, path, told)
        return scalar(raw, self._origin(path, told.source))

    def _quantity(self, written: str, path: tuple[str, ...], told: _Told) -> Block:
        origin = self._origin(path, told.source)
        items: dict[str, Any] = {"value": scalar(written, origin), "from": told.from_}
        if told.spread is not None:
            items["spread"] = told.spread
        return Block(origin, items)


def _lines(text: str) -> Iterator[tuple[tuple[str, ...], int]]:
    """Yield the line of each table and of each key of a table."""
    at: tuple[str, ...] = ()
    for number, line in enumerate(text.splitlines(), 1):
        if head := re.match(r"\[([a-z0-9_.]+)\]", line):
            at = tuple(head[1].split("."))
            yield at, number
        elif key := re.match(r"([a-z0-9_]+) = ", line):
            yield (*at, key[1]), number
