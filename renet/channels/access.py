"""How connections get on the grid: points that lie in their copper, and stubs beside their pads.

A **stub** is a short track, off the grid, from a pad's middle straight out to an
exit and on to a grid point near it, on a layer of the pad; from the pads of a ball
grid also with a straight, a 45 degree and another straight part, as the narrow way
between two neighbours may ask for.  Which stubs clear all
standing copper is found for all pads at once; which grid points, vias and other
stubs each would keep from other nets is written down once, so that the planner
only counts.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product
from typing import NamedTuple

import numpy as np

from renet import grid
from renet.channels import slants
from renet.channels.lattice import Lattice
from renet.channels.obstacles import Ground, Obstacles
from renet.channels.raster import capsules, edges_under, insides, points_under
from renet.channels.sizes import Sizes
from renet.geometry import place
from renet.model import NONE, Board, BoolArray, IntArray
from renet.touch import within

EXITS = 4
SMALL = 3
JOGS = (0.2, 0.4, 0.6, 0.8)
"""Shares of the nearer way that a stub runs straight before it turns by 45 degrees."""
JOG_REACH = 2
MOST_STUBS = 32


class Table(NamedTuple):
    """Rows of numbers: row ``i`` holds ``items[start[i] : start[i + 1]]``."""

    start: IntArray
    items: IntArray

    def rows(self, which: IntArray) -> IntArray:
        """The numbers of several rows, one after the other."""
        _, at = grid.spread(self.start[which], self.start[which + 1] - self.start[which])
        return self.items[at]


def table_of(count: int, row: IntArray, item: IntArray) -> Table:
    """A table of different (row, item) pairs."""
    width = int(item.max(initial=0)) + 1
    key = np.unique(row * width + item)
    row, item = np.divmod(key, width)
    return Table(np.searchsorted(row, np.arange(count + 1)), item)


@dataclass(frozen=True, slots=True)
class Stubs:
    """All usable stubs: ``bends`` (n, 4, 2) pad middle, one or two exits, grid point; ``layer``
    counts planned layers; ``node`` is layer * points + point.  ``nodes``, ``cells``, ``vias``
    and ``rivals`` are what a stub keeps from others: track nodes, diagonals by cell, via
    points, other stubs.
    """

    pad: IntArray
    net: IntArray
    layer: IntArray
    node: IntArray
    bends: IntArray
    length: IntArray
    nodes: Table
    cells: Table
    vias: Table
    rivals: Table

    def __len__(self) -> int:
        return len(self.pad)


def stubs_of(
    board: Board,
    ground: Ground,
    sizes: Sizes,
    all_: Obstacles,
    pads: IntArray,
    used: tuple[IntArray, IntArray, IntArray] | None = None,
) -> Stubs:
    """Stubs of the given pads that stay clear of all standing copper of other nets.

    ``used``: pads, layers and bends of stubs that are known to stay clear, and end on points
    of this grid too; they come last, in their order.
    """
    pad, layer, bends = _candidates(board, ground, pads, sizes.pitch)
    net = np.array([entry.net for entry in board.pads], dtype=np.int64)
    clear = _clear(ground, sizes, all_, (net[pad], layer, bends))
    pad, layer, bends = pad[clear], layer[clear], bends[clear]
    keep = _best(pad, _nodes(ground, layer, bends), _lengths(bends))
    pad, layer, bends = pad[keep], layer[keep], bends[keep]
    if used is not None:
        pad, layer, bends = (
            np.concatenate(pair) for pair in zip((pad, layer, bends), used, strict=True)
        )
    bare = Stubs(
        pad,
        net[pad],
        layer,
        _nodes(ground, layer, bends),
        bends,
        _lengths(bends),
        *([table_of(0, pad[:0], pad[:0])] * 4),
    )
    return _with_claims(bare, ground, sizes)


def _nodes(ground: Ground, layer: IntArray, bends: IntArray) -> IntArray:
    """The nodes where stubs end."""
    return np.asarray(layer * len(ground.lattice) + _point(ground.lattice, bends[:, 3]))


def _candidates(
    board: Board, ground: Ground, pads: IntArray, pitch: int
) -> tuple[IntArray, IntArray, IntArray]:
    """(pad, planned layer, bends) for every exit and the four grid points round it."""
    rows: list[tuple[int, int]] = []
    bends: list[IntArray] = []
    for pad in pads.tolist():
        layers = [k for k, layer in enumerate(ground.layers) if _on(board, pad, layer)]
        shapes = _bends(board, ground.lattice, pad, pitch)
        for layer in layers:
            rows += [(pad, layer)] * len(shapes)
            bends.append(shapes)
    table = np.array(rows, dtype=np.int64).reshape(-1, 2)
    shape = np.concatenate([np.empty((0, 4, 2), dtype=np.int64), *bends])
    return table[:, 0], table[:, 1], shape


def _on(board: Board, pad: int, layer: int) -> bool:
    entry = board.pads[pad]
    return entry.plated and bool(entry.layers >> layer & 1)


def _bends(board: Board, lattice: Lattice, pad: int, pitch: int) -> IntArray:
    """Ways from the middle of a pad: over exits along its own axes, to grid points beside them.

    Small pads, as of a ball grid, are left along the diagonals too, and with jogs.
    """
    entry = board.pads[pad]
    u0, v0, u1, v1 = entry.shape.box
    u, v = (u0 + u1) // 2, (v0 + v1) // 2
    local = [(u, v)]
    small = max(u1 - u0, v1 - v0) <= SMALL * pitch
    for step in range(EXITS):
        out = step * pitch
        local += [(u1 + out, v), (u0 - out, v), (u, v1 + out), (u, v0 - out)]
        aside = (step + 1) * pitch // 2
        if small:
            local += [(u + i * aside, v + j * aside) for i in (-1, 1) for j in (-1, 1)]
    exits = place(local, entry.x, entry.y, entry.angle)
    middle = exits[0]
    found = []
    for x, y in exits:
        column, row = (x - lattice.x) // lattice.pitch, (y - lattice.y) // lattice.pitch
        for c in (column, column + 1):
            for r in (row, row + 1):
                if 0 <= c < lattice.columns and 0 <= r < lattice.rows:
                    at = lattice.x + c * lattice.pitch, lattice.y + r * lattice.pitch
                    found.append((middle, (x, y), (x, y), at))
    if small:
        found += _jogs(lattice, middle, pitch)
    return np.array(found, dtype=np.int64).reshape(-1, 4, 2)


_Point = tuple[int, int]


def _jogs(
    lattice: Lattice, middle: _Point, pitch: int
) -> list[tuple[_Point, _Point, _Point, _Point]]:
    """Ways to the grid points round a pad that start straight, turn by 45 degrees, end straight."""
    x, y = middle
    most = JOG_REACH * pitch
    columns = range(
        max(-(-(x - most - lattice.x) // lattice.pitch), 0),
        min((x + most - lattice.x) // lattice.pitch + 1, lattice.columns),
    )
    rows = range(
        max(-(-(y - most - lattice.y) // lattice.pitch), 0),
        min((y + most - lattice.y) // lattice.pitch + 1, lattice.rows),
    )
    found = []
    for column, row in product(columns, rows):
        at = lattice.x + column * lattice.pitch, lattice.y + row * lattice.pitch
        dx, dy = at[0] - x, at[1] - y
        if not (dx and dy):
            continue
        right, down = (1 if dx > 0 else -1), (1 if dy > 0 else -1)
        for share in JOGS:
            start = round(share * min(abs(dx), abs(dy)))
            for ax, ay in ((start, 0), (0, start)):
                slant = min(abs(dx) - ax, abs(dy) - ay)
                one = x + right * ax, y + down * ay
                two = one[0] + right * slant, one[1] + down * slant
                found.append((middle, one, two, at))
    return found


def _point(lattice: Lattice, at: IntArray) -> IntArray:
    column, row = (at[:, 0] - lattice.x) // lattice.pitch, (at[:, 1] - lattice.y) // lattice.pitch
    return np.asarray(row * lattice.columns + column)


def _lengths(bends: IntArray) -> IntArray:
    steps = np.diff(bends, axis=1).astype(np.float64)
    whole: IntArray = np.rint(np.hypot(*steps.T).sum(axis=0)).astype(np.int64)
    return whole


def _segments(bends: IntArray) -> tuple[IntArray, IntArray]:
    """(row, segment) of the parts of every way; the first stays though it be a point."""
    parts = np.stack([bends[:, i : i + 2].reshape(-1, 4) for i in range(3)])
    some = (parts[..., :2] != parts[..., 2:]).any(axis=2)
    some[0] = True
    part, row = np.nonzero(some)
    return row, parts[part, row]


def _clear(
    ground: Ground, sizes: Sizes, all_: Obstacles, ways: tuple[IntArray, IntArray, IntArray]
) -> BoolArray:
    """Which ways keep their distance from foreign copper, keep-outs and the edge."""
    net, layer, bends = ways
    row, ends = _segments(bends)
    copper = np.array(ground.layers, dtype=np.int64)[layer]
    edges = np.concatenate([all_.edges, all_.rim])
    rim = len(all_.rim)
    nets = np.concatenate([all_.net, np.full(rim, NONE)])
    masks = np.concatenate([all_.layers, np.full(rim, -1)])
    radius = np.concatenate([all_.radius, np.zeros(rim)]) + sizes.track / 2 + sizes.clearance - 1
    good = np.ones(len(bends), dtype=bool)
    grow = np.ceil(radius).astype(np.int64)
    boxes, mine = grid.segment_boxes(edges, grow), grid.segment_boxes(ends)
    field = grid.lay(np.concatenate([boxes, mine]))
    for i, j in grid.pairs_between(
        grid.enter_segments(field, ends), grid.enter_segments(field, edges, grow)
    ):
        near = (nets[j] != net[row[i]]) | (nets[j] == NONE)
        near &= (masks[j] >> copper[row[i]] & 1 == 1) & grid.boxes_meet(mine[i], boxes[j])
        i, j = i[near], j[near]
        hit = within(ends[i], edges[j], radius[j])
        good[row[i[hit]]] = False
    return good


def _best(pad: IntArray, node: IntArray, length: IntArray) -> IntArray:
    """The shortest way of each pad to each node, and of these the shortest of each pad."""
    order = np.lexsort((length, node, pad))
    first = np.ones(len(order), dtype=bool)
    same = (np.diff(pad[order]) == 0) & (np.diff(node[order]) == 0)
    first[1:] = ~same
    order = order[first]
    order = order[np.lexsort((node[order], length[order], pad[order]))]
    start = np.searchsorted(pad[order], pad[order])
    kept: IntArray = np.sort(order[np.arange(len(order)) - start < MOST_STUBS])
    return kept


def _with_claims(stubs: Stubs, ground: Ground, sizes: Sizes) -> Stubs:
    """The stubs with what they keep from others."""
    lattice, count = ground.lattice, len(stubs)
    row, ends = _segments(stubs.bends)
    reach = np.full(len(ends), float(sizes.pitch))
    item, point = points_under(lattice, capsules(lattice, ends, reach))
    near = np.unique(row[item] * len(lattice) + point)
    wide = np.concatenate([near, _between_points(lattice, row, ends, near, sizes)])
    owner, point = np.divmod(np.unique(wide), len(lattice))
    nodes = table_of(count, owner, stubs.layer[owner] * len(lattice) + point)
    item, cell = _near_slants(lattice, ends, float(sizes.pitch))
    owner = row[item]
    cells = table_of(count, owner, stubs.layer[owner] * len(lattice) + cell)
    reach = np.full(len(ends), float(sizes.beside_via))
    item, point = points_under(lattice, capsules(lattice, ends, reach))
    vias = table_of(count, row[item], point)
    rivals = _rivals(stubs, row, ends, sizes)
    return replace(stubs, nodes=nodes, cells=cells, vias=vias, rivals=rivals)


def _near_slants(lattice: Lattice, ends: IntArray, near: float) -> tuple[IntArray, IntArray]:
    """(segment, cell) where a segment comes close to one of the diagonals of a cell."""
    found_item, found_cell = [], []
    reach = np.full(len(ends), near * slants.ROOT)
    for turned_round in (False, True):
        seen = slants.upside_down(lattice) if turned_round else lattice
        edges = slants.leaned(seen, slants.mirrored(ends) if turned_round else ends)
        lean = slants.leaning(seen)
        item, half = edges_under(lean, capsules(lean, edges, reach))
        where, cell = slants.cells_of(seen, half)
        found_item.append(item[where])
        found_cell.append(slants.unmirrored(lattice, cell) if turned_round else cell)
    return np.concatenate(found_item), np.concatenate(found_cell)


def _between_points(
    lattice: Lattice, row: IntArray, ends: IntArray, near: IntArray, sizes: Sizes
) -> IntArray:
    """Both ends of grid edges that a stub comes close to though it is clear of both ends."""
    size = len(lattice)
    reach = np.full(len(ends), float(sizes.pitch))
    item, left = edges_under(lattice, capsules(lattice, ends, reach))
    pairs = [(row[item] * size + left, row[item] * size + left + 1)]
    turned = lattice.turned()
    item, cell = edges_under(turned, capsules(turned, ends[:, [1, 0, 3, 2]], reach))
    column, line = np.divmod(cell, turned.columns)
    point = line * lattice.columns + column
    pairs.append((row[item] * size + point, row[item] * size + point + lattice.columns))
    found = [np.empty(0, dtype=np.int64)]
    for one, two in pairs:
        clear = ~np.isin(one, near) & ~np.isin(two, near)
        found += [one[clear], two[clear]]
    return np.concatenate(found)


def _rivals(stubs: Stubs, row: IntArray, ends: IntArray, sizes: Sizes) -> Table:
    """Pairs of stubs of two nets on one layer that are too close."""
    boxes = grid.segment_boxes(ends, sizes.pitch)
    field = grid.lay(boxes)
    entries = grid.enter_segments(field, ends, sizes.pitch, stubs.layer[row])
    found = [np.empty((0, 2), dtype=np.int64)]
    for i, j in grid.pairs_within(entries):
        near = np.flatnonzero(stubs.net[row[i]] != stubs.net[row[j]])
        i, j = i[near], j[near]
        near = np.flatnonzero(grid.boxes_meet(boxes[i], boxes[j]))
        i, j = i[near], j[near]
        hit = within(ends[i], ends[j], np.full(len(i), float(sizes.pitch - 1)))
        pairs = np.stack([row[i[hit]], row[j[hit]]], axis=1)
        found += [pairs, pairs[:, ::-1]]
    pairs = np.concatenate(found)
    return table_of(len(stubs), pairs[:, 0], pairs[:, 1])


def covered(
    board: Board, ground: Ground, all_: Obstacles, label: IntArray, wanted: IntArray
) -> tuple[IntArray, IntArray]:
    """(cluster label, node) of all grid nodes in the copper of the wanted clusters."""
    element = all_.element
    mine = np.isin(label[np.maximum(element, 0)], wanted) & (element != NONE) & (all_.net != NONE)
    lattice = ground.lattice
    found_label, found_node = [], []
    for k, layer in enumerate(ground.layers):
        on = np.flatnonzero(mine & (all_.layers >> layer & 1 == 1))
        cluster = label[element[on]]
        thick = np.flatnonzero(all_.radius[on] > 0)
        near = capsules(lattice, all_.edges[on][thick], all_.radius[on][thick])
        filled = np.flatnonzero(all_.outline[on] != NONE)
        inner = insides(lattice, all_.edges[on][filled], all_.outline[on][filled])
        of_outline = dict(
            zip(all_.outline[on][filled].tolist(), cluster[filled].tolist(), strict=True)
        )
        for spans, names in (
            (near, cluster[thick]),
            (inner, _by_number(of_outline)),
        ):
            item, point = points_under(lattice, spans)
            found_label.append(names[item])
            found_node.append(k * len(lattice) + point)
    size = len(ground.layers) * len(lattice)
    key = np.unique(np.concatenate(found_label) * size + np.concatenate(found_node))
    return np.divmod(key, size)


def _by_number(names: dict[int, int]) -> IntArray:
    found = np.full(max(names, default=0) + 1, NONE, dtype=np.int64)
    found[list(names)] = list(names.values())
    return found
