"""The writer of workings: how a number came about, step by step, as a person can redo it.

A worked step's result IS the evaluation of its formula over the steps before it, so that a working is an independent
scalar oracle of the engine that found the number; ``same_as`` holds the two together.
"""

from __future__ import annotations

import keyword
from collections.abc import Iterable, Mapping
from typing import Final

from marotte.basis.contracts.finding import Step, StepKind, Working
from marotte.basis.given import DEFAULT_SPREAD, Given, Ref, Source
from marotte.creature.schema.base import Record
from marotte.creature.schema.quantities import quantity
from marotte.verdict.formula import CALLS, CONSTANTS, evaluate, names_in

AGREES: Final = 1e-6
"""Largest relative difference between a working's last number and the finding's."""
FLOOR: Final = 1e-12
"""Differences below this are none, in any SI unit that is worked in here."""
PRACTICE: Final = "common practice, no source"


class WorkingError(AssertionError):
    """A working that does not end on its finding's number: a defect of ours, not of the creature."""


class Writer:
    """Collects the steps of one working. Every method returns the symbol under which the number is known from then on."""

    def __init__(self, ledger: Mapping[Ref, Given], method: str) -> None:
        self.ledger = ledger
        self.method = method
        self.steps: list[Step] = []
        self.values: dict[str, float] = {}
        self.needed: str | None = None
        """The symbol of what is needed, where it is worked out and not a plain number."""
        self.decides: tuple[str, str, str] | None = None
        """What decides where the last number does not, ``speed``, with the symbols of what is needed of it and what the design has."""
        self.surveys: dict[str, tuple[Ref, float]] = {}
        """Symbol -> the field that would hold the number itself, and the 95 % half-width [SI] of a survey taken in its place."""
        self.swings: dict[str, tuple[float, float]] = {}
        """Symbol -> its least and largest value in use, where the day and not our knowledge moves it: cold skin, warm skin."""

    def given(
        self, record: Record, field: str, item: int | str | None = None, *, symbol: str | None = None,
        meaning: str | None = None, unit: str | None = None,
    ) -> str:  # fmt: skip
        """Write a number of the creature file; symbol, meaning and unit come from the schema unless said here."""
        note = quantity(type(record), field)
        value = getattr(record, field)
        if item is not None:
            value = value[item]
        ref = record.ref(field, item)
        known = self.ledger.get(ref)
        if unit is None:
            unit = known.unit if known is not None else (note.kinds[0].si if note else "1")
        return self._add(
            symbol or (note.symbol if note else field), meaning or (note.says if note else field), "given", unit,
            float(value), source=ref,
        )  # fmt: skip

    def published(self, symbol: str, meaning: str, value: float, unit: str, source: str) -> str:
        """Write a number of the literature with its citation."""
        return self._add(symbol, meaning, "published", unit, value, source=source)

    def surveyed(self, symbol: str, meaning: str, value: float, unit: str, source: str, ref: Ref, half: float) -> str:
        """Write the mean of a survey that stands for a number which ``ref`` would hold; 19 of 20 lie within ``half`` of it."""
        name = self.published(symbol, meaning, value, unit, source)
        self.surveys[name] = (ref, half)
        return name

    def rule(self, symbol: str, meaning: str, value: float, unit: str, source: str = PRACTICE) -> str:
        """Write a rule of the trade or of this project."""
        return self._add(symbol, meaning, "rule", unit, value, source=source)

    def swing(self, symbol: str, meaning: str, low: float, high: float, source: str) -> str:
        """Write a factor that is 1 as computed and goes from low to high in use."""
        name = self._add(symbol, meaning, "rule", "1", 1.0, source=source)
        self.swings[name] = (low, high)
        return name

    def read(self, symbol: str, meaning: str, where: str, value: float, unit: str) -> str:
        """Write a number out of an engine's result, with its address and time."""
        return self._add(symbol, meaning, "read", unit, value, source=where)

    def worked(self, symbol: str, meaning: str, formula: str, unit: str) -> str:
        """Write a formula over earlier symbols; its result is its evaluation."""
        values = {name: self.values[name] for name in names_in(formula)}
        return self._add(symbol, meaning, "worked", unit, evaluate(formula, values), formula=formula, values=values)

    def need(self, symbol: str) -> None:
        """Mark a symbol as the one that says what is needed."""
        self.needed = symbol

    def same_as(self, value: float, agrees: float = AGREES, symbol: str | None = None) -> float:
        """Hold a number (the last) against what an engine found, and return the working's own.

        Raises:
            WorkingError: they differ by more than ``agrees``, relative.
        """
        name = symbol or self.steps[-1].symbol
        own = self.values[name]
        if abs(own - value) > agrees * max(abs(value), abs(own)) + FLOOR:
            raise WorkingError(f"the working has {name} = {own!r}, the engine {value!r}")
        return own

    def done(self) -> Working:
        """Return the working."""
        return Working(steps=tuple(self.steps), method=self.method)

    def unit(self, symbol: str) -> str:
        """Return the SI unit of a symbol."""
        return next(step.unit for step in self.steps if step.symbol == symbol)

    def inputs(self) -> dict[Ref, tuple[str, ...]]:
        """Return ref -> the symbols that hold its number."""
        found: dict[Ref, list[str]] = {}
        for step in self.steps:
            if step.kind == "given":
                found.setdefault(step.source, []).append(step.symbol)
            elif step.symbol in self.surveys:
                found.setdefault(self.surveys[step.symbol][0], []).append(step.symbol)
        return {ref: tuple(symbols) for ref, symbols in found.items()}

    def half_width(self, ref: Ref, symbol: str) -> float:
        """Return the 95 % half-width in SI of an input that a symbol holds."""
        _, survey = self.surveys.get(symbol, (ref, None))
        return half_width(self.ledger, ref, self.values[symbol]) if survey is None else survey

    def _add(
        self, symbol: str, meaning: str, kind: StepKind, unit: str, value: float, *, formula: str = "",
        values: Mapping[str, float] | None = None, source: str = "",
    ) -> str:  # fmt: skip
        name = self._free(symbol)
        step = Step(
            symbol=name, meaning=meaning, kind=kind, unit=unit, result=float(value), formula=formula,
            values=dict(values or {}), source=source,
        )  # fmt: skip
        self.steps.append(step)
        self.values[name] = step.result
        return name

    def _free(self, symbol: str) -> str:
        """Return a symbol that nothing in this working has yet: ``m``, then ``m_2``, ``m_3``."""
        if not symbol.isidentifier() or keyword.iskeyword(symbol) or symbol in CALLS or symbol in CONSTANTS:
            raise ValueError(f"{symbol!r} cannot be a symbol of a formula")
        name, count = symbol, 1
        while name in self.values:
            count += 1
            name = f"{symbol}_{count}"
        return name


def again(steps: Iterable[Step], changed: Mapping[str, float]) -> dict[str, float]:
    """Return symbol -> value of a working in which some of its inputs have other values.

    Raises:
        FormulaError: a formula has no value there.
    """
    values: dict[str, float] = {}
    for step in steps:
        if step.kind == "worked":
            values[step.symbol] = evaluate(step.formula, values)
        else:
            values[step.symbol] = changed.get(step.symbol, step.result)
    return values


def source_of(ledger: Mapping[Ref, Given], ref: Ref) -> Source:
    """Return how sure an input is; a default of ours, which no ledger holds, is typical."""
    known = ledger.get(ref)
    return known.source if known is not None else "typical"


def half_width(ledger: Mapping[Ref, Given], ref: Ref, value: float) -> float:
    """Return the 95 % half-width of an input in SI."""
    known = ledger.get(ref)
    return known.half_width if known is not None else abs(value) * DEFAULT_SPREAD["typical"]
