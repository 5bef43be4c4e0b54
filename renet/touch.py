"""Which copper touches which: grid candidates, then distances of edges and insides.

Two pieces of copper touch when their shapes share a point, with ``TOUCH_NM`` to
spare for coordinates that were rounded when they were written or turned.  They
must share a layer.  Orientation products are exact integers; only the last
comparison with a distance is in float64, which is exact for axis-parallel edges.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet import grid
from renet.geometry import crosses
from renet.model import BoolArray, IntArray
from renet.shapes import Cores, Elements

TOUCH_NM = 5


def touching(table: Elements, a: Cores, b: Cores, same_net: bool) -> IntArray:
    """Pairs (k, 2) of an element of ``a`` and one of ``b`` that touch, sorted, all different.

    With ``same_net`` only pairs of one net count (no net is a net here), else
    only pairs of different nets.  A pair of one element with itself never counts.
    """
    if not len(a) or not len(b):
        return np.empty((0, 2), dtype=np.int64)
    found = [_inside(table, a, b, same_net), _inside(table, b, a, same_net)[:, ::-1]]
    one, two = _edges(table, a), _edges(table, b)
    one, two = _around(one, two), _around(two, one)
    field = grid.lay(np.concatenate([one.boxes, two.boxes]))
    blocks = grid.pairs_between(_enter(field, one, same_net), _enter(field, two, same_net))
    for i, j in blocks:
        near = np.flatnonzero(_counts(table, one.element[i], two.element[j], same_net))
        pairs = _within_reach(one, two, i[near], j[near])
        found.append(grid.distinct(pairs, len(table)))
    return grid.distinct(np.concatenate(found), len(table))


def clusters(table: Elements, cores: Cores) -> IntArray:
    """For every element of ``table`` the lowest that touching copper of its net leads to.

    Elements without cores stay alone.  Pairs that are already known to hang
    together are not looked at again, so heaps of copper cost little.
    """
    label = np.arange(len(table))
    if not len(cores):
        return label
    label = _merged(label, _inside(table, cores, cores, True))
    edges = _edges(table, cores)
    entries = _enter(grid.lay(edges.boxes), edges, same_net=True)
    for i, j in grid.pairs_within(entries, edges.element):
        apart = np.flatnonzero(label[edges.element[i]] != label[edges.element[j]])
        i, j = i[apart], j[apart]
        near = np.flatnonzero(_counts(table, edges.element[i], edges.element[j], True))
        label = _merged(label, _within_reach(edges, edges, i[near], j[near]))
    return label


class _Edges(NamedTuple):
    """The edges of many cores, with what is needed of them again and again."""

    ends: IntArray
    element: IntArray
    radius: NDArray[np.float64]
    grow: IntArray
    boxes: IntArray
    net: IntArray


def _edges(table: Elements, cores: Cores) -> _Edges:
    core = cores.core_of_edge
    element, radius = cores.element[core], cores.radius[core]
    grow = np.ceil(radius).astype(np.int64) + TOUCH_NM
    boxes = grid.segment_boxes(cores.edges, grow)
    return _Edges(cores.edges, element, radius, grow, boxes, table.net[element])


def _around(edges: _Edges, others: _Edges) -> _Edges:
    """Those edges that may meet one of the others: of large areas most do not."""
    near = grid.may_meet(edges.boxes, others.boxes)
    return _Edges(**{name: column[near] for name, column in edges._asdict().items()})


def _enter(field: grid.Grid, edges: _Edges, same_net: bool) -> grid.Entries:
    group = edges.net + 1 if same_net else 0
    return grid.enter_segments(field, edges.ends, edges.grow, group)


def _counts(table: Elements, i: IntArray, j: IntArray, same_net: bool) -> BoolArray:
    """Whether elements i and j share a layer and are of the same (or of different) nets."""
    nets = (table.net[i] == table.net[j]) == same_net
    return np.asarray(nets & ((table.layers[i] & table.layers[j]) != 0) & (i != j))


def _within_reach(a: _Edges, b: _Edges, i: IntArray, j: IntArray) -> IntArray:
    """Element pairs (k, 2) of the edges i of a and j of b that come within reach."""
    near = np.flatnonzero(grid.boxes_meet(a.boxes[i], b.boxes[j]))
    i, j = i[near], j[near]
    hit = within(a.ends[i], b.ends[j], a.radius[i] + b.radius[j] + TOUCH_NM)
    return np.stack([a.element[i[hit]], b.element[j[hit]]], axis=1)


def _merged(label: IntArray, pairs: IntArray) -> IntArray:
    """Labels after the clusters of each pair became one; a cluster is named by its lowest.

    Every cluster that sees a lower one hangs itself below the lowest it sees, then
    all paths are shortened; their number at least halves every two rounds.
    """
    a, b = pairs[:, 0], pairs[:, 1]
    label = label.copy()
    while True:
        first, second = label[a], label[b]
        apart = first != second
        if not apart.any():
            return label
        a, b = a[apart], b[apart]
        low = np.minimum(first[apart], second[apart])
        np.minimum.at(label, np.maximum(first[apart], second[apart]), low)
        while not np.array_equal(label, label[label]):
            label = label[label]


def _inside(table: Elements, a: Cores, b: Cores, same_net: bool) -> IntArray:
    """Element pairs (k, 2) where a core of ``b`` starts inside a polygon of ``a``.

    Even-odd rule along a ray to the right, for all polygons and points at once:
    the points are sorted by (group, height), so an edge meets only those beside it.
    """
    at = b.edges[b.start[:-1], :2]
    edge = np.flatnonzero(a.filled[a.core_of_edge])
    polygon, ends = a.core_of_edge[edge], a.edges[edge]
    odd = [np.empty(0, dtype=np.int64)]
    for row, point in _beside(table, (polygon, ends, a), (at, b), same_net):
        core = polygon[row]
        right = _counts(table, a.element[core], b.element[point], same_net)
        right &= _lies_right(ends[row], at[point])
        odd.append(core[right] * len(b) + point[right])
    key, times = np.unique(np.concatenate(odd), return_counts=True)
    core, point = np.divmod(key[times % 2 == 1], len(b))
    return np.stack([a.element[core], b.element[point]], axis=1)


def _beside(
    table: Elements,
    edges: tuple[IntArray, IntArray, Cores],
    points: tuple[IntArray, Cores],
    same_net: bool,
) -> Iterator[tuple[IntArray, IntArray]]:
    """Blocks of (edge, point) where the edge spans the height of the point, by group."""
    polygon, ends, a = edges
    at, b = points
    if not len(ends):
        return
    low, high = np.minimum(ends[:, 1], ends[:, 3]), np.maximum(ends[:, 1], ends[:, 3])
    base = min(int(at[:, 1].min()), int(low.min()))
    band = (max(int(at[:, 1].max()), int(high.max())) - base + 1) * same_net
    height = (table.net[b.element] + 1) * band + at[:, 1] - base
    order = np.argsort(height, kind="stable")
    bottom = (table.net[a.element[polygon]] + 1) * band - base
    first = np.searchsorted(height[order], bottom + low)
    count = np.searchsorted(height[order], bottom + high) - first
    for block in grid.blocks(count):
        row, place = grid.spread(first[block], count[block])
        yield row + block.start, order[place]


def _lies_right(edge: IntArray, at: IntArray) -> BoolArray:
    """Whether the edge (which spans the height of the point) lies to the right of it."""
    x1, y1, x2, y2 = (edge[:, i] for i in range(4))
    side = (x2 - x1) * (at[:, 1] - y1) - (at[:, 0] - x1) * (y2 - y1)
    return np.asarray(np.where(y2 > y1, side > 0, side < 0))


def within(a: IntArray, b: IntArray, reach: NDArray[np.float64]) -> BoolArray:
    """Whether segments (n, 4) come within ``reach`` of each other, row by row."""
    hit = crosses(a, b)
    for point, segment in ((a[:, :2], b), (a[:, 2:], b), (b[:, :2], a), (b[:, 2:], a)):
        rest = np.flatnonzero(~hit)
        hit[rest] = _near(point[rest], segment[rest], reach[rest])
    return hit


def _near(point: IntArray, segment: IntArray, reach: NDArray[np.float64]) -> BoolArray:
    """Whether points (n, 2) lie within ``reach`` of segments (n, 4)."""
    ux, uy = segment[:, 2] - segment[:, 0], segment[:, 3] - segment[:, 1]
    wx, wy = point[:, 0] - segment[:, 0], point[:, 1] - segment[:, 1]
    along, square = wx * ux + wy * uy, ux * ux + uy * uy
    past_end = (wx - ux) ** 2 + (wy - uy) ** 2
    to_end = np.where(along <= 0, wx * wx + wy * wy, past_end)
    aside = np.abs(ux * wy - uy * wx) <= reach * np.sqrt(square.astype(np.float64))
    beside = (along > 0) & (along < square)
    return np.asarray(np.where(beside, aside, to_end <= reach * reach))
