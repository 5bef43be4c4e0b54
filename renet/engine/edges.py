"""Every connection that may come to be, each once, with its geometry.

Edges are held by the points of their ends and the sides of the board they are
on; which net runs along them is not known here.  Edge 0 is a stand-in of no
length that meets nothing.  Edges are only ever added, so an id stays good.

Points are numbered along x, then y, and an edge runs from the lower to the
higher one.  Which edges meet is found by the sides on which ends lie
(:mod:`renet.engine.codes`), or by ranks where all edges run between two rows
that face each other (:mod:`renet.engine.ranks`).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from renet.columns import PadColumns
from renet.engine.codes import Codes, Meetings
from renet.engine.ranks import Ranks, Rows
from renet.model import NONE, BoolArray, IntArray
from renet.tangle import lengths

Floats = NDArray[np.float64]

_SIDES = 4
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
        self._meetings: Meetings = Codes(self.at)
        zero = np.zeros(1, dtype=np.int64)
        self._append(zero, zero, zero)

    def face(self, rows: Rows) -> None:
        """Take it that all edges run between these two rows; before any is added."""
        zero = np.zeros(1, dtype=np.int64)
        self._meetings = Ranks(rows)
        self._meetings.append(zero, zero, _ROOM)

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
        self._meetings.append(a, b, len(self.a))

    def _grow(self, capacity: int) -> None:
        more = capacity - len(self.a)
        self.a, self.b, self.sides = (
            np.concatenate([column, np.zeros(more, dtype=np.int64)])
            for column in (self.a, self.b, self.sides)
        )
        self.length = np.concatenate([self.length, np.zeros(more)])

    def row(self, edge: int, start: int = 0) -> tuple[BoolArray, IntArray]:
        """Which edges from ``start`` on ``edge`` crosses, and the ids of those it overlaps.

        An edge overlaps itself: another net may run along the same one.
        """
        return self._meetings.row(edge, start)

    def meet(self, u: IntArray, v: IntArray) -> tuple[BoolArray, BoolArray]:
        """Pair by pair: whether edges cross, whether they overlap."""
        return self._meetings.meet(u, v)
