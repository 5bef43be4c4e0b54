"""Which pins an edge runs over, whatever nets they carry.

A pin counts once per edge, and not when one of its pads stands at the very
point of an end of the edge (design section 2, "over-pad").  Whether a pin is of
the edge's own net is up to the caller: nets move, outlines do not.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from renet.columns import PadColumns
from renet.engine.edges import Edges
from renet.geometry import passes_through
from renet.grid import spread
from renet.model import NONE, BoolArray, IntArray

Floats = NDArray[np.float64]

_ROUNDING = 1e-9


class Outlines:
    """The pads ``pin_pads`` of all pins as obstacles.  Points are those of ``edges``."""

    def __init__(self, cols: PadColumns, pin_pads: tuple[tuple[int, ...], ...]) -> None:
        self._cols = cols
        self._start = np.cumsum([0, *map(len, pin_pads)])
        self._flat = np.array([pad for pads in pin_pads for pad in pads], dtype=np.int64)
        self._pads = np.sort(self._flat)
        corners = cols.corners[self._pads]
        self._low, self._high = corners.min(axis=1), corners.max(axis=1)
        self._centre = corners.mean(axis=1)
        self._reach = np.abs(corners - self._centre[:, None]).max(axis=1).sum(axis=1) + 1.0
        self._many = np.array([len(pads) > 1 for pads in pin_pads], dtype=bool)
        self._known = np.zeros(0, dtype=np.int64)

    def counts(self, edges: Edges, ids: IntArray) -> IntArray:
        """For each edge, over how many pins it runs.  What has been asked is remembered."""
        if len(self._known) < len(edges):
            more = np.full(2 * len(edges) - len(self._known), NONE, dtype=np.int64)
            self._known = np.concatenate([self._known, more])
        unknown = np.unique(ids[self._known[ids] == NONE])
        if len(unknown):
            self._known[unknown] = self._count(edges, unknown)
        return np.asarray(self._known[ids])

    def _count(self, edges: Edges, ids: IntArray) -> IntArray:
        total = np.zeros(len(ids), dtype=np.int64)
        if not len(self._pads) or not len(ids):
            return total
        for rows, hub in _stars(edges.a[ids], edges.b[ids]):
            edge, pad = self._near(edges, ids[rows], hub)
            hit = self._hits(edges, ids[rows[edge]], pad)
            row, pin = rows[edge[hit]], self._cols.pin[pad[hit]]
            several = self._many[pin]
            total += np.bincount(row[~several], minlength=len(ids))
            key = np.unique(row[several] * len(self._many) + pin[several])
            np.add.at(total, key // len(self._many), 1)
        return total

    def over(self, edges: Edges, ids: IntArray, pins: IntArray) -> BoolArray:
        """Pair by pair: whether the edge runs over the pin."""
        row, place = spread(self._start[pins], self._start[pins + 1] - self._start[pins])
        hit = self._hits(edges, ids[row], self._flat[place])
        found = np.zeros(len(ids), dtype=bool)
        found[row[hit]] = True
        return found

    def _near(self, edges: Edges, ids: IntArray, hub: int) -> tuple[IntArray, IntArray]:
        """Pairs (row of ids, pad) that may touch; all these edges end at the point ``hub``.

        By angle around the hub: an edge can only run over pads within whose
        angle it lies.  Float64, with room for its rounding.
        """
        a, b = edges.at[edges.a[ids]], edges.at[edges.b[ids]]
        origin = edges.at[hub]
        low, high = np.minimum(a, b).min(axis=0), np.maximum(a, b).max(axis=0)
        meets = (self._low <= high) & (self._high >= low)
        among = np.flatnonzero(meets[:, 0] & meets[:, 1] & ~self._standing(origin)[self._pads])
        tip = (a + b - 2 * origin).astype(np.float64)
        centre, reach = self._centre[among] - origin, self._reach[among]
        far = np.hypot(centre[:, 0], centre[:, 1])
        around = np.flatnonzero(far <= reach)
        aside = np.flatnonzero(far > reach)
        row, pad = _within(tip, centre[aside], np.arcsin(reach[aside] / far[aside]))
        row = np.concatenate([row, np.tile(np.arange(len(ids)), len(around))])
        pad = np.concatenate([aside[pad], np.repeat(around, len(ids))])
        near = far[pad] - reach[pad] <= np.hypot(tip[row, 0], tip[row, 1])
        return row[near], self._pads[among[pad[near]]]

    def _standing(self, at: IntArray) -> BoolArray:
        """Per pad, whether a pad of its pin stands at this point: edges from there pass none."""
        cols = self._cols
        there = np.zeros(len(self._many) + 1, dtype=bool)
        there[cols.pin[(cols.x == at[0]) & (cols.y == at[1])]] = True
        there[NONE] = False
        return there[cols.pin]

    def _hits(self, edges: Edges, ids: IntArray, pads: IntArray) -> BoolArray:
        """Pair by pair: whether the edge runs over this very pad of a pin not at its ends."""
        cols = self._cols
        hit = cols.through[pads] | ((edges.sides[ids] & cols.sides[pads]) != 0)
        some = np.flatnonzero(hit)
        hit[some] = passes_through(edges.ends(ids[some]), cols.corners[pads[some]])
        some = some[hit[some]]
        hit[some] = ~self._at_end(edges, ids[some], cols.pin[pads[some]])
        return np.asarray(hit)

    def _at_end(self, edges: Edges, ids: IntArray, pins: IntArray) -> BoolArray:
        """Pair by pair: whether a pad of the pin stands at an end of the edge."""
        row, place = spread(self._start[pins], self._start[pins + 1] - self._start[pins])
        pad, edge = self._flat[place], ids[row]
        x, y = self._cols.x[pad], self._cols.y[pad]
        ends = edges.ends(edge)
        at = ((x == ends[:, 0]) & (y == ends[:, 1])) | ((x == ends[:, 2]) & (y == ends[:, 3]))
        found = np.zeros(len(ids), dtype=bool)
        found[row[at]] = True
        return found


def _stars(a: IntArray, b: IntArray) -> Iterator[tuple[IntArray, int]]:
    """Rows of edges that share an end, with that end; every row once, in few parts."""
    common = np.bincount(np.concatenate([a, b]))
    hub = np.where(common[a] >= common[b], a, b)
    order = np.argsort(hub, kind="stable")
    first = np.flatnonzero(np.diff(hub[order], prepend=NONE))
    for rows in np.split(order, first[1:]):
        yield rows, int(hub[rows[0]])


def _within(tip: Floats, centre: Floats, half: Floats) -> tuple[IntArray, IntArray]:
    """Pairs (tip, centre) where the tip's angle is within ``half`` of the centre's."""
    angle = np.arctan2(tip[:, 1], tip[:, 0])
    order = np.argsort(angle, kind="stable")
    turned = (angle[order] + np.array([[-2 * np.pi], [0.0], [2 * np.pi]])).reshape(-1)
    middle = np.arctan2(centre[:, 1], centre[:, 0])
    start = np.searchsorted(turned, middle - half - _ROUNDING, side="left")
    stop = np.searchsorted(turned, middle + half + _ROUNDING, side="right")
    pad, place = spread(start, stop - start)
    return order[place % len(order)], pad
