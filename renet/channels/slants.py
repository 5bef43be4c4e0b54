"""Steps at 45 degrees on the track grid: how they are numbered, and what stands in their way.

Every cell of the grid (four points; it has the number of the one with the lowest row and
column) has two diagonals: the one that falls, from that point to the next row and column,
and the one that rises.  Seen along a diagonal the grid is a grid again: in u = x + y,
v = y - x the diagonals are rows, and all distances are sqrt(2) times as long.
"""

from __future__ import annotations

import numpy as np

from renet.channels.lattice import Lattice
from renet.channels.raster import FREE, MANY
from renet.model import IntArray

ROOT = float(np.sqrt(2.0))


def leaning(lattice: Lattice) -> Lattice:
    """The grid whose rows are the falling diagonals, a point for every half of one."""
    size = lattice.columns + lattice.rows - 1
    return Lattice(0, -(lattice.columns - 1) * lattice.pitch, lattice.pitch, size, size)


def leaned(lattice: Lattice, edges: IntArray) -> IntArray:
    """Segments (n, 4) of the board as :func:`leaning` sees them; lengths grow by ``ROOT``."""
    x, y = edges[:, [0, 2]] - lattice.x, edges[:, [1, 3]] - lattice.y
    return np.stack([x[:, 0] + y[:, 0], y[:, 0] - x[:, 0], x[:, 1] + y[:, 1], y[:, 1] - x[:, 1]], 1)


def upside_down(lattice: Lattice) -> Lattice:
    """The grid with y turned round: what rises there falls here."""
    x, y, pitch, columns, rows = lattice
    return Lattice(x, -(y + (rows - 1) * pitch), pitch, columns, rows)


def mirrored(edges: IntArray) -> IntArray:
    """Segments (n, 4) with y turned round."""
    return np.asarray(edges * np.array([1, -1, 1, -1]))


def cells_of(lattice: Lattice, halves: IntArray) -> tuple[IntArray, IntArray]:
    """(place in ``halves``, cell) of half diagonals, by their left points in :func:`leaning`.

    Halves outside the grid are left out.
    """
    lean = leaning(lattice)
    across, along = np.divmod(halves, lean.columns)
    across = across - (lattice.columns - 1)
    along = along - ((along + across) % 2)
    column, row = (along - across) // 2, (along + across) // 2
    inside = (row >= 0) & (row < lattice.rows - 1) & (column >= 0)
    inside &= column < lattice.columns - 1
    where = np.flatnonzero(inside)
    return where, row[where] * lattice.columns + column[where]


def unmirrored(lattice: Lattice, cells: IntArray) -> IntArray:
    """Numbers of cells of :func:`upside_down` on the grid itself."""
    row, column = np.divmod(cells, lattice.columns)
    return np.asarray((lattice.rows - 2 - row) * lattice.columns + column)


def whole(lattice: Lattice, owner: IntArray) -> IntArray:
    """Owners of whole falling diagonals by cell, from those of their halves.

    MANY where there is no cell.
    """
    lean = leaning(lattice)
    row, column = np.divmod(np.arange(len(lattice)), lattice.columns)
    left = (row - column + lattice.columns - 1) * lean.columns + row + column
    last = (row == lattice.rows - 1) | (column == lattice.columns - 1)
    left = np.where(last, 0, left)
    one, two = owner[left], owner[np.minimum(left + 1, len(owner) - 1)]
    both = np.where(one == FREE, two, np.where((two == FREE) | (one == two), one, MANY))
    return np.where(last, MANY, both)


def cells_between(nodes: IntArray, columns: int, points: int) -> IntArray:
    """Cells (layer * points + cell) whose diagonals a way over these nodes takes, in order."""
    layer, point = np.divmod(nodes, points)
    row, column = np.divmod(point, columns)
    slanted = (np.diff(row) != 0) & (np.diff(column) != 0) & (np.diff(layer) == 0)
    at = np.flatnonzero(slanted)
    low, left = np.minimum(row[at], row[at + 1]), np.minimum(column[at], column[at + 1])
    return np.asarray(layer[at] * points + low * columns + left)
