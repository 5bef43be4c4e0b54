"""Spanning trees of one net for every place at which one of its pins may stand.

The tree of a net with one more pad consists of edges of the tree without it and
of edges at the new pad (Kruskal: an edge that closes a cycle of shorter ones
stays out, whatever is added).  So all trees are grown at once by Prim's method
on that little graph, a row per place.  Edges carry a whole number that orders
them as the design orders connections, so ties fall as in :mod:`renet.spanning`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from renet.columns import PadColumns
from renet.model import NONE, IntArray
from renet.spanning import span

_NEVER = np.iinfo(np.int64).max
_NONE: IntArray = np.empty(0, dtype=np.int64)
_NO_EDGES: IntArray = np.empty((0, 2), dtype=np.int64)


class Trees(NamedTuple):
    """Edges that depend on the place, as rows (place, pad, pad), and those that do not.

    ``common`` is (k, 2): edges in the tree of every place.
    """

    place: IntArray
    a: IntArray
    b: IntArray
    common: IntArray


class _Star(NamedTuple):
    """Best edge from each place to each node: its order number (``NONE``: same node)."""

    order: IntArray
    tree_order: IntArray
    a: IntArray
    b: IntArray


def insert(base: IntArray, pads: IntArray, cols: PadColumns, labels: IntArray) -> Trees:
    """Trees of ``base`` with one more pad, place by place: place ``i`` is ``pads[i]``."""
    if not len(base):
        return Trees(_NONE, _NONE, _NONE, _NO_EDGES)
    if len(base) == 1:
        apart = np.flatnonzero(labels[pads] != labels[base[0]])
        return Trees(apart, np.repeat(base, len(apart)), pads[apart], _NO_EDGES)
    names, node = np.unique(labels[base], return_inverse=True)
    tree = span(base, cols, labels)
    star = _star(base, node.reshape(-1), pads, tree, cols, labels)
    joints = np.searchsorted(names, labels[tree])
    return _grow(star, joints, tree, len(pads))


def insert_sets(
    base: IntArray, sets: Sequence[IntArray], cols: PadColumns, labels: IntArray
) -> Trees:
    """The same for any number of pads at a place, without any haste."""
    trees = [span(np.concatenate([base, pads]), cols, labels) for pads in sets]
    found = [set(map(tuple, tree.tolist())) for tree in trees]
    common = set.intersection(*found) if found else set()
    rows = [(i, a, b) for i, edges in enumerate(found) for a, b in sorted(edges - common)]
    table = np.array(rows, dtype=np.int64).reshape(-1, 3)
    kept = np.array(sorted(common), dtype=np.int64).reshape(-1, 2)
    return Trees(table[:, 0], table[:, 1], table[:, 2], kept)


def _star(
    base: IntArray,
    node: IntArray,
    pads: IntArray,
    tree: IntArray,
    cols: PadColumns,
    labels: IntArray,
) -> _Star:
    """Number all edges in their order and keep each place's best edge to each node."""
    one = np.concatenate([np.repeat(pads, len(base)), tree[:, 0]])
    two = np.concatenate([np.tile(base, len(pads)), tree[:, 1]])
    square = (cols.x[one] - cols.x[two]) ** 2 + (cols.y[one] - cols.y[two]) ** 2
    low = np.minimum(cols.rank[one], cols.rank[two])
    high = np.maximum(cols.rank[one], cols.rank[two])
    sequence = np.lexsort((high, low, square))
    order = np.empty(len(one), dtype=np.int64)
    order[sequence] = np.arange(len(one))
    split = len(pads) * len(base)
    star = order[:split].reshape(len(pads), len(base))
    star = np.where(labels[pads][:, None] == labels[base][None, :], NONE, star)
    by_node = np.argsort(node, kind="stable")
    first = np.flatnonzero(np.diff(node[by_node], prepend=NONE))
    best = np.minimum.reduceat(star[:, by_node], first, axis=1)
    return _Star(best, order[split:], one[sequence], two[sequence])


def _grow(star: _Star, joints: IntArray, tree: IntArray, count: int) -> Trees:
    """Prim from every place at once over its star and the edges of ``tree``."""
    nodes = star.order.shape[1]
    link = np.full((nodes, nodes), _NEVER, dtype=np.int64)
    link[joints[:, 0], joints[:, 1]] = link[joints[:, 1], joints[:, 0]] = star.tree_order
    row = np.arange(count)
    best, outside = star.order.copy(), np.ones((count, nodes), dtype=bool)
    taken = np.empty((count, nodes), dtype=np.int64)
    for step in range(nodes):
        nearest = np.where(outside, best, _NEVER).argmin(axis=1)
        taken[:, step] = best[row, nearest]
        outside[row, nearest] = False
        np.minimum(best, link[nearest], out=best)
    inside = np.zeros((count, len(star.a)), dtype=bool)
    place, turn = np.nonzero(taken != NONE)
    inside[place, taken[place, turn]] = True
    always = inside[:, star.tree_order].all(axis=0)
    inside[:, star.tree_order[always]] = False
    place, order = np.nonzero(inside)
    return Trees(place, star.a[order], star.b[order], tree[always])
