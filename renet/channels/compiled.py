"""The loops of the planner that are compiled: what lies round the nodes of a way, and how loaded.

A node is layer * points + point.  Compiled at the first call, and kept beside the source or in
the user's cache where that can be written.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np
from numba import njit
from numpy.typing import NDArray

from renet.model import IntArray

Numbers = NDArray[np.int32]
_Function = TypeVar("_Function", bound=Callable[..., Any])


def compiled(function: _Function) -> _Function:
    """``function`` as machine code; its calls are typed as before."""
    fast: Any
    try:
        fast = njit(cache=True)(function)
    except RuntimeError:
        fast = njit(function)
    return fast  # type: ignore[no-any-return]


@compiled
def halo(
    nodes: IntArray, disc: IntArray, shape: tuple[int, int], marks: Numbers, turn: int
) -> IntArray:
    """All nodes at the offsets ``disc`` (k, 2: rows, columns) from ``nodes``, on the same layer.

    Each once, in the order in which they are found; those marked by ``turn`` are left out,
    those found are marked, so that calls with one ``turn`` find different nodes.
    """
    rows, columns = shape
    found = np.empty(len(nodes) * len(disc), dtype=np.int64)
    count = 0
    for node in nodes:
        point = node % (rows * columns)
        row, column = point // columns, point % columns
        for k in range(len(disc)):
            y, x = row + disc[k, 0], column + disc[k, 1]
            if 0 <= y < rows and 0 <= x < columns:
                other = node + disc[k, 0] * columns + disc[k, 1]
                if marks[other] != turn:
                    marks[other] = turn
                    found[count] = other
                    count += 1
    return found[:count].copy()


@compiled
def most(start: IntArray, items: IntArray, which: IntArray, values: Numbers) -> IntArray:
    """Of the rows ``items[start[i] : start[i + 1]]`` for ``i`` in ``which`` the greatest value.

    That is of ``values`` at the items, and 0 at least.
    """
    found = np.zeros(len(which), dtype=np.int64)
    for place in range(len(which)):
        row = which[place]
        for at in range(start[row], start[row + 1]):
            found[place] = max(found[place], values[items[at]])
    return found
