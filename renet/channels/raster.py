"""Which grid points and grid edges copper keeps others from, exactly.

The copper is a table of segments, each grown by a reach.  A line of the grid
meets a grown segment (a convex capsule) in one interval, found in closed form,
so no thin tip falls between two grid points.  A distance equal to the reach is
allowed; half a nanometre is given away for rounding.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet.channels.lattice import Lattice
from renet.grid import spread
from renet.model import IntArray

Floats = NDArray[np.float64]
SLACK_NM = 0.5
FREE, MANY = 0, -1


class Spans(NamedTuple):
    """Open intervals (low, high) of x, relative to the grid, on rows; ``item`` lies there."""

    item: IntArray
    row: IntArray
    low: Floats
    high: Floats


def capsules(lattice: Lattice, edges: IntArray, reach: Floats) -> Spans:
    """Where the rows pass segments (m, 4) at less than ``reach``."""
    x1, y1, x2, y2 = (edges[:, i].astype(np.float64) for i in range(4))
    x1, x2, y1, y2 = x1 - lattice.x, x2 - lattice.x, y1 - lattice.y, y2 - lattice.y
    reach = np.maximum(reach - SLACK_NM, 0.0)
    first = np.ceil((np.minimum(y1, y2) - reach) / lattice.pitch).astype(np.int64)
    last = np.floor((np.maximum(y1, y2) + reach) / lattice.pitch).astype(np.int64)
    first, last = np.maximum(first, 0), np.minimum(last, lattice.rows - 1)
    item, row = spread(first, np.maximum(last - first + 1, 0))
    y = row * float(lattice.pitch)
    x1, y1, x2, y2, near = x1[item], y1[item], x2[item], y2[item], reach[item]
    low, high = np.full(len(item), np.inf), np.full(len(item), -np.inf)
    for x, off in ((x1, y - y1), (x2, y - y2)):
        half = np.sqrt(np.maximum(near * near - off * off, 0.0))
        hit = np.abs(off) < near
        low = np.where(hit, np.minimum(low, x - half), low)
        high = np.where(hit, np.maximum(high, x + half), high)
    left, right = _band(x2 - x1, y2 - y1, y - y1, near)
    hit = left < right
    low = np.where(hit, np.minimum(low, x1 + left), low)
    high = np.where(hit, np.maximum(high, x1 + right), high)
    some = np.flatnonzero(low < high)
    return Spans(item[some], row[some], low[some], high[some])


def _band(dx: Floats, dy: Floats, y: Floats, reach: Floats) -> tuple[Floats, Floats]:
    """The x in which height ``y`` lies beside a segment from the origin, closer than ``reach``.

    Two conditions linear in x: |y dx - x dy| <= reach * length, 0 <= x dx + y dy <= length^2.
    """
    length = np.hypot(dx, dy)
    across = _linear(-dy, y * dx + reach * length, -y * dx + reach * length)
    along = _linear(dx, y * dy, length * length - y * dy)
    none = length == 0.0
    low = np.where(none, 1.0, np.maximum(across[0], along[0]))
    high = np.where(none, 0.0, np.minimum(across[1], along[1]))
    return low, high


def _linear(slope: Floats, below: Floats, above: Floats) -> tuple[Floats, Floats]:
    """The x with -below <= slope * x <= above; all or none where the slope is nought."""
    flat = slope == 0.0
    safe = np.where(flat, 1.0, slope)
    one, two = -below / safe, above / safe
    fits = (below >= 0) & (above >= 0)
    low = np.where(flat, np.where(fits, -np.inf, 1.0), np.minimum(one, two))
    high = np.where(flat, np.where(fits, np.inf, 0.0), np.maximum(one, two))
    return low, high


def insides(lattice: Lattice, edges: IntArray, item: IntArray) -> Spans:
    """Where the rows run inside closed outlines, even-odd; ``item`` names the outline of each edge.

    Rows that cross an outline an odd number of times (it is not closed) are left out.
    """
    x1, y1, x2, y2 = (edges[:, i].astype(np.float64) for i in range(4))
    x1, x2, y1, y2 = x1 - lattice.x, x2 - lattice.x, y1 - lattice.y, y2 - lattice.y
    low, high = np.minimum(y1, y2) / lattice.pitch, np.maximum(y1, y2) / lattice.pitch
    first = np.maximum(np.ceil(low), 0).astype(np.int64)
    stop = np.minimum(np.ceil(high), lattice.rows).astype(np.int64)
    edge, row = spread(first, np.maximum(stop - first, 0))
    rise = np.where(y1 == y2, 1.0, y2 - y1)
    x = x1[edge] + (row * float(lattice.pitch) - y1[edge]) * ((x2 - x1) / rise)[edge]
    key = item[edge] * lattice.rows + row
    order = np.lexsort((x, key))
    key, x = key[order], x[order]
    _, at, times = np.unique(key, return_index=True, return_counts=True)
    even = np.repeat(times % 2 == 0, times)
    turn = (np.arange(len(key)) - np.repeat(at, times)) % 2
    start = np.flatnonzero(even & (turn == 0))
    found, row = np.divmod(key[start], lattice.rows)
    return Spans(found, row, x[start], x[start + 1])


def edges_under(lattice: Lattice, spans: Spans) -> tuple[IntArray, IntArray]:
    """(item, number of the left point) of all row edges that meet a span."""
    first = np.floor(spans.low / lattice.pitch).astype(np.int64)
    last = np.ceil(spans.high / lattice.pitch).astype(np.int64) - 1
    return _expand(lattice, spans, first, last)


def points_under(lattice: Lattice, spans: Spans) -> tuple[IntArray, IntArray]:
    """(item, number of the point) of all grid points inside a span."""
    first = np.ceil(spans.low / lattice.pitch).astype(np.int64)
    last = np.floor(spans.high / lattice.pitch).astype(np.int64)
    return _expand(lattice, spans, first, last)


def _expand(
    lattice: Lattice, spans: Spans, first: IntArray, last: IntArray
) -> tuple[IntArray, IntArray]:
    first, last = np.maximum(first, 0), np.minimum(last, lattice.columns - 1)
    which, column = spread(first, np.maximum(last - first + 1, 0))
    return spans.item[which], spans.row[which] * lattice.columns + column


def owners(size: int, net: IntArray, cell: IntArray) -> IntArray:
    """Per cell FREE, the one net (plus one) that may use it, or MANY: nobody may.

    ``net`` is -1 where nobody may use the cell.
    """
    width = int(net.max(initial=0)) + 2
    key = np.unique(cell * width + net + 1)
    cells, owner = np.divmod(key, width)
    where, at, times = np.unique(cells, return_index=True, return_counts=True)
    found = np.zeros(size, dtype=np.int64)
    found[where] = np.where((times > 1) | (owner[at] == 0), MANY, owner[at])
    return found
