"""Tables read eight numbers at a time, written in the compiler's own words, for it does not find this by itself.

Of one-input mechs, eight at once: a row is one vector, eight rows are a square, and the square is turned over by the usual
three rounds of swaps, so that columns become lanes. Of two-input mechs, all columns between four corners. Any machine can
run it; how wide its vectors are changes no bit.
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir  # type: ignore[import-untyped]
from numba import types
from numba.extending import intrinsic

from marotte.drive.plan import LANES, T2_READ

VECTOR = ir.VectorType(ir.DoubleType(), LANES)
MASK = ir.VectorType(ir.IntType(32), LANES)
CONTRACT = ("contract",)


def _turned(builder: Any, rows: list[Any]) -> list[Any]:
    """Return the columns of a square of rows."""
    step = 1
    while step < LANES:
        low = [j if not j & step else LANES + j - step for j in range(LANES)]
        high = [j + step if not j & step else LANES + j for j in range(LANES)]
        done = list(rows)
        for i in (i for i in range(LANES) if not i & step):
            pair = rows[i], rows[i + step]
            done[i] = builder.shuffle_vector(*pair, ir.Constant(MASK, low))
            done[i + step] = builder.shuffle_vector(*pair, ir.Constant(MASK, high))
        rows, step = done, 2 * step
    return rows


class _Memory:
    """A flat array of doubles in a kernel: numbers and vectors of it, and what lies between two vectors."""

    def __init__(self, context: Any, builder: Any, kind: Any, value: Any) -> None:
        self.builder = builder
        self.data = context.make_array(kind)(context, builder, value).data

    def place(self, index: Any, more: int = 0) -> Any:
        at = self.builder.add(index, ir.Constant(index.type, more)) if more else index
        return self.builder.gep(self.data, [at], source_etype=ir.DoubleType())

    def number(self, index: Any, more: int = 0) -> Any:
        return self.builder.load(self.place(index, more), typ=ir.DoubleType())

    def vector(self, index: Any, more: int = 0) -> Any:
        where = self.builder.bitcast(self.place(index, more), ir.PointerType(VECTOR))
        return self.builder.load(where, align=8, typ=VECTOR)

    def put(self, values: Any, index: Any, more: int = 0) -> None:
        where = self.builder.bitcast(self.place(index, more), ir.PointerType(VECTOR))
        self.builder.store(values, where, align=8)


def _spread(builder: Any, number: Any) -> Any:
    first = builder.insert_element(ir.Constant(VECTOR, ir.Undefined), number, ir.Constant(ir.IntType(32), 0))
    return builder.shuffle_vector(first, first, ir.Constant(MASK, [0] * LANES))


def _between(builder: Any, low: Any, high: Any, share: Any) -> Any:
    rise = builder.fmul(share, builder.fsub(high, low, flags=CONTRACT), flags=CONTRACT)
    return builder.fadd(low, rise, flags=CONTRACT)


def _read_rows(typing: Any, table: Any, drive: Any, rows: Any, shares: Any, found: Any) -> Any:
    """Read a block of eight rows, each between itself and the next one.

    Args (of the call in a kernel):
        table: flat; a row is LANES numbers.
        drive: flat; read and written.
        rows: where in ``drive`` eight row beginnings stand.
        shares: where in it eight shares of the way to the next row stand.
        found: where the columns go, LANES numbers each, one after another.
    """

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        t, d = (_Memory(context, builder, signature.args[k], args[k]) for k in (0, 1))
        between = []
        for lane in range(LANES):
            row = builder.fptosi(d.number(args[2], lane), args[2].type)
            share = _spread(builder, d.number(args[3], lane))
            between.append(_between(builder, t.vector(row), t.vector(row, LANES), share))
        for column, values in enumerate(_turned(builder, between)):
            d.put(values, args[4], LANES * column)
        return context.get_dummy_value()

    return types.void(table, drive, rows, shares, found), code


def _read_corners(typing: Any, table: Any, at: Any, right: Any, down: Any, f: Any, g: Any, row: Any) -> Any:
    """Read the first T2_READ columns of a two-input table between its four corners.

    Args (of the call in a kernel):
        table: flat.
        at: where the first corner begins.
        right: how far the next place of the second input is.
        down: how far the next place of the first input is.
        f: share of the way down.
        g: share of the way right.
        row: where the columns go.
    """

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        t, to = (_Memory(context, builder, signature.args[k], args[k]) for k in (0, 6))
        near, far = args[1], builder.add(args[1], args[3])
        f, g = _spread(builder, args[4]), _spread(builder, args[5])
        done = []
        for c in range(0, T2_READ, LANES):
            lines = [
                _between(builder, t.vector(line, c), t.vector(builder.add(line, args[2]), c), g) for line in (near, far)
            ]
            done.append(_between(builder, lines[0], lines[1], f))
        for k, values in enumerate(done):
            to.put(values, ir.Constant(args[1].type, LANES * k))
        return context.get_dummy_value()

    return types.void(table, at, right, down, f, g, row), code


read_rows: Any = intrinsic(_read_rows)
read_corners: Any = intrinsic(_read_corners)
