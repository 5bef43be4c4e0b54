"""Which edges meet where all of them run between two rows that face each other.

Then the ranks of an edge's ends in the two rows say it all: two edges cross
when their ends stand in opposite orders, and overlap only where they are one.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet.model import NONE, BoolArray, IntArray

Shorts = NDArray[np.int32]


class Rows(NamedTuple):
    """Per point its rank in the near and in the far row, ``NONE`` where it is in the other."""

    near: IntArray
    far: IntArray


class Ranks:
    """Edges between two rows; an edge from a point to itself meets nothing."""

    def __init__(self, rows: Rows) -> None:
        self._rows, self._size = rows, 0
        self._p: Shorts = np.zeros(0, dtype=np.int32)
        self._q: Shorts = np.zeros(0, dtype=np.int32)

    def append(self, a: IntArray, b: IntArray, room: int) -> None:
        """See :class:`renet.engine.codes.Meetings`."""
        start, self._size = self._size, self._size + len(a)
        if room > len(self._p):
            self._p, self._q = np.resize(self._p, room), np.resize(self._q, room)
        new = slice(start, self._size)
        near, far = self._rows
        self._p[new] = np.where(a == b, NONE, np.maximum(near[a], near[b]))
        self._q[new] = np.where(a == b, NONE, np.maximum(far[a], far[b]))

    def row(self, edge: int, start: int) -> tuple[BoolArray, IntArray]:
        """See :class:`renet.engine.codes.Meetings`."""
        p, q = self._p[start : self._size], self._q[start : self._size]
        one, two = p - self._p[edge], q - self._q[edge]
        alike = (one == 0) & (two == 0) & (p != NONE)
        return one * two < 0, np.flatnonzero(alike) + start

    def meet(self, u: IntArray, v: IntArray) -> tuple[BoolArray, BoolArray]:
        """See :class:`renet.engine.codes.Meetings`."""
        p, q = self._p, self._q
        at = p[u]
        one, two = at - p[v], q[u] - q[v]
        return one * two < 0, (one == 0) & (two == 0) & (at != NONE)
