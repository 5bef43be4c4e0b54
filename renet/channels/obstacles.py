"""What stands in the way of tracks and vias: pads, counted copper, keep-outs, the board's edge.

Areas that are poured (fills of zones) are no obstacle: they are filled again
round whatever is laid, as the trade does it.  Unplated pads are holes and stand
in the way on every layer.  A keep-out that existing tracks run through on a layer
evidently keeps out only fills there (the model does not hold what it forbids).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from renet.channels import slants
from renet.channels.lattice import Lattice
from renet.channels.raster import (
    Floats,
    Spans,
    capsules,
    edges_under,
    insides,
    owners,
    points_under,
)
from renet.channels.sizes import Sizes
from renet.geometry import inside, points
from renet.model import NONE, Board, BoolArray, IntArray, Zone
from renet.shapes import Cores, Elements, cores, elements


@dataclass(frozen=True, slots=True)
class Obstacles:
    """Edges (m, 4) of copper and forbidden areas; ``radius`` is what the copper is thicker.

    ``net`` is -1 for what stands in everybody's way; ``layers`` a mask; ``outline``
    numbers the edges of filled outlines alike, -1 for the rest; ``element`` is the
    copper's number, -1 for none; ``surface`` marks pads without a hole; ``rim`` are the
    edges of the board itself.
    """

    edges: IntArray
    radius: Floats
    net: IntArray
    layers: IntArray
    outline: IntArray
    element: IntArray
    surface: BoolArray
    rim: IntArray


def obstacles_of(board: Board, counted: BoolArray) -> Obstacles:
    """All obstacles of a board; tracks and vias where ``counted`` (by net) says they are there.

    Copper of no net always counts.
    """
    table = _table(board)
    wanted = np.append(counted, True)[table.net]
    wanted[: table.tracks] = True
    wanted[table.fills :] = False
    copper = _of_cores(board, table, cores(board, table, wanted))
    keep = [_keep_out(board, zone) for zone in board.zones if zone.rule_area]
    rim = np.array(
        [(*a, *b) for line in board.edge for a, b in pairwise(line)],
        dtype=np.int64,
    ).reshape(-1, 4)
    return _joined(copper, [one for one in keep if one], rim)


def _table(board: Board) -> Elements:
    """The numbering of all copper, with unplated pads as obstacles on every layer."""
    table = elements(board)
    layers = table.layers.copy()
    everywhere = (1 << len(board.layers)) - 1
    for index, pad in enumerate(board.pads):
        if not pad.plated:
            layers[index] = everywhere
        elif pad.through:
            layers[index] |= everywhere if layers[index] else 0
    net = table.net.copy()
    net[: table.tracks] = [pad.net if pad.plated else NONE for pad in board.pads]
    return replace(table, layers=layers, net=net)


def _of_cores(board: Board, table: Elements, found: Cores) -> Obstacles:
    core = found.core_of_edge
    element = found.element[core]
    outline = np.where(found.filled[core], core, NONE)
    none = np.empty((0, 4), dtype=np.int64)
    surface = np.zeros(len(table), dtype=bool)
    surface[: table.tracks] = [not pad.through for pad in board.pads]
    return Obstacles(
        found.edges,
        found.radius[core],
        table.net[element],
        table.layers[element],
        outline,
        element,
        surface[element],
        none,
    )


def _keep_out(board: Board, zone: Zone) -> tuple[list[IntArray], int] | None:
    """Outlines of a keep-out and the layers it holds on; None where it keeps nothing out."""
    outlines = [points(text) for text in zone.outline]
    outlines = [outline for outline in outlines if len(outline) > 2]
    if not outlines:
        return None
    tracks = board.tracks
    middle = (tracks.ends[:, :2] + tracks.ends[:, 2:]) // 2
    layers = zone.layers
    for layer in range(len(board.layers)):
        on = np.flatnonzero(tracks.layer == layer)
        if layers >> layer & 1 and inside(outlines[0], middle[on]).any():
            layers &= ~(1 << layer)
    return (outlines, layers) if layers else None


def _joined(copper: Obstacles, keep: list[tuple[list[IntArray], int]], rim: IntArray) -> Obstacles:
    edges, layers, outline = [copper.edges], [copper.layers], [copper.outline]
    number = int(copper.outline.max(initial=NONE)) + 1
    for outlines, mask in keep:
        for corners in outlines:
            ring = np.concatenate([corners, np.roll(corners, -1, axis=0)], axis=1)
            edges.append(ring)
            layers.append(np.full(len(ring), mask, dtype=np.int64))
            outline.append(np.full(len(ring), number, dtype=np.int64))
        number += 1
    more = sum(len(ring) for ring in edges[1:])
    nobody = np.full(more, NONE, dtype=np.int64)
    return Obstacles(
        np.concatenate(edges),
        np.concatenate([copper.radius, np.zeros(more)]),
        np.concatenate([copper.net, nobody]),
        np.concatenate(layers),
        np.concatenate(outline),
        np.concatenate([copper.element, nobody]),
        np.concatenate([copper.surface, np.zeros(more, dtype=bool)]),
        rim,
    )


@dataclass(frozen=True, slots=True)
class Ground:
    """Who may use what: see :func:`renet.channels.raster.owners`.

    ``along`` and ``down`` are (layers, points): the edge to the next column and to
    the next row; ``falls`` and ``rises`` the two diagonals of a cell, by its number;
    ``via`` is by point.  Rows of the first axis go with ``layers``.
    """

    lattice: Lattice
    layers: tuple[int, ...]
    along: IntArray
    down: IntArray
    falls: IntArray
    rises: IntArray
    via: IntArray


def ground_of(lattice: Lattice, layers: tuple[int, ...], sizes: Sizes, all_: Obstacles) -> Ground:
    """Which edges and points of the grid are free, on the given copper layers."""
    keep = sizes.track / 2 + sizes.clearance
    along = [_edge_owners(lattice, layer, keep, all_) for layer in layers]
    flipped = replace(all_, edges=all_.edges[:, [1, 0, 3, 2]], rim=all_.rim[:, [1, 0, 3, 2]])
    turned = lattice.turned()
    down = []
    for layer in layers:
        found = _edge_owners(turned, layer, keep, flipped)
        down.append(found.reshape(turned.rows, turned.columns).T.ravel())
    falls, rises = _slant_owners(lattice, layers, keep, all_)
    via = _via_owners(lattice, sizes, all_)
    return Ground(lattice, layers, np.array(along), np.array(down), falls, rises, via)


def _slant_owners(
    lattice: Lattice, layers: tuple[int, ...], keep: float, all_: Obstacles
) -> tuple[IntArray, IntArray]:
    """Owners of the falling and of the rising diagonals, by layer and cell."""
    found = []
    for turned_round in (False, True):
        grid_, edges, rim = lattice, all_.edges, all_.rim
        if turned_round:
            grid_ = slants.upside_down(lattice)
            edges, rim = slants.mirrored(edges), slants.mirrored(rim)
        seen = replace(
            all_,
            edges=slants.leaned(grid_, edges),
            rim=slants.leaned(grid_, rim),
            radius=all_.radius * slants.ROOT,
        )
        lean = slants.leaning(grid_)
        owner = [
            slants.whole(grid_, _edge_owners(lean, layer, keep * slants.ROOT, seen))
            for layer in layers
        ]
        by_row = np.array(owner).reshape(len(layers), lattice.rows, lattice.columns)
        if turned_round:
            by_row = np.roll(by_row[:, ::-1], -1, axis=1)
        found.append(by_row.reshape(len(layers), -1))
    return found[0], found[1]


def _edge_owners(lattice: Lattice, layer: int, keep: float, all_: Obstacles) -> IntArray:
    """Owners of the edges to the next column on one layer; ``keep``: distance from copper."""
    on = np.flatnonzero(all_.layers >> layer & 1)
    reach = all_.radius[on] + keep
    spans = [_named(capsules(lattice, all_.edges[on], reach), all_.net[on])]
    spans.append(_within(lattice, on, all_))
    spans += _off_board(lattice, all_, keep)
    cells = [edges_under(lattice, span) for span in spans]
    net, cell = (np.concatenate(part) for part in zip(*cells, strict=True))
    found = owners(len(lattice), net, cell)
    found.reshape(lattice.rows, lattice.columns)[:, -1] = -1
    return found


def _via_owners(lattice: Lattice, sizes: Sizes, all_: Obstacles) -> IntArray:
    """Owners of the points as places of a via, which meets every layer.

    A via stays off surface pads, of its own net too: solder would run into its hole.
    """
    on = np.flatnonzero(all_.layers)
    reach = all_.radius[on] + sizes.via / 2 + sizes.clearance
    spans = [_named(capsules(lattice, all_.edges[on], reach), all_.net[on])]
    pads = on[all_.surface[on]]
    spans.append(_nobody(capsules(lattice, all_.edges[pads], all_.radius[pads] + sizes.via / 2)))
    spans.append(_within(lattice, on, all_))
    spans += _off_board(lattice, all_, sizes.via / 2 + sizes.clearance)
    cells = [points_under(lattice, span) for span in spans]
    net, cell = (np.concatenate(part) for part in zip(*cells, strict=True))
    return owners(len(lattice), net, cell)


def _named(spans: Spans, net: IntArray) -> Spans:
    return spans._replace(item=net[spans.item])


def _nobody(spans: Spans) -> Spans:
    return spans._replace(item=np.full(len(spans.item), NONE, dtype=np.int64))


def _within(lattice: Lattice, on: IntArray, all_: Obstacles) -> Spans:
    """The insides of filled outlines, by net."""
    filled = on[all_.outline[on] != NONE]
    spans = insides(lattice, all_.edges[filled], all_.outline[filled])
    net = np.full(int(all_.outline.max(initial=NONE)) + 2, NONE, dtype=np.int64)
    net[all_.outline[filled]] = all_.net[filled]
    return _named(spans, net)


def _off_board(lattice: Lattice, all_: Obstacles, half: float) -> list[Spans]:
    """What lies outside the board, and what is closer to its edge than copper may be."""
    if not len(all_.rim):
        return []
    rim = capsules(lattice, all_.rim, np.full(len(all_.rim), half))
    board = insides(lattice, all_.rim, np.zeros(len(all_.rim), dtype=np.int64))
    order = np.lexsort((board.low, board.row))
    row, low, high = board.row[order], board.low[order], board.high[order]
    new = np.append(True, row[1:] != row[:-1])[: len(row)]
    last = np.append(row[1:] != row[:-1], True)[: len(row)]
    before = np.where(new, -1.0, np.append(0.0, high[:-1])[: len(row)])
    end = np.full(int(last.sum()), float(lattice.columns * lattice.pitch))
    gaps = Spans(
        np.zeros(len(row) + len(end), dtype=np.int64),
        np.concatenate([row, row[last]]),
        np.concatenate([before, high[last]]),
        np.concatenate([low, end]),
    )
    return [_nobody(rim), _nobody(gaps)]
