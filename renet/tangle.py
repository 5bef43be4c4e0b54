"""How tangled a board is: connections, crossings, overlaps, over-pads, length.

The definitions are those of the design (section 2), counted exactly over
integer nanometres.  Pairs come from a grid (:mod:`renet.grid`), so the work is
near-linear in the connections of a real board.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass

import numpy as np

from renet import grid
from renet.changes import Figures
from renet.columns import PadColumns
from renet.geometry import NM_PER_MM, crosses, overlaps, passes_through
from renet.model import NONE, Board, BoolArray, IntArray
from renet.spanning import span, tree

__all__ = [
    "Connections",
    "Tangle",
    "connections",
    "crossing_pairs",
    "length_mm",
    "lengths",
    "measure",
    "over_pad_pairs",
    "overlap_pairs",
    "pin_nets",
    "span",
]

_EXACT = 1 << 53
_SCALE = 32
_FEW = 32


@dataclass(frozen=True, slots=True)
class Connections:
    """Edges of all spanning trees: by net id, then in Kruskal order.

    ``a`` and ``b`` are pad ids (``a`` the lower end), ``ends`` is (m, 4): x1 y1 x2 y2.
    """

    net: IntArray
    a: IntArray
    b: IntArray
    ends: IntArray

    def __len__(self) -> int:
        return len(self.net)


@dataclass(frozen=True, slots=True)
class Tangle:
    """Connections with every pair that counts against them, each sorted by row.

    ``crossings`` and ``overlaps`` are (k, 2) connection pairs, ``over_pads`` is
    (k, 2): connection, pin.
    """

    connections: Connections
    crossings: IntArray
    overlaps: IntArray
    over_pads: IntArray

    @property
    def figures(self) -> Figures:
        """The four numbers everybody compares."""
        return Figures(
            len(self.crossings),
            len(self.overlaps),
            len(self.over_pads),
            length_mm(self.connections.ends),
        )


def measure(board: Board, cols: PadColumns, labels: IntArray, left_out: Collection[int]) -> Tangle:
    """The whole tangle; ``labels`` says which pads copper has joined."""
    found = connections(board, cols, labels, left_out)
    crossed, overlapped = _pairs(found.ends, found.net, crosses, overlaps)
    return Tangle(found, crossed, overlapped, over_pad_pairs(found, cols, pin_nets(board)))


def pin_nets(board: Board) -> IntArray:
    """The net of every pin."""
    return np.array([pin.net for pin in board.pins], dtype=np.int64)


def connections(
    board: Board, cols: PadColumns, labels: IntArray, left_out: Collection[int]
) -> Connections:
    """All open connections of the nets that are not left out; a pad is on the net of its pin."""
    net = np.append(pin_nets(board), NONE)[cols.pin]
    counts = np.zeros(len(board.nets) + 1, dtype=bool)
    counts[:-1] = True
    counts[list(left_out)] = False
    pads = np.flatnonzero(cols.node & counts[net])
    pads = pads[np.lexsort((cols.rank[pads], net[pads]))]
    edges = _edges(cols.x[pads], cols.y[pads], labels[pads], net[pads])
    a, b = pads[edges[:, 0]], pads[edges[:, 1]]
    ends = np.stack([cols.x[a], cols.y[a], cols.x[b], cols.y[b]], axis=1)
    return Connections(net[a], a, b, ends)


def _edges(x: IntArray, y: IntArray, label: IntArray, net: IntArray) -> IntArray:
    """Index pairs (m, 2) of the trees of all nets; the points are sorted by net and end."""
    if not len(net):
        return np.empty((0, 2), dtype=np.int64)
    start = np.flatnonzero(np.diff(net, prepend=NONE))
    stop = np.append(start[1:], len(net))
    edges = []
    for first, last in zip(start.tolist(), stop.tolist(), strict=True):
        if last - first > 1:
            part = slice(first, last)
            edges += [(first + i, first + j) for i, j in tree(x[part], y[part], label[part])]
    return np.array(edges, dtype=np.int64).reshape(-1, 2)


def lengths(ends: IntArray) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Lengths of segments (m, 4) in nanometres, each correctly rounded to float64."""
    squared = (ends[:, 2] - ends[:, 0]) ** 2 + (ends[:, 3] - ends[:, 1]) ** 2
    result = np.sqrt(squared.astype(np.float64))
    for row in np.flatnonzero(squared > _EXACT).tolist():
        result[row] = _root(int(squared[row]))
    return result


def _root(square: int) -> float:
    """The square root of a whole number, rounded once: the integer root keeps a sticky bit."""
    wide = square << (2 * _SCALE)
    root = math.isqrt(wide)
    return math.ldexp(float(root | (root * root != wide)), -_SCALE)


def length_mm(ends: IntArray) -> float:
    """Total length in millimetres, rounded to the nanometre; the order of rows does not matter."""
    return round(math.fsum(lengths(ends).tolist()) / NM_PER_MM, 6)


