"""Straight, single-corner and two-corner ways that are free as things stand.

Tried in this order, for the cheapest few accesses of both ends; of one order the
way with fewest vias wins, then the shorter, then the first.  A run takes the
layer it comes from if that runs its way, else the first other one that is free.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from renet.channels.raster import FREE
from renet.channels.ways import Ends, Way
from renet.model import NONE

if TYPE_CHECKING:
    from renet.channels.search import Search

FEW = 5
FEWEST = 2
MIDDLES = 8

Cell = tuple[int, int]
_Start = tuple[int, Cell, int]
_Corners = Callable[[Cell, Cell], Iterator[tuple[Cell, ...]]]


def plain_way(search: Search, net: int, ends: tuple[Ends, Ends]) -> Way | None:
    """The best free way with two corners at most, None where there is none."""
    plain = _Plain(search, net)
    starts, stops = (plain.accesses(end) for end in ends)
    for corners in (_straight, _one_corner):
        way = plain.best(starts, stops, corners)
        if way is not None:
            return way
    return plain.best(starts[:FEWEST], stops[:FEWEST], _two_corners)


def _straight(a: Cell, b: Cell) -> Iterator[tuple[Cell, ...]]:
    if a != b and (a[0] == b[0] or a[1] == b[1]):
        yield (a, b)


def _one_corner(a: Cell, b: Cell) -> Iterator[tuple[Cell, ...]]:
    if a[0] != b[0] and a[1] != b[1]:
        yield (a, (a[0], b[1]), b)
        yield (a, (b[0], a[1]), b)


def _two_corners(a: Cell, b: Cell) -> Iterator[tuple[Cell, ...]]:
    for axis in (0, 1):
        low, high = sorted((a[axis], b[axis]))
        for middle in sorted({low + (high - low) * k // MIDDLES for k in range(1, MIDDLES)}):
            if low < middle < high:
                if axis == 0:
                    yield (a, (middle, a[1]), (middle, b[1]), b)
                else:
                    yield (a, (a[0], middle), (b[0], middle), b)


class _Plain:
    """What is free for one net."""

    def __init__(self, search: Search, net: int) -> None:
        self.search, self.net = search, net
        ground = search.ground
        self.columns, self.points = ground.lattice.columns, len(ground.lattice)
        self.along, self.down, self.via = ground.along, ground.down, ground.via
        self.load = search.occupancy.node_load
        self.via_load = search.occupancy.via_load

    def accesses(self, end: Ends) -> list[_Start]:
        """(layer, cell, stub) of the cheapest free accesses of an end, one per node."""
        found: dict[int, int] = {}
        for place in np.lexsort((end.nodes, end.cost)).tolist():
            node, stub = int(end.nodes[place]), int(end.stubs[place])
            if node in found or self.load[node]:
                continue
            if stub == NONE or not self.search.occupancy.stub_loads(np.array([stub]))[0]:
                found[node] = stub
            if len(found) == FEW:
                break
        return [
            (node // self.points, divmod(node % self.points, self.columns), stub)
            for node, stub in found.items()
        ]

    def best(
        self, starts: Sequence[_Start], stops: Sequence[_Start], corners: _Corners
    ) -> Way | None:
        """The way with fewest vias, then the shortest."""
        found: tuple[int, int] | None = None
        best = None
        for layer, a, first in starts:
            for last_layer, b, last in stops:
                for cells in corners(a, b):
                    nodes = self._laid(cells, layer, last_layer)
                    if nodes is not None and (found is None or nodes[0] < found):
                        found, best = nodes[0], Way(np.array(nodes[1]), first, last)
        return best

    def _laid(
        self, cells: Sequence[Cell], layer: int, last: int
    ) -> tuple[tuple[int, int], list[int]] | None:
        """((vias, steps), nodes) of a way over these cells, None where it is not free."""
        at, vias = layer, 0
        nodes = [self._node(layer, cells[0])]
        for a, b in pairwise(cells):
            way = "h" if a[0] == b[0] else "v"
            chosen = self._layer(at, last, way, (a, b))
            if chosen is None or (chosen != at and not self._via_free(a)):
                return None
            if chosen != at:
                vias += 1
                nodes.append(self._node(chosen, a))
            at = chosen
            nodes += self._run(chosen, a, b)
        if at != last:
            if not self._via_free(cells[-1]):
                return None
            vias += 1
            nodes.append(self._node(last, cells[-1]))
        return (vias, len(nodes)), nodes

    def _layer(self, at: int, last: int, way: str, run: tuple[Cell, Cell]) -> int | None:
        """The layer for a run: the one we are on, the one to arrive on, or the first free."""
        layers: list[int] = list(dict.fromkeys((at, last, *range(len(self.search.ways)))))
        for layer in layers:
            if self.search.ways[layer] == way and self._run_free(layer, *run):
                return layer
        return None

    def _run_free(self, layer: int, a: Cell, b: Cell) -> bool:
        (r0, c0), (r1, c1) = min(a, b), max(a, b)
        step = 1 if r0 == r1 else self.columns
        first, last = r0 * self.columns + c0, r1 * self.columns + c1
        owners = (self.along if r0 == r1 else self.down)[layer, first:last:step]
        load = self.load[layer * self.points + first : layer * self.points + last + 1 : step]
        return bool(((owners == FREE) | (owners == self.net + 1)).all() and not load.any())

    def _via_free(self, cell: Cell) -> bool:
        point = cell[0] * self.columns + cell[1]
        return int(self.via[point]) in (FREE, self.net + 1) and not self.via_load[point]

    def _node(self, layer: int, cell: Cell) -> int:
        return layer * self.points + cell[0] * self.columns + cell[1]

    def _run(self, layer: int, a: Cell, b: Cell) -> list[int]:
        """The nodes from a (left out) to b."""
        start, stop = self._node(layer, a), self._node(layer, b)
        step = 1 if a[0] == b[0] else self.columns
        step = step if stop > start else -step
        return list(range(start + step, stop + step, step))
