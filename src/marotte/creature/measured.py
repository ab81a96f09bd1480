"""Curves that the shop measured: a small CSV with units in its heads, read to SI.

::

    stretch [mm],force [N]
    0,0
    5,2.1
"""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64, f64
from marotte.basis.faults import BadInput, Fault, short
from marotte.basis.given import Place
from marotte.basis.units import FORCE, LENGTH, Kind
from marotte.creature.tree import read_text

MOST_ROWS: Final = 5000
_HEAD = re.compile(r"\s*([a-z_ ]+?)\s*\[\s*([^\]]+?)\s*\]\s*\Z", re.IGNORECASE)


def read_curve(
    path: Path, shown: str, names: tuple[str, str] = ("stretch", "force"), kinds: tuple[Kind, Kind] = (LENGTH, FORCE)
) -> F64:
    """Return a curve (2, p) in SI; the first row rises. What is stretched pulls back: a force below zero there is a fault.

    Raises:
        BadInput: every fault of the file.
    """
    rows = [row for row in csv.reader(io.StringIO(read_text(path, shown))) if any(cell.strip() for cell in row)]
    wanted = f"{names[0]} [{kinds[0].shown}],{names[1]} [{kinds[1].shown}]"
    if not rows or len(rows[0]) < 2:
        raise BadInput([_fault(shown, 1, "this is not a table of two columns", allowed=wanted)])
    factors = []
    for head, name, kind in zip(rows[0][:2], names, kinds, strict=True):
        match = _HEAD.match(head)
        factor = kind.factor(match.group(2)) if match else None
        if match is None or match.group(1).lower() != name or not factor:
            raise BadInput([_fault(shown, 1, f"{short(head)} is not a head of this table", allowed=wanted)])
        factors.append(factor)
    faults: list[Fault] = []
    values: list[tuple[float, float]] = []
    for number, row in enumerate(rows[1 : MOST_ROWS + 2], start=2):
        try:
            x, y = (float(cell) for cell in row[:2])
        except ValueError:
            faults.append(_fault(shown, number, f"{short(','.join(row))} is not two numbers"))
            continue
        if not (np.isfinite(x) and np.isfinite(y)):
            faults.append(_fault(shown, number, "not a finite number"))
        elif values and x * factors[0] <= values[-1][0]:
            faults.append(
                _fault(shown, number, f"{names[0]} folds back here", code="order", allowed="rising from row to row")
            )
        elif x > 0.0 and y < 0.0:
            faults.append(
                _fault(
                    shown, number, f"the {names[1]} is {short(row[1].strip())} at a {names[0]} above zero: what is stretched pulls, it never pushes",
                    code="bounds", allowed="0 or more", try_="write how hard it pulls back as a number above zero",
                )
            )  # fmt: skip
        else:
            values.append((x * factors[0], y * factors[1]))
    if len(rows) > MOST_ROWS + 1:
        faults.append(_fault(shown, MOST_ROWS + 2, "too many rows", allowed=f"at most {MOST_ROWS}"))
    if not faults and len(values) < 2:
        faults.append(_fault(shown, 1, "a curve needs two rows of numbers or more"))
    if faults:
        raise BadInput(faults)
    return f64(np.array(values).T)


def _fault(shown: str, line: int, what: str, *, code: str = "measured", allowed: str = "", try_: str = "") -> Fault:
    return Fault(code=code, what=what, place=Place(file=shown, line=line, column=1), allowed=allowed, try_=try_)