def crossing_pairs(ends: IntArray, net: IntArray) -> IntArray:
    """Pairs (k, 2) of segments (m, 4) of different nets that cross, lower index first, sorted."""
    return _pairs(ends, net, crosses)[0]


def overlap_pairs(ends: IntArray, net: IntArray) -> IntArray:
    """Pairs (k, 2) of segments of different nets in one line with more than a point in common."""
    return _pairs(ends, net, overlaps)[0]


def _pairs(
    ends: IntArray, net: IntArray, *tests: Callable[[IntArray, IntArray], BoolArray]
) -> list[IntArray]:
    """For each test the pairs that pass it, found in one walk over the candidates."""
    found: list[list[IntArray]] = [[np.empty((0, 2), dtype=np.int64)] for _ in tests]
    for i, j in _meeting(ends, net):
        first, second = ends[i], ends[j]
        for test, pairs in zip(tests, found, strict=True):
            hit = test(first, second)
            pairs.append(np.stack([np.minimum(i, j)[hit], np.maximum(i, j)[hit]], axis=1))
    return [grid.distinct(np.concatenate(pairs), len(net)) for pairs in found]


def _meeting(ends: IntArray, net: IntArray) -> Iterator[tuple[IntArray, IntArray]]:
    """Blocks of pairs of different nets whose bounding boxes meet; repeats are possible."""
    boxes = grid.segment_boxes(ends)
    entries = grid.enter_segments(grid.lay(boxes), ends)
    for i, j in grid.pairs_within(entries):
        near = np.flatnonzero(net[i] != net[j])
        i, j = i[near], j[near]
        near = np.flatnonzero(grid.boxes_meet(boxes[i], boxes[j]))
        yield i[near], j[near]


def over_pad_pairs(found: Connections, cols: PadColumns, pin_net: IntArray) -> IntArray:
    """Pairs (k, 2) of (connection, pin) where the connection runs over a foreign pad, sorted.

    A pin counts once per connection, whichever of its pads are hit, and not at
    all where one of its pads lies at the very point of an end.
    """
    pads = np.flatnonzero(cols.pin != NONE)
    boxes = np.concatenate([cols.corners.min(axis=1), cols.corners.max(axis=1)], axis=1)
    reach = grid.segment_boxes(found.ends)
    sides = cols.sides[found.a] | cols.sides[found.b]
    hits = [np.empty((0, 2), dtype=np.int64)]
    for i, j in _candidates(found.ends, boxes[pads]):
        pad = pads[j]
        near = (pin_net[cols.pin[pad]] != found.net[i]) & grid.boxes_meet(reach[i], boxes[pad])
        near &= cols.through[pad] | ((sides[i] & cols.sides[pad]) != 0)
        # Or thousands of pads at one point would be held for each connection that ends there.
        near &= ~_stands_at(cols, pad, found.ends[i])
        i, pad = i[near], pad[near]
        over = passes_through(found.ends[i], cols.corners[pad])
        hits.append(np.stack([i[over], cols.pin[pad[over]]], axis=1))
    pairs = grid.distinct(np.concatenate(hits), len(pin_net))
    return pairs[~_at_an_end(pairs, found, cols)]


def _candidates(ends: IntArray, boxes: IntArray) -> Iterator[tuple[IntArray, IntArray]]:
    """Blocks of pairs (segment, box) with all that may touch; repeats are possible."""
    reach = grid.segment_boxes(ends)
    if len(ends) <= _FEW:
        for part in grid.blocks(np.full(len(ends), len(boxes))):
            i, j = np.nonzero(grid.boxes_meet(reach[part, None], boxes[None]))
            yield i + part.start, j
        return
    field = grid.lay(np.concatenate([reach, boxes]))
    yield from grid.pairs_between(grid.enter_segments(field, ends), grid.enter_boxes(field, boxes))


def _at_an_end(pairs: IntArray, found: Connections, cols: PadColumns) -> BoolArray:
    """Whether a pad of the pin stands at the point of one of the connection's ends."""
    connection, pin = pairs[:, 0], pairs[:, 1]
    wanted = np.zeros(int(cols.pin.max(initial=NONE)) + 2, dtype=bool)
    wanted[pin] = True
    pads = np.flatnonzero(wanted[cols.pin])
    pads = pads[np.argsort(cols.pin[pads], kind="stable")]
    first = np.searchsorted(cols.pin[pads], pin)
    pair, place = grid.spread(first, np.searchsorted(cols.pin[pads], pin, side="right") - first)
    at = _stands_at(cols, pads[place], found.ends[connection[pair]])
    stands = np.zeros(len(pairs), dtype=bool)
    stands[pair[at]] = True
    return stands


def _stands_at(cols: PadColumns, pad: IntArray, ends: IntArray) -> BoolArray:
    """Whether each pad lies at the very point of an end of the segment beside it."""
    x, y = cols.x[pad], cols.y[pad]
    first = (x == ends[:, 0]) & (y == ends[:, 1])
    return np.asarray(first | ((x == ends[:, 2]) & (y == ends[:, 3])))
