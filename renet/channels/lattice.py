"""The track grid: where rows and columns of possible tracks run, and how it is laid.

Tracks of a horizontal layer run along rows, of a vertical one along columns; a
via may stand where a row and a column meet.  Distances are nanometres.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.spatial import cKDTree

from renet.model import IntArray


class Lattice(NamedTuple):
    """Point number r * columns + c (row r, column c) is at (x + c * pitch, y + r * pitch)."""

    x: int
    y: int
    pitch: int
    columns: int
    rows: int

    def __len__(self) -> int:
        return self.columns * self.rows

    def at(self, point: int) -> tuple[int, int]:
        """Where a point is."""
        row, column = divmod(point, self.columns)
        return self.x + column * self.pitch, self.y + row * self.pitch

    def turned(self) -> Lattice:
        """Rows and columns exchanged, for work along columns."""
        return Lattice(self.y, self.x, self.pitch, self.rows, self.columns)


def lay(box: tuple[int, int, int, int], pitch: int, pads: IntArray) -> Lattice:
    """The grid over ``box`` (x0 y0 x1 y1) that passes closest by the pads (n, 2).

    Each axis is shifted so that as many pads as can be lie near a track.
    """
    x0, y0, x1, y1 = box
    x = x0 + _shift(pads[:, 0] - x0, pitch)
    y = y0 + _shift(pads[:, 1] - y0, pitch)
    return Lattice(x, y, pitch, max((x1 - x) // pitch + 1, 1), max((y1 - y) // pitch + 1, 1))


def nearest(points: IntArray, of: IntArray) -> IntArray:
    """Distance of each of ``of`` (n, 2) from the nearest other place of ``points`` (m, 2), in nm.

    0 where there is no other place.  ``of`` are places of ``points``.
    """
    places = np.unique(points, axis=0)
    if len(places) < 2 or not len(of):
        return np.zeros(len(of), dtype=np.int64)
    away: IntArray = np.rint(cKDTree(places).query(of, 2)[0][:, 1]).astype(np.int64)
    return away


def _shift(offsets: IntArray, pitch: int) -> int:
    """The shift in [0, pitch) with the least mean distance of offsets from the nearest track.

    Only shifts that put some pad right on a track are tried, the smallest wins a tie.
    """
    if not len(offsets):
        return 0
    rest, votes = np.unique(offsets % pitch, return_counts=True)
    best = rest[np.argsort(-votes, kind="stable")[:64]]
    away = np.abs((rest[None, :] - best[:, None] + pitch // 2) % pitch - pitch // 2)
    cost = (np.minimum(away, pitch // 3) * votes).sum(axis=1)
    return int(min(zip(cost.tolist(), best.tolist(), strict=True))[1])
