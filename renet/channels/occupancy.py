"""Who uses what on the grid, counted by nets, and what that keeps from the others.

Four kinds of things are used: track nodes (layer * points + point), cells of which
a track takes a diagonal (layer * points + cell), via points and stubs.  ``node_load``,
``cell_load`` and ``via_load`` say for each how many nets stand in the way of using it.
A track keeps its own nodes; a via the nodes beside it on every layer and the points
too close for another via; a stub what :mod:`renet.channels.access` wrote down.

What runs along rows, columns and diagonals is nearest to a point of the grid, or to
another such run, at a point of the grid or in the middle of a diagonal; so distances
between these say all.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from renet.channels.access import Stubs
from renet.channels.compiled import halo, most
from renet.channels.lattice import Lattice
from renet.channels.sizes import Sizes
from renet.model import IntArray


class Use(NamedTuple):
    """Track nodes, cells, via points and stubs that a connection or a net uses.

    Each sorted and different.
    """

    nodes: IntArray
    cells: IntArray
    vias: IntArray
    stubs: IntArray


class _Claim(NamedTuple):
    use: Use
    nodes: IntArray
    cells: IntArray
    vias: IntArray
    stubs: IntArray


_NOTHING = np.empty(0, dtype=np.int64)
HERE = np.zeros((1, 2), dtype=np.int64)
UNUSED = Use(_NOTHING, _NOTHING, _NOTHING, _NOTHING)


def together(uses: list[Use]) -> Use:
    """What several connections of a net use."""
    if not uses:
        return UNUSED
    return Use(*(np.unique(np.concatenate(part)) for part in zip(*uses, strict=True)))


class Occupancy:
    """Loads of everything; nets come and go with :meth:`put` and :meth:`take`."""

    def __init__(self, lattice: Lattice, layers: int, sizes: Sizes, stubs: Stubs) -> None:
        self.lattice, self.layers, self.stubs = lattice, layers, stubs
        points = len(lattice)
        self.node_load = np.zeros(layers * points, dtype=np.int32)
        self.cell_load = np.zeros(layers * points, dtype=np.int32)
        self.via_load = np.zeros(points, dtype=np.int32)
        self._stub_load = np.zeros(len(stubs), dtype=np.int32)
        self._tracks = np.zeros(layers * points, dtype=np.int32)
        self._cells = np.zeros(layers * points, dtype=np.int32)
        self._vias = np.zeros(points, dtype=np.int32)
        self._aside = _disc(lattice.pitch, sizes.pitch)
        self._beside = _disc(lattice.pitch, sizes.beside_via)
        self._apart = _disc(lattice.pitch, sizes.via_apart)
        self._middles = _disc(lattice.pitch, sizes.pitch, middle=True)
        self._middles_beside = _disc(lattice.pitch, sizes.beside_via, middle=True)
        self._marks, self._turn = np.zeros(layers * points, dtype=np.int32), 0
        self._claims: dict[int, _Claim] = {}

    def put(self, net: int, use: Use) -> None:
        """``net`` uses this and nothing else from now on."""
        self.take(net)
        claim = self._claim(use)
        self._add(claim, 1)
        self._claims[net] = claim

    def take(self, net: int) -> None:
        """``net`` uses nothing any more."""
        claim = self._claims.pop(net, None)
        if claim is not None:
            self._add(claim, -1)

    def lift(self, net: int, by: int) -> None:
        """Leave out what ``net`` uses for a while (-1), and count it again (1)."""
        claim = self._claims.get(net)
        if claim is not None:
            self._add(claim, by)

    def stub_loads(self, which: IntArray) -> IntArray:
        """The load of each of the stubs."""
        load = self._stub_load[which].astype(np.int64)
        for table, used in (
            (self.stubs.nodes, self._tracks),
            (self.stubs.cells, self._cells),
            (self.stubs.vias, self._vias),
        ):
            load += most(table.start, table.items, which, used)
        return load

    def conflicts(self, use: Use) -> int:
        """How many of these things are in the way of, or kept by, nets that are in."""
        return int(
            (self.node_load[use.nodes] > 0).sum()
            + (self.cell_load[use.cells] > 0).sum()
            + (self.via_load[use.vias] > 0).sum()
            + (self.stub_loads(use.stubs) > 0).sum()
        )

    def _add(self, claim: _Claim, by: int) -> None:
        self.node_load[claim.nodes] += by
        self.cell_load[claim.cells] += by
        self.via_load[claim.vias] += by
        self._stub_load[claim.stubs] += by
        self._tracks[claim.use.nodes] += by
        self._cells[claim.use.cells] += by
        self._vias[claim.use.vias] += by

    def _claim(self, use: Use) -> _Claim:
        points, stubs = len(self.lattice), use.stubs
        vias = (np.arange(self.layers)[:, None] * points + use.vias[None, :]).ravel()
        return _Claim(
            use,
            self._near(
                (use.nodes, self._aside),
                (use.cells, -self._middles),
                (vias, self._beside),
                (self.stubs.nodes.rows(stubs), HERE),
            ),
            self._near(
                (use.nodes, self._middles),
                (use.cells, self._aside),
                (vias, self._middles_beside),
                (self.stubs.cells.rows(stubs), HERE),
            ),
            self._near(
                (use.nodes % points, self._beside),
                (use.cells % points, -self._middles_beside),
                (use.vias, self._apart),
                (self.stubs.vias.rows(stubs), HERE),
            ),
            np.unique(self.stubs.rivals.rows(stubs)),
        )

    def _near(self, *parts: tuple[IntArray, IntArray]) -> IntArray:
        """All different nodes that lie at the offsets from the nodes of one of the parts."""
        self._turn += 1
        shape = self.lattice.rows, self.lattice.columns
        found = [halo(nodes, disc, shape, self._marks, self._turn) for nodes, disc in parts]
        return np.concatenate(found)


def _disc(pitch: int, reach: int, middle: bool = False) -> IntArray:
    """Grid offsets (k, 2: rows, columns) that are closer than ``reach``.

    ``middle``: of cells, the middles of which are closer to a point; seen from a cell, points
    lie at the opposite offsets.
    """
    most = reach // pitch + 2
    steps = np.arange(-most, most + 1)
    rows, columns = (part.ravel() for part in np.meshgrid(steps, steps, indexing="ij"))
    aside = int(middle)
    near = ((2 * rows + aside) ** 2 + (2 * columns + aside) ** 2) * pitch**2 < 4 * reach**2
    return np.stack([rows[near], columns[near]], axis=1)
