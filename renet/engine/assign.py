"""Minimum-cost assignment of rows to columns.

Shortest augmenting paths with dual prices (R. Jonker and A. Volgenant, "A
shortest augmenting path algorithm for dense and sparse linear assignment
problems", Computing 38, 1987), a row of the matrix at a time.  Loading the
library's solver would take longer than solving a board's matrices here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from renet.model import NONE, BoolArray, IntArray

Floats = NDArray[np.float64]

_FREE = -1


def assign(cost: Floats) -> IntArray:
    """The column of each row of a square matrix, at the least total cost; ties fall anyhow.

    Infinite entries are forbidden; there must be an assignment without them.
    """
    count = len(cost)
    column_of = np.full(count, _FREE, dtype=np.int64)
    row_of = np.full(count, _FREE, dtype=np.int64)
    price = cost.min(axis=0) if count else np.zeros(0)
    for column in range(count):
        row = int(cost[:, column].argmin())
        if column_of[row] == _FREE:
            column_of[row], row_of[column] = column, row
    for row in np.flatnonzero(column_of == _FREE).tolist():
        _insert(cost, row, column_of, row_of, price)
    return column_of


def _insert(cost: Floats, row: int, column_of: IntArray, row_of: IntArray, price: Floats) -> None:
    """Give ``row`` a column along the shortest alternating path; prices stay feasible."""
    count = len(cost)
    distance = np.full(count, np.inf)
    came = np.full(count, _FREE, dtype=np.int64)
    outside: BoolArray = np.ones(count, dtype=bool)
    reached, at, column = 0.0, row, NONE
    while column == NONE or row_of[column] != _FREE:
        slack = 0.0 if column == NONE else cost[at, column] - price[column]
        step = reached + (cost[at] - price) - slack
        better = outside & (step < distance)
        distance[better] = step[better]
        came[better] = at
        column = int(np.where(outside, distance, np.inf).argmin())
        reached = float(distance[column])
        outside[column] = False
        at = int(row_of[column])
    done = ~outside
    price[done] += distance[done] - reached
    while True:
        at = int(came[column])
        row_of[column] = at
        column, column_of[at] = int(column_of[at]), column
        if at == row:
            return
