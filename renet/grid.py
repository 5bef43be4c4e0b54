"""Candidate pairs without all-pairs work: what may meet stands in a common grid cell.

A uniform grid is laid over the board.  Each segment is entered in the cells it
runs through, row by row of the grid, so that a long diagonal costs its length
and not its bounding box; a box is entered in every cell it covers.  Two things
that share a point share a cell.  The cell is no smaller than the mean extent,
which keeps the number of entries linear.  Pairs are handed out in blocks of
bounded size, and may come more than once (one time per common cell).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from renet.model import BoolArray, IntArray

BLOCK = 1 << 13
MOST_CELLS = 4096
RASTER = 128


class Grid(NamedTuple):
    """Origin, cell size and cells per row and column."""

    x: int
    y: int
    cell: int
    columns: int
    rows: int


class Entries(NamedTuple):
    """Row ``item[i]`` of some table is in the cell ``key[i]``; sorted by key."""

    key: IntArray
    item: IntArray


def spread(start: IntArray, count: IntArray) -> tuple[IntArray, IntArray]:
    """Every row's numbers ``start .. start + count - 1``, as (row, number) columns."""
    row = np.repeat(np.arange(len(count)), count)
    shift = start - (np.cumsum(count) - count)
    return row, np.arange(len(row)) + shift[row]


def blocks(count: IntArray) -> Iterator[slice]:
    """Slices of rows whose counts sum to about ``BLOCK`` at most (one row at least)."""
    total = np.cumsum(count)
    first = 0
    while first < len(count):
        before = int(total[first - 1]) if first else 0
        last = max(int(np.searchsorted(total, before + BLOCK, side="right")), first + 1)
        yield slice(first, last)
        first = last


