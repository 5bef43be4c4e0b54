"""The cheapest way over the track grid, in a window, with the congestion priced in.

One step costs 1; a step against a layer's direction, allowed only close to the
ends, ``wrong`` steps; a via ``via`` steps (3 mm at the usual pitch).  On top come the
prices of what other nets use.

By ``LOOSE`` fares a way may run against directions anywhere, and step over a cell at 45
degrees: bundles of tracks that step aside one by one need less room so.  By ``DENSE`` ones,
which restarts take in turn, it does so for less.  The first make vias dear: where there is
so little room, vias beside the pads shut others in.  By the second they cost as ever: out
of a large array of pads there is often no way but down.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet.channels.maze import Terrain, Toll, cheapest, scratch_for
from renet.channels.obstacles import Ground
from renet.channels.occupancy import Occupancy
from renet.channels.ways import Ends, Floats, Prices, Way, Window
from renet.model import NONE, BoolArray, IntArray

STEP = 1.0
NEAR_END = 12
FEW, ALL = 3_000, 2**62
"""So many nodes are looked at to see how an end of a connection gets on, or for a way."""


class Fares(NamedTuple):
    """What a step against the direction, one at 45 degrees and a via cost, in steps."""

    wrong: float
    slant: float
    via: float


STRICT = Fares(2.5, np.inf, 10.0)
LOOSE = Fares(2.5, 3.0, 10.0)
DENSE = (Fares(1.2, 2.2, 30.0), Fares(1.2, 2.2, 10.0))


_Where = tuple[Window, BoolArray]


class Search:
    """Finds ways for one ground and its occupancy."""

    def __init__(self, ground: Ground, ways: str, occupancy: Occupancy, fine: int = 1) -> None:
        self.ground, self.ways, self.occupancy = ground, ways, occupancy
        self.fine, self.fares = fine, STRICT
        lattice = ground.lattice
        self._shape = (len(ground.layers), lattice.rows, lattice.columns)
        sides = (ground.along, ground.down, ground.falls, ground.rises)
        owners = np.empty((4, ground.along.size), dtype=np.int32)
        for kind, owner in enumerate(sides):
            owners[kind] = owner.ravel()
        self._terrain = Terrain(
            lattice.rows,
            lattice.columns,
            np.array([way == "h" for way in ways]),
            ground.via.astype(np.int32),
            owners,
        )
        self._room = scratch_for(len(ground.layers) * len(lattice))

    def find(self, net: int, ends: tuple[Ends, Ends], window: Window, prices: Prices) -> Way | None:
        """The cheapest way for ``net`` inside the window, None where there is none.

        What finds no way is most often shut in at one end, and a search from the other would
        look at the whole grid before it says so: so a few steps are tried from the far end
        first.  By ``DENSE`` fares they are from both, and the search begins where it gets on
        less: once it is out among the tracks there, the rest is soon found.
        """
        inside = [self._within(end, window) for end in ends]
        start, stop = (self._with_loads(end, prices) for end in inside)
        if not (len(start.nodes) and len(stop.nodes)):
            return None
        where = window, self._close((start, stop), window)
        forbidden, dense = prices.present == np.inf, self.fares in DENSE
        turned = False
        if forbidden or dense:
            free = prices._replace(present=np.inf)
            a, b = (start, stop) if forbidden else (self._with_loads(end, free) for end in inside)
            far = self._ahead_after_few(net, (b, a), where, free)
            near = self._ahead_after_few(net, (a, b), where, free) if dense else far
            if forbidden and np.inf in (near, far):
                return None
            turned = far > near
        if turned:
            start, stop = stop, start
        nodes, _ = self._cheapest(net, (start, stop), where, prices, ALL)
        if not len(nodes):
            return None
        first = int(start.stubs[start.nodes == nodes[0]][0])
        last = int(stop.stubs[stop.nodes == nodes[-1]][0])
        return Way(nodes[::-1].copy(), last, first) if turned else Way(nodes, first, last)

    def _ahead_after_few(
        self, net: int, ends: tuple[Ends, Ends], where: _Where, prices: Prices
    ) -> float:
        """What a search from the first end has ahead still; infinite where that is shut in."""
        if not (len(ends[0].nodes) and len(ends[1].nodes)):
            return 0.0 if len(ends[0].nodes) else np.inf
        return self._cheapest(net, ends, where, prices, FEW)[1]

    def _cheapest(
        self, net: int, ends: tuple[Ends, Ends], where: _Where, prices: Prices, most: int
    ) -> tuple[IntArray, float]:
        """As in :mod:`renet.channels.maze`."""
        start, stop = ((end.nodes, end.cost) for end in ends)
        toll, room = self._toll(prices), self._room
        return cheapest(self._terrain, toll, net + 1, *where, start, stop, room, most)

    def _toll(self, prices: Prices) -> Toll:
        load, fares = self.occupancy, self.fares
        return Toll(
            prices.present,
            load.node_load,
            load.cell_load,
            load.via_load,
            prices.nodes,
            prices.cells,
            prices.vias,
            STEP,
            fares.wrong,
            fares.slant,
            fares.via * self.fine,
            min(fares.wrong - STEP, fares.slant - 2 * STEP),
        )

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

    def _close(self, ends: tuple[Ends, Ends], window: Window) -> BoolArray:
        """Where a step against a layer's direction is still access: near the pads of the ends."""
        zone = np.zeros((window.bottom - window.top, window.right - window.left), dtype=bool)
        near = NEAR_END * self.fine
        if self.fares is not STRICT:
            zone[:] = True
        for end in ends:
            pads = end.nodes[end.stubs != NONE]
            row, column = self._cell(pads if len(pads) else end.nodes[:1])
            for r, c in sorted(set(zip(row.tolist(), column.tolist(), strict=True))):
                y, x = r - window.top, c - window.left
                low, high = max(y - near, 0), y + near + 1
                zone[low:high, max(x - near, 0) : x + near + 1] = True
        return zone


def _priced(load: NDArray[Any], present: float) -> Floats:
    """Price of loads; an infinite price forbids whatever is loaded."""
    if np.isinf(present):
        return np.where(load > 0, np.inf, 0.0)
    return np.asarray(load * present, dtype=np.float64)
