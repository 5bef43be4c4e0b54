"""The cheapest way over the track grid, in a window, with the congestion priced in.

One step costs ``STEP``; a step against a layer's direction, allowed only close
to the ends, ``WRONG`` steps; a via ``VIA`` steps (3 mm at the usual pitch).  What
may run against directions anywhere may also step over a cell at 45 degrees: bundles
of tracks that step aside one by one need less room so.  On
top come the prices of what other nets use.  Distances to the target's window are
used as a potential, so that Dijkstra's method looks at little more than the way
itself, and a growing limit stops it early.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from renet.channels.obstacles import Ground
from renet.channels.occupancy import Occupancy
from renet.channels.raster import FREE
from renet.channels.ways import Ends, Prices, Way, Window
from renet.model import NONE, BoolArray, IntArray

Floats = NDArray[np.float64]

STEP = 1.0
WRONG = 2.5
SLANT = 3.0
VIA = 10.0
NEAR_END = 12
LIMITS = (25.0, 120.0, np.inf)


class Search:
    """Finds ways for one ground and its occupancy."""

    def __init__(self, ground: Ground, ways: str, occupancy: Occupancy, fine: int = 1) -> None:
        self.ground, self.ways, self.occupancy = ground, ways, occupancy
        self.fine, self.loose = fine, False
        lattice = ground.lattice
        self._shape = (len(ground.layers), lattice.rows, lattice.columns)
        self._along = ground.along.reshape(self._shape)
        self._down = ground.down.reshape(self._shape)
        self._falls = ground.falls.reshape(self._shape)
        self._rises = ground.rises.reshape(self._shape)
        self._via = ground.via.reshape(self._shape[1:])

    def find(self, net: int, ends: tuple[Ends, Ends], window: Window, prices: Prices) -> Way | None:
        """The cheapest way for ``net`` inside the window, None where there is none."""
        inside = [self._within(end, window) for end in ends]
        if not (len(inside[0].nodes) and len(inside[1].nodes)):
            return None
        start, stop = (self._with_loads(end, prices) for end in inside)
        if not (len(start.nodes) and len(stop.nodes)):
            return None
        graph = self._graph(net, (start, stop), window, prices)
        target, source = graph.shape[0] - 2, graph.shape[0] - 1
        for limit in LIMITS:
            distance, before = dijkstra(
                graph, indices=source, return_predecessors=True, limit=limit * self.fine
            )
            if np.isfinite(distance[target]):
                return self._walk(before, (start, stop), window)
        return None

    def _within(self, ends: Ends, window: Window) -> Ends:
        row, column = self._cell(ends.nodes)
        keep = (row >= window.top) & (row < window.bottom)
        keep &= (column >= window.left) & (column < window.right)
        return Ends(ends.nodes[keep], ends.cost[keep], ends.stubs[keep])

    def _cell(self, nodes: IntArray) -> tuple[IntArray, IntArray]:
        point = nodes % (self._shape[1] * self._shape[2])
        return point // self._shape[2], point % self._shape[2]

    def _with_loads(self, ends: Ends, prices: Prices) -> Ends:
        """Each node once, at its lowest cost with the price of what stands in the way."""
        load = self.occupancy.node_load[ends.nodes].astype(np.float64)
        stubbed = np.flatnonzero(ends.stubs != NONE)
        load[stubbed] += self.occupancy.stub_loads(ends.stubs[stubbed])
        cost = ends.cost + _priced(load, prices.present) + prices.nodes[ends.nodes]
        order = np.lexsort((ends.stubs, cost, ends.nodes))
        first = np.append(True, np.diff(ends.nodes[order]) != 0)[: len(order)]
        keep = order[first & np.isfinite(cost[order])]
        return Ends(ends.nodes[keep], cost[keep], ends.stubs[keep])

    def _graph(
        self, net: int, ends: tuple[Ends, Ends], window: Window, prices: Prices
    ) -> csr_matrix:
        """The window as a graph of fixed fan-out; its last two nodes are target and source."""
        top, left, bottom, right = window
        cut = (slice(None), slice(top, bottom), slice(left, right))
        load = self.occupancy.node_load.reshape(self._shape)[cut]
        extra = _priced(load, prices.present) + prices.nodes.reshape(self._shape)[cut]
        layers = len(extra)
        number = np.arange(extra.size, dtype=np.int32).reshape(extra.shape)
        first = 8 if self.loose else 4
        slots = first + layers
        to = np.repeat(number[..., None], slots, axis=3)
        weight = np.full((*extra.shape, slots), np.inf)
        ahead = self._ahead(ends[1].nodes, window)
        along, down = self._steps(net, ends, window)
        for slot, axis, price in ((0, 2, along), (2, 1, down)):
            _link(to, weight, (slot, axis), price, (extra, number, ahead))
        if self.loose:
            for slot, owners in ((4, self._falls), (6, self._rises)):
                price = self._slants(net, owners[cut], window, prices)
                _slant(to, weight, slot, price, (extra, number, ahead))
        via = VIA * self.fine + self._via_prices(net, window, prices)
        for shift in range(1, layers):
            to[..., first - 1 + shift] = np.roll(number, -shift, axis=0)
            gain = np.roll(ahead, -shift, axis=0) - ahead
            weight[..., first - 1 + shift] = via + np.roll(extra, -shift, axis=0) + gain
        flat_to, flat_weight = to.reshape(-1, slots), weight.reshape(-1, slots)
        stop = self._numbers(ends[1].nodes, window)
        flat_to[stop, -1] = number.size
        flat_weight[stop, -1] = ends[1].cost - ahead.ravel()[stop]
        start = self._numbers(ends[0].nodes, window)
        out = ends[0].cost + ahead.ravel()[start]
        pointers = np.arange(number.size + 1) * slots
        pointers = np.append(pointers, [pointers[-1], pointers[-1] + len(start)])
        data = np.concatenate([flat_weight.ravel(), out - out.min()])
        indices = np.concatenate([flat_to.ravel(), start])
        size = number.size + 2
        return csr_matrix((data, indices, pointers), shape=(size, size))

    def _steps(self, net: int, ends: tuple[Ends, Ends], window: Window) -> tuple[Floats, Floats]:
        """What a step to the next column, and to the next row, costs from each node."""
        top, left, bottom, right = window
        cut = (slice(None), slice(top, bottom), slice(left, right))
        close = np.where(self._close(ends, window), WRONG * STEP, np.inf)
        found = []
        for owners, right_way in ((self._along, "h"), (self._down, "v")):
            free = _usable(owners[cut], net)
            price = np.stack(
                [np.full(close.shape, STEP) if way == right_way else close for way in self.ways]
            )
            found.append(np.where(free, price, np.inf))
        return found[0], found[1]

    def _slants(self, net: int, owners: IntArray, window: Window, prices: Prices) -> Floats:
        """What a step over each cell costs along one of its diagonals."""
        top, left, bottom, right = window
        cut = (slice(None), slice(top, bottom), slice(left, right))
        load = self.occupancy.cell_load.reshape(self._shape)[cut]
        extra = _priced(load, prices.present) + prices.cells.reshape(self._shape)[cut]
        return np.where(_usable(owners, net), SLANT * STEP + extra, np.inf)

    def _close(self, ends: tuple[Ends, Ends], window: Window) -> BoolArray:
        """Where a step against a layer's direction is still access: near the pads of the ends."""
        zone = np.zeros((window.bottom - window.top, window.right - window.left), dtype=bool)
        near = NEAR_END * self.fine
        if self.loose:
            zone[:] = True
        for end in ends:
            pads = end.nodes[end.stubs != NONE]
            row, column = self._cell(pads if len(pads) else end.nodes[:1])
            for r, c in sorted(set(zip(row.tolist(), column.tolist(), strict=True))):
                y, x = r - window.top, c - window.left
                low, high = max(y - near, 0), y + near + 1
                zone[low:high, max(x - near, 0) : x + near + 1] = True
        return zone

    def _via_prices(self, net: int, window: Window, prices: Prices) -> Floats:
        cut = (slice(window.top, window.bottom), slice(window.left, window.right))
        load = self.occupancy.via_load.reshape(self._shape[1:])[cut]
        extra = _priced(load, prices.present) + prices.vias.reshape(self._shape[1:])[cut]
        return np.where(_usable(self._via[cut], net), extra, np.inf)

    def _ahead(self, nodes: IntArray, window: Window) -> Floats:
        """Least cost from every node of the window to the box of the given nodes.

        On a horizontal layer every row to go takes a step against its direction, a step at 45
        degrees, or a via somewhere; on a vertical one every column.
        """
        row, column = self._cell(nodes)
        y, x = np.arange(window.top, window.bottom), np.arange(window.left, window.right)
        dy = np.maximum(np.maximum(row.min() - y, y - row.max()), 0)[:, None]
        dx = np.maximum(np.maximum(column.min() - x, x - column.max()), 0)[None, :]
        aside = min(WRONG - STEP, SLANT - 2 * STEP) if self.loose else WRONG - STEP
        beside = {
            way: np.minimum(aside * away, VIA * self.fine) for way, away in (("h", dy), ("v", dx))
        }
        return np.stack([(dy + dx) * STEP + beside[way] for way in self.ways])

    def _numbers(self, nodes: IntArray, window: Window) -> IntArray:
        """Numbers of grid nodes inside the window."""
        layer = nodes // (self._shape[1] * self._shape[2])
        row, column = self._cell(nodes)
        high, wide = window.bottom - window.top, window.right - window.left
        return np.asarray((layer * high + row - window.top) * wide + column - window.left)

    def _walk(self, before: IntArray, ends: tuple[Ends, Ends], window: Window) -> Way:
        """The way that the predecessors tell."""
        size = len(before) - 2
        at, found = int(before[size]), []
        while at < size:
            found.append(at)
            at = int(before[at])
        high, wide = window.bottom - window.top, window.right - window.left
        layer, rest = np.divmod(np.array(found[::-1], dtype=np.int64), high * wide)
        row, column = rest // wide + window.top, rest % wide + window.left
        nodes = (layer * self._shape[1] + row) * self._shape[2] + column
        first = ends[0].stubs[ends[0].nodes == nodes[0]][0]
        last = ends[1].stubs[ends[1].nodes == nodes[-1]][0]
        return Way(nodes, int(first), int(last))


