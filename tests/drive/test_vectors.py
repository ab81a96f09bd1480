"""Rows that are read eight numbers at a time are those that reading them one by one gives."""

from __future__ import annotations

import numpy as np
import pytest
from numba import njit

from marotte.drive.plan import LANES, T2_READ
from marotte.drive.vectors import read_corners, read_rows


@njit
def _rows(table: np.ndarray, drive: np.ndarray, rows: int, shares: int, found: int) -> None:
    read_rows(table, drive, rows, shares, found)


@njit
def _corners(table: np.ndarray, at: int, right: int, down: int, f: float, g: float, row: np.ndarray) -> None:
    read_corners(table, at, right, down, f, g, row)


def test_eight_rows_are_read_between_and_turned_so_that_columns_are_lanes() -> None:
    rng = np.random.default_rng(7)
    table = rng.normal(size=(50, LANES))
    place, share = rng.integers(0, 49, LANES), rng.uniform(-0.2, 1.2, LANES)
    drive = np.zeros(10 * LANES + 3)
    drive[3 : 3 + LANES], drive[3 + LANES : 3 + 2 * LANES] = LANES * place, share
    _rows(table.ravel(), drive, 3, 3 + LANES, 3 + 2 * LANES)
    wanted = table[place] + share[:, None] * (table[place + 1] - table[place])
    assert drive[3 + 2 * LANES :].reshape(LANES, LANES) == pytest.approx(wanted.T, rel=1e-14, abs=1e-15)


def test_a_row_between_four_corners_is_the_bilinear_one() -> None:
    rng = np.random.default_rng(8)
    table = rng.normal(size=(5, 6, 28))
    row = np.zeros(T2_READ)
    f, g = 0.3, 0.8
    _corners(table.ravel(), (2 * 6 + 4) * 28, 28, 6 * 28, f, g, row)
    near, far = ((1 - g) * table[i, 4] + g * table[i, 5] for i in (2, 3))
    assert row == pytest.approx(((1 - f) * near + f * far)[:T2_READ], rel=1e-12, abs=1e-14)
