"""Eight table rows at once: each is read between two of its rows, and all are turned so that their columns become lanes.

Written in the compiler's own words, for it does not find this by itself: a row is one vector, eight rows are a square, and
the square is turned over by the usual three rounds of swaps. Any machine can run it; how wide its vectors are changes no bit.
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir  # type: ignore[import-untyped]
from numba import types
from numba.extending import intrinsic

from marotte.drive.plan import LANES

VECTOR = ir.VectorType(ir.DoubleType(), LANES)
MASK = ir.VectorType(ir.IntType(32), LANES)


def turned(builder: Any, rows: list[Any]) -> list[Any]:
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


def _read_rows(typing: Any, table: Any, drive: Any, rows: Any, shares: Any, found: Any) -> Any:
    """Read a block of eight rows between each and the next one.

    Args (of the call in a kernel):
        table: flat; a row is LANES numbers.
        drive: flat; read and written.
        rows: where in ``drive`` eight row beginnings stand.
        shares: where in it eight shares of the way to the next row stand.
        found: where the columns go, LANES numbers each, one after another.
    """

    def code(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        t, d = (context.make_array(signature.args[k])(context, builder, args[k]).data for k in (0, 1))

        def at(base: Any, index: Any) -> Any:
            return builder.gep(base, [index], source_etype=ir.DoubleType())

        def plus(index: Any, more: int) -> Any:
            return builder.add(index, ir.Constant(index.type, more))

        def vector(index: Any) -> Any:
            return builder.load(builder.bitcast(at(t, index), ir.PointerType(VECTOR)), align=8, typ=VECTOR)

        flags = ("contract",)
        between = []
        for lane in range(LANES):
            row = builder.fptosi(builder.load(at(d, plus(args[2], lane)), typ=ir.DoubleType()), args[2].type)
            share = builder.load(at(d, plus(args[3], lane)), typ=ir.DoubleType())
            spread = builder.insert_element(ir.Constant(VECTOR, ir.Undefined), share, ir.Constant(ir.IntType(32), 0))
            spread = builder.shuffle_vector(spread, spread, ir.Constant(MASK, [0] * LANES))
            this, after = vector(row), vector(plus(row, LANES))
            rise = builder.fmul(spread, builder.fsub(after, this, flags=flags), flags=flags)
            between.append(builder.fadd(this, rise, flags=flags))
        for column, values in enumerate(turned(builder, between)):
            place = builder.bitcast(at(d, plus(args[4], LANES * column)), ir.PointerType(VECTOR))
            builder.store(values, place, align=8)
        return context.get_dummy_value()

    return types.void(table, drive, rows, shares, found), code


read_rows: Any = intrinsic(_read_rows)
