"""The evaluator: plain arithmetic and nothing else."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marotte.verdict.formula import FormulaError, evaluate, names_in

NUMBERS = st.floats(-1e3, 1e3).filter(lambda x: x == 0 or abs(x) > 1e-6)


@given(a=NUMBERS, b=NUMBERS, c=NUMBERS)
def test_arithmetic_binds_as_in_a_book(a: float, b: float, c: float) -> None:
    assert evaluate("a + b*c - -a", {"a": a, "b": b, "c": c}) == a + b * c - -a
    assert evaluate("(a + b)*c", {"a": a, "b": b, "c": c}) == (a + b) * c


@given(a=st.floats(0.1, 10), n=st.integers(-3, 3))
def test_powers_bind_before_signs(a: float, n: int) -> None:
    assert evaluate("-a**n", {"a": a, "n": float(n)}) == -(a**n)


def test_functions_and_pi_are_known() -> None:
    value = evaluate("sqrt(2) + sin(pi/6) + atan2(1, 1) + max(1, 2, 3) + abs(-4) + acos(0) + log(exp(2))", {})
    assert value == pytest.approx(math.sqrt(2) + 0.5 + math.pi / 4 + 3 + 4 + math.pi / 2 + 2)


@pytest.mark.parametrize(
    "formula",
    [
        "__import__('os')", "a.b", "a[0]", "lambda: 1", "[1]", "'text'", "a if a else b", "a < b", "a and b", "print(a)", "sin",
        "f'{a}'", "a := 1", "sin(x=1)", "", "1 +", "True", "1j", "a @ b", "a // b", "a % b", "~a", "(1).real", "sin(*a)",
    ],
)  # fmt: skip
def test_anything_but_arithmetic_is_refused(formula: str) -> None:
    with pytest.raises(FormulaError):
        evaluate(formula, {"a": 1.0, "b": 2.0})


@pytest.mark.parametrize(
    "formula", ["9**9**9", "1/0", "log(0)", "sqrt(-1)", "(-1)**0.5", "acos(2)", "1e308*1e308", "x", "0**-1"]
)
def test_what_has_no_finite_value_is_said_so(formula: str) -> None:
    with pytest.raises(FormulaError):
        evaluate(formula, {})


def test_a_very_long_or_deep_formula_is_refused_quickly() -> None:
    with pytest.raises(FormulaError):
        evaluate("1+" * 3000 + "1", {})
    with pytest.raises(FormulaError):
        evaluate("(" * 1500 + "1" + ")" * 1500, {})


def test_names_are_found_in_order_and_once() -> None:
    assert names_in("m*g*d + sin(pi*m) - g_2") == ("m", "g", "d", "g_2")
