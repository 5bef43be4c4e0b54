"""The Euclidean minimum spanning tree of one net, exact and with settled ties.

Edges are ordered by (squared length, lower end, upper end); the order is total,
so the tree is unique and no choice of algorithm can show in the result.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from renet.columns import PadColumns
from renet.model import IntArray

FEW = 48
_FAR = np.iinfo(np.int64).max


def span(pads: IntArray, cols: PadColumns, labels: IntArray) -> IntArray:
    """Minimum spanning tree of ``pads`` (ids, any order) as pad id pairs (k, 2).

    Pads with equal ``labels`` are one node; an edge runs between the two nearest
    pads of its nodes.  Rows are in Kruskal order, the lower end comes first.
    """
    pads = pads[np.argsort(cols.rank[pads])]
    edges = tree(cols.x[pads], cols.y[pads], labels[pads])
    return pads[np.array(edges, dtype=np.int64).reshape(-1, 2)]


def tree(x: IntArray, y: IntArray, label: IntArray) -> list[tuple[int, int]]:
    """As :func:`span`, for points already in the order of ends; gives index pairs."""
    if len(x) <= FEW:
        return kruskal(x.tolist(), y.tolist(), label.tolist())
    return prim(x, y, label)


def kruskal(x: Sequence[int], y: Sequence[int], label: Sequence[int]) -> list[tuple[int, int]]:
    """The tree for a few points in the order of ends, over all their pairs."""
    if len(x) == 2:
        return [(0, 1)] if label[0] != label[1] else []
    edges = [
        ((x[i] - x[j]) ** 2 + (y[i] - y[j]) ** 2, i, j)
        for j in range(len(x))
        for i in range(j)
        if label[i] != label[j]
    ]
    edges.sort()
    root = {name: name for name in label}
    found = []
    for _, i, j in edges:
        a, b = label[i], label[j]
        while root[a] != a:
            root[a] = a = root[root[a]]
        while root[b] != b:
            root[b] = b = root[root[b]]
        if a != b:
            root[b] = a
            found.append((i, j))
            if len(found) == len(root) - 1:
                break
    return found


class _Outside:
    """The points not yet in the tree, each with its best edge into it.

    Columns are shortened by moving the last point into the gap.  ``tie`` holds
    both ends of the best edge as one number, so that it orders by (lower, upper).
    """

    def __init__(self, x: IntArray, y: IntArray, label: IntArray) -> None:
        self.count = len(x)
        self.all = (x, y)
        self.x, self.y, self.label = x.copy(), y.copy(), label.copy()
        self.index = np.arange(len(x))
        self.length = np.full(len(x), _FAR)
        self.tie = np.full(len(x), _FAR)

    def take(self, label: int) -> list[int]:
        """Remove all points with this label; gives their indices."""
        places = np.flatnonzero(self.label[: self.count] == label)
        taken: list[int] = self.index[places].tolist()
        for place in places[::-1].tolist():
            self.count -= 1
            for column in (self.x, self.y, self.label, self.index, self.length, self.tie):
                column[place] = column[self.count]
        return taken

    def see(self, point: int) -> None:
        """Let every outside point consider the edge to ``point``, now in the tree."""
        live = slice(0, self.count)
        x, y = (int(column[point]) for column in self.all)
        length = (self.x[live] - x) ** 2 + (self.y[live] - y) ** 2
        nearer = np.flatnonzero(length <= self.length[live])
        other, length = self.index[nearer], length[nearer]
        size = len(self.all[0])
        tie = np.minimum(other, point) * size + np.maximum(other, point)
        better = (length < self.length[nearer]) | (tie < self.tie[nearer])
        nearer = nearer[better]
        self.length[nearer], self.tie[nearer] = length[better], tie[better]

    def nearest(self) -> tuple[int, int, int]:
        """(squared length, tie, label of the new point) of the least edge into the tree."""
        length = self.length[: self.count]
        least = length.min()
        ties = np.flatnonzero(length == least)
        place = int(ties[np.argmin(self.tie[ties])])
        return int(least), int(self.tie[place]), int(self.label[place])


def prim(x: IntArray, y: IntArray, label: IntArray) -> list[tuple[int, int]]:
    """The tree for many points: time is quadratic, memory linear."""
    outside = _Outside(x, y, label)
    edges = []
    entering = int(label[0])
    while True:
        for point in outside.take(entering):
            outside.see(point)
        if not outside.count:
            break
        length, tie, entering = outside.nearest()
        edges.append((length, *divmod(tie, len(x))))
    return [(i, j) for _, i, j in sorted(edges)]
