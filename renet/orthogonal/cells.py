"""Channel demand against capacity, on cells of ten pitches.

A cell edge is crossed by tracks from one cell to the next.  What it can take is
the number of free grid lines across it, over all layers of its direction; lines
that standing copper, keep-outs or the board's edge reserve or block do not count.
Demand is counted in thousandths of a track, so that a link that is spread over
several shapes stays a whole number.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from renet.channels.obstacles import Ground
from renet.channels.raster import FREE
from renet.model import IntArray
from renet.orthogonal.escapes import STEPS, Point
from renet.orthogonal.links import Link

CELL_PITCHES = 10
TRACK = 1000


@dataclass(frozen=True, slots=True)
class Cells:
    """Edges are numbered: first those to the next column, row by row, then those to the next row.

    Edge ``row * columns + column`` leads from that cell to the east; with
    ``rows * columns`` added, to the south.  ``room`` is in thousandths of a track.
    """

    x: int
    y: int
    size: int
    columns: int
    rows: int
    room: IntArray

    def cell(self, at: Point) -> Point:
        """(column, row) of the cell of a point; points off the board count for the nearest."""
        column = min(max((at[0] - self.x) // self.size, 0), self.columns - 1)
        return column, min(max((at[1] - self.y) // self.size, 0), self.rows - 1)


def cells_of(ground: Ground, ways: str) -> Cells:
    """The cells over a grid; ``ways`` has h or v per layer of ``ground``."""
    lattice, size = ground.lattice, CELL_PITCHES
    columns, rows = -(-lattice.columns // size), -(-lattice.rows // size)
    east = np.zeros((rows, columns), dtype=np.int64)
    south = np.zeros((rows, columns), dtype=np.int64)
    for layer, way in enumerate(ways):
        along = ground.along[layer].reshape(lattice.rows, lattice.columns) == FREE
        down = ground.down[layer].reshape(lattice.rows, lattice.columns) == FREE
        if way == "h":
            free = along[:, size - 1 :: size].astype(np.int64)
            east[:, : free.shape[1]] += np.add.reduceat(free, np.arange(0, lattice.rows, size), 0)
        else:
            free = down[size - 1 :: size].astype(np.int64)
            south[: len(free)] += np.add.reduceat(free, np.arange(0, lattice.columns, size), 1)
    room = TRACK * np.concatenate([east.reshape(-1), south.reshape(-1)])
    return Cells(lattice.x, lattice.y, size * lattice.pitch, columns, rows, room)


def demand_of(cells: Cells, link: Link) -> tuple[IntArray, IntArray]:
    """(edges, thousandths of a track on each): a link spread evenly over its least-bend shapes."""
    shapes = _shapes(cells.cell(link.start), cells.cell(link.stop), link)
    share, rest = divmod(TRACK, len(shapes))
    found: Counter[int] = Counter()
    for number, corners in enumerate(shapes):
        for one, two in pairwise(corners):
            for edge in _between(cells, one, two):
                found[edge] += share + (number < rest)
    edges = sorted(found)
    return np.array(edges, dtype=np.int64), np.array([found[e] for e in edges], dtype=np.int64)


def _between(cells: Cells, one: Point, two: Point) -> range:
    """The edges of a straight run of cells."""
    low, high = min(one, two), max(one, two)
    first = low[1] * cells.columns + low[0]
    if low[1] == high[1]:
        return range(first, first + high[0] - low[0])
    first += cells.rows * cells.columns
    return range(first, first + (high[1] - low[1]) * cells.columns, cells.columns)


def _shapes(p: Point, q: Point, link: Link) -> list[list[Point]]:
    """The corners, as cells, of all least-bend shapes.

    Exits at right angles have one, facing ones a jog in any cell on the way,
    exits in one direction go out as far as the farther end.  With three or four
    bends the detours round the ends are local: both single corners count.
    """
    (x1, y1), (x2, y2) = p, q
    flat = STEPS[link.out][0] != 0
    if link.bends > 2 or _turned_back(link):
        return [[p, (x2, y1), q], [p, (x1, y2), q]]
    if flat != (STEPS[link.back][0] != 0):
        return [[p, (x2, y1) if flat else (x1, y2), q]]
    if link.out == link.back:
        far = max if sum(STEPS[link.out]) > 0 else min
        if flat:
            return [[p, (far(x1, x2), y1), (far(x1, x2), y2), q]]
        return [[p, (x1, far(y1, y2)), (x2, far(y1, y2)), q]]
    if flat:
        return [[p, (x, y1), (x, y2), q] for x in range(min(x1, x2), max(x1, x2) + 1)]
    return [[p, (x1, y), (x2, y), q] for y in range(min(y1, y2), max(y1, y2) + 1)]


def _turned_back(link: Link) -> bool:
    """Whether an exit leads away from the other end, so that its shape is a detour."""
    d = link.stop[0] - link.start[0], link.stop[1] - link.start[1]
    u, v = STEPS[link.out], STEPS[link.back]
    return link.out != link.back and (
        d[0] * u[0] + d[1] * u[1] < 0 or d[0] * v[0] + d[1] * v[1] > 0
    )
