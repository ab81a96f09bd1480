"""The writer: evaluated, not written twice."""

from __future__ import annotations

import pytest

from marotte.creature.schema.functions import FunctionLoad
from marotte.verdict.formula import FormulaError
from marotte.verdict.workings import WorkingError, Writer, again

LOAD = FunctionLoad(mass=0.16, centre=(0.0, -0.018, 0.058))


def _written() -> Writer:
    w = Writer({}, "mech/loads@1")
    m = w.given(LOAD, "mass")
    z = w.given(LOAD, "centre", 2, symbol="z")
    g = w.published("g", "standard gravity", 9.80665, "m/s**2", "ISO 80000-3")
    w.worked("tau", "gravity at the axis", f"{m}*{g}*{z}", "N*m")
    return w


def test_a_worked_step_is_its_own_evaluation() -> None:
    step = _written().done().steps[-1]
    assert step.result == 0.16 * 9.80665 * 0.058
    assert step.values == {"m": 0.16, "g": 9.80665, "z": 0.058}


def test_symbol_meaning_and_unit_come_from_the_schema() -> None:
    step = _written().steps[0]
    assert (step.symbol, step.meaning, step.unit, step.source) == ("m", "moving mass", "kg", LOAD.ref("mass"))


def test_a_symbol_that_is_taken_gets_a_number() -> None:
    w = _written()
    assert w.given(LOAD, "mass") == "m_2"


def test_a_working_that_ends_elsewhere_is_a_defect() -> None:
    w = _written()
    assert w.same_as(0.16 * 9.80665 * 0.058 * (1 + 5e-7))
    with pytest.raises(WorkingError, match="tau"):
        w.same_as(0.0911)


def test_a_working_is_worked_again_with_other_inputs() -> None:
    values = again(_written().steps, {"m": 0.32})
    assert values["tau"] == pytest.approx(2 * 0.16 * 9.80665 * 0.058)


def test_a_formula_over_a_symbol_that_is_not_there_is_refused() -> None:
    with pytest.raises((FormulaError, KeyError)):
        _written().worked("x", "", "m*unheard", "kg")


@pytest.mark.parametrize("symbol", ["2m", "lambda", "sin", "pi", "m-1"])
def test_a_symbol_must_be_a_name_of_its_own(symbol: str) -> None:
    with pytest.raises(ValueError, match="symbol"):
        Writer({}, "x").rule(symbol, "", 1.0, "1")
