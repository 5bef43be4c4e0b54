"""Every connection that may come to be, each once, with its geometry.

Edges are held by the points of their ends and the sides of the board they are
on; which net runs along them is not known here.  Edge 0 is a stand-in of no
length that meets nothing.  Edges are only ever added, so an id stays good.

Points are numbered along x, then y, and an edge runs from the lower to the
higher one: so along any line the numbers rise, and edges in one line overlap
just where their ranges of numbers do.

``codes[q, e]`` is on which side of the line of edge ``e`` the point ``q`` lies
(-1, 0, 1).  Two edges cross when each has its ends strictly on either side of
the other, so a whole row of crossings is two products of bytes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from renet.columns import PadColumns
from renet.model import NONE, BoolArray, IntArray
from renet.tangle import lengths

Bytes = NDArray[np.int8]
Floats = NDArray[np.float64]

_SIDES = 4
_APART = -2
_BLOCK = 1 << 14
_ROOM = 64
_FEW = 512


class Edges:
    """A growing table of edges between the points of ``pads``."""

    def __init__(self, cols: PadColumns, pads: IntArray) -> None:
        at, index = np.unique(
            np.stack([cols.x[pads], cols.y[pads]], axis=1), axis=0, return_inverse=True
        )
        self.origin = at.min(axis=0) if len(at) else np.zeros(2, dtype=np.int64)
        self.at: IntArray = at if len(at) else np.zeros((1, 2), dtype=np.int64)
        self._point = np.full(len(cols), NONE, dtype=np.int64)
        self._point[pads] = index.reshape(-1)
        self._sides = cols.sides
        self._ids: dict[int, int] = {}
        self.size = 0
        self.a = np.zeros(0, dtype=np.int64)
        self.b = np.zeros(0, dtype=np.int64)
        self.sides = np.zeros(0, dtype=np.int64)
        self.length: Floats = np.zeros(0, dtype=np.float64)
        self._codes: Bytes = np.zeros((len(self.at), 0), dtype=np.int8)
        zero = np.zeros(1, dtype=np.int64)
        self._append(zero, zero, zero)

    def __len__(self) -> int:
        return self.size

    @property
    def points(self) -> int:
        """How many different points edges can end at."""
        return len(self.at)

    def ends(self, ids: IntArray) -> IntArray:
        """Segments (n, 4) of edges."""
        return np.concatenate([self.at[self.a[ids]], self.at[self.b[ids]]], axis=-1)

    def add(self, a: IntArray, b: IntArray) -> IntArray:
        """Ids of the edges between pads ``a`` and ``b``, new ones where needed."""
        if not len(a):
            return np.zeros(0, dtype=np.int64)
        first, second = self._point[a], self._point[b]
        low, high = np.minimum(first, second), np.maximum(first, second)
        key = (low * self.points + high) * _SIDES + (self._sides[a] | self._sides[b])
        known = [self._ids.get(k, NONE) for k in key.tolist()] if len(key) <= _FEW else [NONE]
        if NONE not in known:
            return np.array(known, dtype=np.int64)
        fresh, inverse = np.unique(key, return_inverse=True)
        found = np.array([self._ids.get(k, NONE) for k in fresh.tolist()], dtype=np.int64)
        missing = np.flatnonzero(found == NONE)
        if len(missing):
            found[missing] = np.arange(self.size, self.size + len(missing))
            self._ids.update(zip(fresh[missing].tolist(), found[missing].tolist(), strict=True))
            pair, sides = np.divmod(fresh[missing], _SIDES)
            self._append(*np.divmod(pair, self.points), sides)
        return np.asarray(found[inverse.reshape(-1)])

    def _append(self, a: IntArray, b: IntArray, sides: IntArray) -> None:
        start, self.size = self.size, self.size + len(a)
        if self.size > len(self.a):
            self._grow(self.size + self.size // 8 + _ROOM)
        new = slice(start, self.size)
        self.a[new], self.b[new], self.sides[new] = a, b, sides
        ends = np.concatenate([self.at[a], self.at[b]], axis=1)
        self.length[new] = lengths(ends)
        self._codes[:, new] = sides_of(ends, self.at)

    def _grow(self, capacity: int) -> None:
        more = capacity - len(self.a)
        self.a, self.b, self.sides = (
            np.concatenate([column, np.zeros(more, dtype=np.int64)])
            for column in (self.a, self.b, self.sides)
        )
        self.length = np.concatenate([self.length, np.zeros(more)])
        codes = np.zeros((self.points, capacity), dtype=np.int8)
        codes[:, : self._codes.shape[1]] = self._codes
        self._codes = codes

    def row(self, edge: int, start: int = 0) -> tuple[BoolArray, IntArray]:
        """Which edges from ``start`` on ``edge`` crosses, and the ids of those it overlaps.

        An edge overlaps itself: another net may run along the same one.
        """
        live = slice(start, self.size)
        side = self._codes[:, edge].copy()
        code_a, code_b = self._codes[self.a[edge], live], self._codes[self.b[edge], live]
        crossed = (side[self.a[live]] * side[self.b[live]] + code_a * code_b) == _APART
        line = np.flatnonzero((code_a | code_b) == 0) + start
        least = np.maximum(self.a[line], self.a[edge])
        return crossed, line[least < np.minimum(self.b[line], self.b[edge])]

    def meet(self, u: IntArray, v: IntArray) -> tuple[BoolArray, BoolArray]:
        """Pair by pair: whether edges cross, whether they overlap."""
        wide = self._codes.shape[1]
        flat = self._codes.reshape(-1)
        au, bu, av, bv = self.a[u], self.b[u], self.a[v], self.b[v]
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