def _usable(owners: IntArray, net: int) -> BoolArray:
    return np.asarray((owners == FREE) | (owners == net + 1))


def _priced(load: NDArray[Any], present: float) -> Floats:
    """Price of loads; an infinite price forbids whatever is loaded."""
    if np.isinf(present):
        return np.where(load > 0, np.inf, 0.0)
    return np.asarray(load * present, dtype=np.float64)


def _link(
    to: NDArray[np.int32],
    weight: Floats,
    where: tuple[int, int],
    price: Floats,
    of: tuple[Floats, NDArray[np.int32], Floats],
) -> None:
    """Fill the slots for the next node along an axis and for the one before."""
    slot, axis = where
    extra, number, ahead = of
    every, first, last = slice(None), slice(None, -1), slice(1, None)
    one = (every, first, every) if axis == 1 else (every, every, first)
    two = (every, last, every) if axis == 1 else (every, every, last)
    gain = ahead[two] - ahead[one]
    to[(*one, slot)], to[(*two, slot + 1)] = number[two], number[one]
    weight[(*one, slot)] = price[one] + extra[two] + gain
    weight[(*two, slot + 1)] = price[one] + extra[one] - gain


def _slant(
    to: NDArray[np.int32],
    weight: Floats,
    slot: int,
    price: Floats,
    of: tuple[Floats, NDArray[np.int32], Floats],
) -> None:
    """Fill the slots for the steps over cells both ways: falling from slot 4, rising from 6."""
    extra, number, ahead = of
    every, low, high = slice(None), slice(None, -1), slice(1, None)
    one, two = (every, low, low), (every, high, high)
    if slot == 6:
        one, two = (every, high, low), (every, low, high)
    cell = price[every, low, low]
    gain = ahead[two] - ahead[one]
    to[(*one, slot)], to[(*two, slot + 1)] = number[two], number[one]
    weight[(*one, slot)] = cell + extra[two] + gain
    weight[(*two, slot + 1)] = cell + extra[one] - gain
