"""How much every edge of the table meets what stands on the board now.

A meeting is one number: weighted crossings times ``CROSSING`` plus weighted
overlaps, so comparing numbers compares in the order of aims.  ``meets[c, e]`` is
what edge ``e`` would meet if it carried a net of weight class ``c``.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from renet.columns import PadColumns
from renet.engine.codes import sides_of
from renet.engine.edges import Edges
from renet.geometry import overlaps
from renet.model import BoolArray, IntArray

CROSSING = 1 << 32
_APART = -2
_SLICE = 1 << 13
_MEMORY = 1 << 26
_ROOM = 64


def packed(crossed: BoolArray, overlapped: BoolArray, weight: IntArray) -> IntArray:
    """Meetings as numbers."""
    found = np.asarray(crossed * weight) * CROSSING
    if overlapped.any():
        found += overlapped * weight
    return np.asarray(found)


class Fixed:
    """The segments (n, 4) that never change, with their weights."""

    def __init__(self, ends: IntArray, weight: IntArray, edges: Edges, classes: IntArray) -> None:
        low, high = edges.at.min(axis=0), edges.at.max(axis=0)
        x, y = ends[:, 0::2], ends[:, 1::2]
        near = (x.max(axis=1) >= low[0]) & (x.min(axis=1) <= high[0])
        near &= (y.max(axis=1) >= low[1]) & (y.min(axis=1) <= high[1])
        self._ends, self._weight = ends[near], weight[near]
        self._edges, self._classes = edges, classes
        both = self._ends.reshape(-1, 2)
        at, index = np.unique(both, axis=0, return_inverse=True)
        self._at = at
        self._points = index.reshape(-1, 2)
        self._side = sides_of(self._ends, edges.at).T.copy()

    def meets(self, start: int, stop: int) -> IntArray:
        """(classes, edges): what the edges ``start..stop`` meet among the fixed segments."""
        found = np.zeros((len(self._classes), stop - start), dtype=np.int64)
        for first in range(start, stop, _SLICE):
            ids = np.arange(first, min(first + _SLICE, stop))
            found[:, first - start : ids[-1] + 1 - start] = self._slice(ids)
        return found

    def _slice(self, ids: IntArray) -> IntArray:
        edges = self._edges
        codes = sides_of(edges.ends(ids), self._at)
        a, b = edges.a[ids], edges.b[ids]
        total = np.zeros((len(self._classes), len(ids)), dtype=np.int64)
        for weight in np.unique(self._weight).tolist():
            rows = np.flatnonzero(self._weight == weight).tolist()
            crossed = np.zeros(len(ids), dtype=np.int32)
            overlapped = np.zeros(len(ids), dtype=np.int32)
            for row in rows:
                side, (p, q) = self._side[row], self._points[row]
                one, two = codes[p], codes[q]
                crossed += (side[a] * side[b] + one * two) == _APART
                line = np.flatnonzero((one | two) == 0)
                if len(line):
                    overlapped[line] += overlaps(edges.ends(ids[line]), self._ends[row])
            both = crossed.astype(np.int64) * CROSSING + overlapped
            total += np.maximum(self._classes, weight)[:, None] * both
        return total


def segments(
    trees: Mapping[int, IntArray], cols: PadColumns, weight: IntArray
) -> tuple[IntArray, IntArray]:
    """Segments (n, 4) and weights of trees given as pad pairs by net."""
    pads = np.concatenate([np.empty((0, 2), dtype=np.int64), *trees.values()])
    nets = np.repeat(np.array(list(trees), dtype=np.int64), [len(tree) for tree in trees.values()])
    x, y = cols.x[pads], cols.y[pads]
    return np.stack([x[:, 0], y[:, 0], x[:, 1], y[:, 1]], axis=1), weight[nets]


class Counts:
    """``meets`` for all edges, kept up to date while edges come and go."""

    def __init__(self, edges: Edges, fixed: Fixed, classes: IntArray) -> None:
        self._edges, self._fixed, self._classes = edges, fixed, classes
        self.meets = np.zeros((len(classes), 0), dtype=np.int64)
        self.background = self.meets.copy()
        self._size = 0
        self._present: dict[tuple[int, int], int] = {}
        self._rows: dict[int, tuple[np.ndarray, IntArray]] = {}

    def change(self, gone: list[tuple[int, int]], come: list[tuple[int, int]]) -> None:
        """Take edges off the board and put others on it, each as (edge, weight)."""
        self.grow()
        for sign, items in ((-1, gone), (1, come)):
            for item in items:
                self._present[item] = self._present.get(item, 0) + sign
                if not self._present[item]:
                    del self._present[item]
        if len(self._classes) == 1 and len({weight for _, weight in gone + come}) == 1:
            self._change_alike(gone, come)
            return
        for sign, items in ((-1, gone), (1, come)):
            for edge, weight in items:
                crossed, line = self._row(edge)
                factor = sign * np.maximum(self._classes, weight)[:, None]
                self.meets[:, : self._size] += factor * (crossed.astype(np.int64) * CROSSING)
                self.meets[:, line] += factor

    def _change_alike(self, gone: list[tuple[int, int]], come: list[tuple[int, int]]) -> None:
        """The same where all weights are one: bytes are summed first."""
        factor = max(int(self._classes[0]), (gone + come)[0][1])
        meets = self.meets[0]
        total = np.zeros(self._size, dtype=np.int16)
        for sign, items in ((-1, gone), (1, come)):
            for edge, _ in items:
                crossed, line = self._row(edge)
                if sign > 0:
                    total += crossed
                else:
                    total -= crossed
                meets[line] += sign * factor
        meets[: self._size] += total.astype(np.int64) * (factor * CROSSING)

    def clear(self) -> None:
        """Take everything off the board but the fixed segments."""
        self.grow()
        self._present.clear()
        self.meets[:, : self._size] = self.background[:, : self._size]

    def _row(self, edge: int) -> tuple[np.ndarray, IntArray]:
        """The row of one edge, from memory where it has been asked before."""
        known = self._rows.pop(edge, None)
        if known is None:
            crossed, line = self._edges.row(edge)
            known = (crossed.view(np.int8), line)
        elif len(known[0]) < self._size:
            crossed, line = self._edges.row(edge, len(known[0]))
            known = (
                np.concatenate([known[0], crossed.view(np.int8)]),
                np.concatenate([known[1], line]),
            )
        self._rows[edge] = known
        while len(self._rows) * self._size > _MEMORY:
            del self._rows[next(iter(self._rows))]
        return known

    def grow(self) -> None:
        """Count for edges that are new in the table."""
        start, stop = self._size, len(self._edges)
        if start == stop:
            return
        if stop > self.meets.shape[1]:
            capacity = stop + stop // 8 + _ROOM
            wider = np.zeros((2, len(self._classes), capacity), dtype=np.int64)
            wider[0, :, :start], wider[1, :, :start] = (
                self.meets[:, :start],
                self.background[:, :start],
            )
            self.meets, self.background = wider[0], wider[1]
        new = slice(start, stop)
        self.background[:, new] = self.meets[:, new] = self._fixed.meets(start, stop)
        self._size = stop
        if self._present:
            self.meets[:, new] += self._against_present(np.arange(start, stop))

    def _against_present(self, ids: IntArray) -> IntArray:
        edge, weight = np.array(list(self._present), dtype=np.int64).T
        times = np.array(list(self._present.values()), dtype=np.int64)
        crossed, overlapped = self._edges.meet(np.repeat(ids, len(edge)), np.tile(edge, len(ids)))
        meeting = (crossed * CROSSING + overlapped).reshape(len(ids), len(edge)) * times
        return np.asarray(np.maximum(self._classes[:, None], weight) @ meeting.T)