def lay(boxes: IntArray) -> Grid:
    """A grid that suits boxes (n, 4: x0 y0 x1 y1); it also covers nothing else."""
    if not len(boxes):
        return Grid(0, 0, 1, 1, 1)
    x0, y0 = int(boxes[:, 0].min()), int(boxes[:, 1].min())
    wide, high = int(boxes[:, 2].max()) - x0, int(boxes[:, 3].max()) - y0
    extent = np.maximum(boxes[:, 2] - boxes[:, 0], boxes[:, 3] - boxes[:, 1])
    cell = max(int(extent.mean()), max(wide, high) // MOST_CELLS, 1)
    return Grid(x0, y0, cell, wide // cell + 1, high // cell + 1)


def segment_boxes(ends: IntArray, grow: IntArray | int = 0) -> IntArray:
    """Bounding boxes (n, 4) of segments (n, 4: x1 y1 x2 y2), grown on all sides."""
    x0, x1 = np.minimum(ends[:, 0], ends[:, 2]), np.maximum(ends[:, 0], ends[:, 2])
    y0, y1 = np.minimum(ends[:, 1], ends[:, 3]), np.maximum(ends[:, 1], ends[:, 3])
    return np.stack([x0 - grow, y0 - grow, x1 + grow, y1 + grow], axis=1)


def boxes_meet(a: IntArray, b: IntArray) -> BoolArray:
    """Whether closed boxes (..., 4) share a point; the leading shapes broadcast."""
    return np.asarray(
        (a[..., 0] <= b[..., 2])
        & (b[..., 0] <= a[..., 2])
        & (a[..., 1] <= b[..., 3])
        & (b[..., 1] <= a[..., 3])
    )


def may_meet(boxes: IntArray, others: IntArray) -> BoolArray:
    """Which boxes (n, 4) come into a cell of a coarse raster that one of the others covers.

    All that meet one of the others do, and of large areas few else.
    """
    if not len(others):
        return np.zeros(len(boxes), dtype=bool)
    origin = others[:, :2].min(axis=0)
    cell = int((others[:, 2:] - origin).max()) // RASTER + 1
    left, bottom = ((others[:, :2] - origin) // cell).T
    right, top = ((others[:, 2:] - origin) // cell).T + 1
    change = np.zeros((RASTER + 1, RASTER + 1), dtype=np.int64)
    for x, y, by in ((left, bottom, 1), (right, bottom, -1), (left, top, -1), (right, top, 1)):
        np.add.at(change, (x, y), by)
    covered = np.cumsum(np.cumsum(change, axis=0), axis=1) > 0
    below = np.zeros_like(change)
    np.cumsum(np.cumsum(covered[:-1, :-1], axis=0), axis=1, out=below[1:, 1:])
    left, bottom = np.clip((boxes[:, :2] - origin) // cell, 0, RASTER).T
    right, top = np.clip((boxes[:, 2:] - origin) // cell + 1, 0, RASTER).T
    count = below[right, top] - below[left, top] - below[right, bottom] + below[left, bottom]
    return np.asarray(count > 0)


def enter_boxes(grid: Grid, boxes: IntArray, group: IntArray | int = 0) -> Entries:
    """Enter boxes in all cells they cover.  Members of different groups never share a cell."""
    low, high = _cells(grid, boxes)
    row, gy = spread(low[:, 1], high[:, 1] - low[:, 1] + 1)
    return _enter(grid, row, gy, low[row, 0], high[row, 0], group)


def enter_segments(
    grid: Grid, ends: IntArray, grow: IntArray | int = 0, group: IntArray | int = 0
) -> Entries:
    """Enter segments, grown by ``grow``, in the cells they run through."""
    grow = np.broadcast_to(np.asarray(grow, dtype=np.int64), (len(ends),))
    low, high = _cells(grid, segment_boxes(ends, grow))
    row, gy = spread(low[:, 1], high[:, 1] - low[:, 1] + 1)
    left, right = _reach_in_row(grid, ends[row], grow[row], gy)
    gx0 = np.clip((left - grid.x) // grid.cell, low[row, 0], high[row, 0])
    gx1 = np.clip((right - grid.x) // grid.cell, low[row, 0], high[row, 0])
    return _enter(grid, row, gy, gx0, gx1, group)


def _cells(grid: Grid, boxes: IntArray) -> tuple[IntArray, IntArray]:
    """First and last cell (column, row) of each box, kept inside the grid."""
    last = np.array([grid.columns - 1, grid.rows - 1])
    origin = np.array([grid.x, grid.y])
    low = np.clip((boxes[:, :2] - origin) // grid.cell, 0, last)
    high = np.clip((boxes[:, 2:] - origin) // grid.cell, 0, last)
    return low, high


def _reach_in_row(
    grid: Grid, ends: IntArray, grow: IntArray, gy: IntArray
) -> tuple[IntArray, IntArray]:
    """The x range of each grown segment inside its row of cells, never too narrow.

    Float64 is wrong by far less than a nanometre here; one is added on both sides.
    """
    x1, y1, x2, y2 = (ends[:, i] for i in range(4))
    top = grid.y + gy * grid.cell - grow - y1
    rise = np.where(y1 == y2, 1, y2 - y1)
    slope = np.where(y1 == y2, 0.0, (x2 - x1) / rise)
    at_top, at_bottom = top * slope, (top + grid.cell + 2 * grow) * slope
    least, most = np.minimum(0, x2 - x1), np.maximum(0, x2 - x1)
    low = np.where(y1 == y2, least, np.clip(np.minimum(at_top, at_bottom), least, most))
    high = np.where(y1 == y2, most, np.clip(np.maximum(at_top, at_bottom), least, most))
    left = x1 + np.floor(low).astype(np.int64) - grow - 1
    right = x1 + np.ceil(high).astype(np.int64) + grow + 1
    return left, right


def _enter(
    grid: Grid, row: IntArray, gy: IntArray, gx0: IntArray, gx1: IntArray, group: IntArray | int
) -> Entries:
    step, gx = spread(gx0, gx1 - gx0 + 1)
    item = row[step]
    key = gy[step] * grid.columns + gx
    if isinstance(group, np.ndarray):
        key += group[item] * (grid.columns * grid.rows)
    order = np.argsort(key, kind="stable")
    return Entries(key[order], item[order])


def pairs_within(
    entries: Entries, owner: IntArray | None = None
) -> Iterator[tuple[IntArray, IntArray]]:
    """Blocks of pairs (item, item) that share a cell, each pair one way round per cell.

    With ``owner`` (of every item, never falling) items of one owner make no pairs.
    """
    key = entries.key
    mine = entries.item if owner is None else owner[entries.item]
    fresh = np.ones(len(key), dtype=bool)
    fresh[1:] = (np.diff(key) != 0) | (np.diff(mine) != 0)
    after_run = np.append(np.flatnonzero(fresh), len(key))[np.cumsum(fresh)]
    count = np.searchsorted(key, key, side="right") - after_run
    for block in blocks(count):
        row, other = spread(after_run[block], count[block])
        yield entries.item[block][row], entries.item[other]


def pairs_between(a: Entries, b: Entries) -> Iterator[tuple[IntArray, IntArray]]:
    """Blocks of pairs (item of a, item of b) that share a cell."""
    start = np.searchsorted(b.key, a.key, side="left")
    count = np.searchsorted(b.key, a.key, side="right") - start
    for block in blocks(count):
        row, other = spread(start[block], count[block])
        yield a.item[block][row], b.item[other]


def distinct(pairs: IntArray, width: int) -> IntArray:
    """The different rows of (k, 2), sorted; the second column is below ``width``."""
    key = np.unique(pairs[:, 0] * max(width, 1) + pairs[:, 1])
    return np.stack(np.divmod(key, max(width, 1)), axis=1)
