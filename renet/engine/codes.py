"""Which edges of a table meet, by the sides on which their ends lie.

``codes[q, e]`` is on which side of the line of edge ``e`` the point ``q`` lies
(-1, 0, 1).  Two edges cross when each has its ends strictly on either side of
the other, so a whole row of crossings is two products of bytes.

Points are numbered along x, then y, and an edge runs from the lower to the
higher one: so along any line the numbers rise, and edges in one line overlap
just where their ranges of numbers do.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from renet.model import BoolArray, IntArray

Bytes = NDArray[np.int8]

_APART = -2
_BLOCK = 1 << 14


class Meetings(Protocol):
    """How edges meet; edges are numbered in the order in which they were added."""

    def append(self, a: IntArray, b: IntArray, room: int) -> None:
        """More edges between points ``a`` and ``b``; ``room`` is how many there may soon be."""
        ...

    def row(self, edge: int, start: int) -> tuple[BoolArray, IntArray]:
        """Which edges from ``start`` on ``edge`` crosses, and the ids of those it overlaps."""
        ...

    def meet(self, u: IntArray, v: IntArray) -> tuple[BoolArray, BoolArray]:
        """Pair by pair: whether edges cross, whether they overlap."""
        ...


class Codes:
    """Edges anywhere between the points ``at``."""

    def __init__(self, at: IntArray) -> None:
        self._at, self._size = at, 0
        self._a = np.zeros(0, dtype=np.int64)
        self._b = np.zeros(0, dtype=np.int64)
        self._codes: Bytes = np.zeros((len(at), 0), dtype=np.int8)

    def append(self, a: IntArray, b: IntArray, room: int) -> None:
        """See :class:`Meetings`."""
        start, self._size = self._size, self._size + len(a)
        if room > len(self._a):
            self._a, self._b = np.resize(self._a, room), np.resize(self._b, room)
            codes = np.zeros((len(self._at), room), dtype=np.int8)
            codes[:, :start] = self._codes[:, :start]
            self._codes = codes
        new = slice(start, self._size)
        self._a[new], self._b[new] = a, b
        self._codes[:, new] = sides_of(np.concatenate([self._at[a], self._at[b]], axis=1), self._at)

    def row(self, edge: int, start: int) -> tuple[BoolArray, IntArray]:
        """See :class:`Meetings`."""
        live = slice(start, self._size)
        a, b = self._a, self._b
        side = self._codes[:, edge].copy()
        code_a, code_b = self._codes[a[edge], live], self._codes[b[edge], live]
        crossed = (side[a[live]] * side[b[live]] + code_a * code_b) == _APART
        line = np.flatnonzero((code_a | code_b) == 0) + start
        return crossed, line[np.maximum(a[line], a[edge]) < np.minimum(b[line], b[edge])]

    def meet(self, u: IntArray, v: IntArray) -> tuple[BoolArray, BoolArray]:
        """See :class:`Meetings`."""
        wide = self._codes.shape[1]
        flat = self._codes.reshape(-1)
        au, bu, av, bv = self._a[u], self._b[u], self._a[v], self._b[v]
        one, two = flat[av * wide + u], flat[bv * wide + u]
        three, four = flat[au * wide + v], flat[bu * wide + v]
        crossed = (one * two + three * four) == _APART
        shared = np.maximum(au, av) < np.minimum(bu, bv)
        return crossed, shared & ((one | two) == 0)


def sides_of(ends: IntArray, at: IntArray) -> Bytes:
    """(points, segments): on which side of each segment's line each point lies."""
    found = np.empty((len(at), len(ends)), dtype=np.int8)
    for start in range(0, len(ends), _BLOCK):
        part = slice(start, start + _BLOCK)
        x, y = ends[part, 0], ends[part, 1]
        dx, dy = ends[part, 2] - x, ends[part, 3] - y
        step = max(_BLOCK // len(x), 1)
        for first in range(0, len(at), step):
            block = slice(first, first + step)
            turn = dx * (at[block, 1, None] - y) - dy * (at[block, 0, None] - x)
            np.subtract(turn > 0, turn < 0, out=found[block, part], dtype=np.int8)
    return found
