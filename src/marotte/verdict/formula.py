"""A small, safe evaluator: the formulas of workings are evaluated, never only written.

Plain arithmetic over named numbers: ``+ - * / **``, signs, parentheses, and the functions in ``CALLS``. There are no
attributes, no other calls, no comparisons; exponents are bounded, so that no formula can run away.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Final, TypeAlias

Values: TypeAlias = Mapping[str, float]
Evaluated: TypeAlias = Callable[[Values], float]

CALLS: Final[dict[str, Callable[..., float]]] = {
    "sqrt": math.sqrt, "sin": math.sin, "cos": math.cos, "tan": math.tan, "atan2": math.atan2, "acos": math.acos,
    "asin": math.asin, "exp": math.exp, "log": math.log, "min": min, "max": max, "abs": abs,
}  # fmt: skip
CONSTANTS: Final[dict[str, float]] = {"pi": math.pi}
LONGEST: Final = 4000
LARGEST_EXPONENT: Final = 64.0


class FormulaError(ValueError):
    """A formula that is not plain arithmetic, or that has no value for these numbers."""


def evaluate(formula: str, values: Values) -> float:
    """Return the value of a formula for named numbers.

    Raises:
        FormulaError: not plain arithmetic, a name without a number, or no finite value.
    """
    try:
        result = float(_compiled(formula)(values))
    except (ArithmeticError, ValueError, TypeError) as error:
        if isinstance(error, FormulaError):
            raise
        raise FormulaError(f"{formula!r} has no value here: {error}") from None
    if not math.isfinite(result):
        raise FormulaError(f"{formula!r} has no finite value here")
    return result


@lru_cache(maxsize=4096)
def names_in(formula: str) -> tuple[str, ...]:
    """Return the names that a formula reads, in the order in which they stand in it."""
    nodes = [node for node in ast.walk(_parsed(formula)) if isinstance(node, ast.Name)]
    nodes.sort(key=lambda node: (node.lineno, node.col_offset))
    return tuple(dict.fromkeys(node.id for node in nodes if node.id not in CALLS and node.id not in CONSTANTS))


@lru_cache(maxsize=4096)
def _parsed(formula: str) -> ast.expr:
    if len(formula) > LONGEST:
        raise FormulaError(f"a formula of {len(formula)} letters is too long")
    try:
        return ast.parse(formula, mode="eval").body
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        raise FormulaError(f"{formula!r} is not a formula") from None


@lru_cache(maxsize=4096)
def _compiled(formula: str) -> Evaluated:
    return _build(_parsed(formula))


def _build(node: ast.expr) -> Evaluated:
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        number = float(node.value)  # type: ignore[arg-type]
        return lambda values: number
    if isinstance(node, ast.Name):
        return _name(node.id)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.USub, ast.UAdd)):
        inner, sign = _build(node.operand), -1.0 if isinstance(node.op, ast.USub) else 1.0
        return lambda values: sign * inner(values)
    if isinstance(node, ast.BinOp):
        return _binary(node)
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and not node.keywords:
        function = CALLS.get(node.func.id)
        if function is not None:
            parts = [_build(argument) for argument in node.args]
            return lambda values: function(*[part(values) for part in parts])
    raise FormulaError(f"{ast.unparse(node)!r} is not plain arithmetic")


def _name(name: str) -> Evaluated:
    if name in CONSTANTS:
        constant = CONSTANTS[name]
        return lambda values: constant

    def read(values: Values) -> float:
        try:
            return values[name]
        except KeyError:
            raise FormulaError(f"{name} has no number") from None

    return read


def _binary(node: ast.BinOp) -> Evaluated:
    left, right = _build(node.left), _build(node.right)
    if isinstance(node.op, ast.Add):
        return lambda values: left(values) + right(values)
    if isinstance(node.op, ast.Sub):
        return lambda values: left(values) - right(values)
    if isinstance(node.op, ast.Mult):
        return lambda values: left(values) * right(values)
    if isinstance(node.op, ast.Div):
        return lambda values: left(values) / right(values)
    if isinstance(node.op, ast.Pow):
        return lambda values: _power(left(values), right(values))
    raise FormulaError(f"{ast.unparse(node)!r} is not plain arithmetic")


def _power(base: float, exponent: float) -> float:
    if abs(exponent) > LARGEST_EXPONENT:
        raise FormulaError(f"an exponent of {exponent:g} is too large")
    if base < 0 and exponent != int(exponent):
        raise FormulaError("a broken power of a number below zero")
    return float(base**exponent)
