"""Copper as columns: every pad, track, via and fill broken into cores and edges.

A **core** is a point, a polyline or a filled polygon; the copper is everything
within ``radius`` of it.  Elements are numbered through: pads first, then tracks,
vias, and the fills of all zones in file order.  Unplated pads are holes and no
copper.  Arcs become chords that stray less than ``ARC_NM`` to the inside.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from renet.geometry import MAX_EXTENT, place_rows, points
from renet.grid import spread
from renet.model import NONE, Board, BoolArray, IntArray

ARC_NM = 4_000
WIDE_NM = MAX_EXTENT // 4
FLAT_NM = 1e15


@dataclass(frozen=True, slots=True)
class Elements:
    """Where each kind of copper starts in the common numbering, and its net and layers.

    ``zone`` names the zone of each fill (index: element minus ``fills``), and
    ``outlines`` keeps the points of fills once they were decoded.
    """

    tracks: int
    vias: int
    fills: int
    net: IntArray
    layers: IntArray
    locked: BoolArray
    zone: IntArray
    outlines: dict[int, IntArray] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.net)


@dataclass(frozen=True, slots=True)
class Cores:
    """Cores with their edges: core ``i`` has the edges ``start[i] .. start[i+1] - 1``.

    ``edges`` is (m, 4); a point is an edge of no length, a polygon is closed.
    """

    element: IntArray
    radius: NDArray[np.float64]
    filled: BoolArray
    start: IntArray
    edges: IntArray

    def __len__(self) -> int:
        return len(self.element)

    @property
    def core_of_edge(self) -> IntArray:
        """The core of every edge."""
        return np.repeat(np.arange(len(self)), np.diff(self.start))


def elements(board: Board) -> Elements:
    """Number all copper of ``board``; an empty ``layers`` mask means no copper."""
    fills = [(z, zone, fill) for z, zone in enumerate(board.zones) for fill in zone.fills]
    tracks, vias = board.tracks, board.vias
    layers = (
        [pad.layers if pad.plated else 0 for pad in board.pads],
        np.where(tracks.layer == NONE, 0, 1 << np.maximum(tracks.layer, 0)),
        vias.layers,
        [1 << fill.layer if fill.layer != NONE else 0 for _, _, fill in fills],
    )
    net = ([pad.net for pad in board.pads], tracks.net, vias.net, [z.net for _, z, _ in fills])
    fixed = ([False] * len(board.pads), tracks.locked, vias.locked, [z.locked for _, z, _ in fills])
    first_via = len(board.pads) + len(tracks)
    return Elements(
        tracks=len(board.pads),
        vias=first_via,
        fills=first_via + len(vias),
        net=np.concatenate([np.asarray(part, dtype=np.int64) for part in net]),
        layers=np.concatenate([np.asarray(part, dtype=np.int64) for part in layers]),
        locked=np.concatenate([np.asarray(part, dtype=bool) for part in fixed]),
        zone=np.array([z for z, _, _ in fills], dtype=np.int64),
    )


def cores(board: Board, table: Elements, wanted: BoolArray) -> Cores:
    """Cores of the ``wanted`` elements.  The text of a fill is only decoded if it is wanted."""
    wanted = wanted & (table.layers != 0)
    pads = np.flatnonzero(wanted[: table.tracks])
    tracks = np.flatnonzero(wanted[table.tracks : table.vias])
    vias = np.flatnonzero(wanted[table.vias : table.fills])
    fills = np.flatnonzero(wanted[table.fills :])
    return _join(
        [
            _pads(board, pads),
            _tracks(board, tracks, table.tracks),
            _vias(board, vias, table.vias),
            _fills(board, fills, table),
        ]
    )


def _join(parts: Sequence[Cores]) -> Cores:
    shift = np.cumsum([0] + [len(part.edges) for part in parts])
    starts = [part.start[:-1] + by for part, by in zip(parts, shift[:-1], strict=True)]
    return Cores(
        np.concatenate([part.element for part in parts]),
        np.concatenate([part.radius for part in parts]),
        np.concatenate([part.filled for part in parts]),
        np.append(np.concatenate(starts), shift[-1]),
        np.concatenate([part.edges for part in parts]),
    )


def _chains(
    element: IntArray, radius: Iterable[float], size: IntArray, flat: IntArray, close: bool
) -> Cores:
    """Cores from runs of ``size`` points of ``flat``; three and more are a polygon if ``close``."""
    first = np.cumsum(size) - size
    filled = (size > 2) & close
    count = np.where(filled, size, np.maximum(size - 1, 1))
    row, here = spread(first, count)
    after = np.where(here + 1 < first[row] + size[row], here + 1, first[row])
    return Cores(
        element,
        np.array(list(radius), dtype=np.float64),
        filled,
        np.concatenate([[0], np.cumsum(count)]),
        np.concatenate([flat[here], flat[after]], axis=1),
    )


def _pads(board: Board, which: IntArray) -> Cores:
    element: list[int] = []
    radius: list[float] = []
    size: list[int] = []
    local: list[tuple[int, int]] = []
    for index in which.tolist():
        for core in board.pads[index].shape.cores:
            if core.points:
                element.append(index)
                radius.append(core.radius)
                size.append(len(core.points))
                local += core.points
    count = np.array(size, dtype=np.int64)
    pads = [board.pads[index] for index in element]
    at = np.array([(pad.x, pad.y) for pad in pads], dtype=np.int64).reshape(-1, 2)
    angle = np.array([pad.angle for pad in pads], dtype=np.float64)
    spots = np.array(local, dtype=np.int64).reshape(-1, 2)
    placed = place_rows(spots, np.repeat(at, count, axis=0), np.repeat(angle, count))
    return _chains(np.array(element, dtype=np.int64), radius, count, placed, close=True)


def _vias(board: Board, which: IntArray, base: int) -> Cores:
    at = board.vias.at[which]
    return Cores(
        which + base,
        board.vias.size[which] / 2,
        np.zeros(len(which), dtype=bool),
        np.arange(len(which) + 1),
        np.concatenate([at, at], axis=1),
    )


def _fills(board: Board, which: IntArray, table: Elements) -> Cores:
    fills = [fill for zone in board.zones for fill in zone.fills]
    known = table.outlines
    known.update({i: points(fills[i].text) for i in which.tolist() if i not in known})
    taken = [index for index in which.tolist() if len(known[index])]
    element = np.array(taken, dtype=np.int64) + table.fills
    grow = [fills[index].grow for index in taken]
    chains = [np.empty((0, 2), dtype=np.int64), *(known[index] for index in taken)]
    size = np.array([len(chain) for chain in chains[1:]], dtype=np.int64)
    return _chains(element, grow, size, np.concatenate(chains), close=True)


def _tracks(board: Board, which: IntArray, base: int) -> Cores:
    tracks = board.tracks
    ends = tracks.ends[which]
    curved = np.flatnonzero(tracks.curved[which])
    count = np.ones(len(which), dtype=np.int64)
    chains = [arc(ends[row], tracks.mid[which[row]]) for row in curved.tolist()]
    count[curved] = [len(chain) - 1 for chain in chains]
    edges = ends[np.repeat(np.arange(len(which)), count)]
    start = np.concatenate([[0], np.cumsum(count)])
    for row, chain in zip(curved.tolist(), chains, strict=True):
        edges[start[row] : start[row + 1]] = np.concatenate([chain[:-1], chain[1:]], axis=1)
    radius = tracks.width[which] / 2
    return Cores(which + base, radius, np.zeros(len(which), dtype=bool), start, edges)


def arc(ends: IntArray, mid: IntArray) -> IntArray:
    """Points (n, 2) on the arc from ``ends[:2]`` over ``mid`` to ``ends[2:]``.

    Both ends are exact.  Three points in one line, or nearly (float64 would tell nothing
    more), give the polyline through them; so does more than half of a circle wider than
    any board, the mark of a broken file.
    """
    ax, ay, bx, by = (int(v) for v in ends)
    mx, my = int(mid[0]) - ax, int(mid[1]) - ay
    ex, ey = bx - ax, by - ay
    twice = 2 * (mx * ey - my * ex)
    if twice == 0:
        return np.array([(ax, ay), (mx + ax, my + ay), (bx, by)], dtype=np.int64)
    m2, e2 = mx * mx + my * my, ex * ex + ey * ey
    cx, cy = (m2 * ey - e2 * my) / twice, (e2 * mx - m2 * ex) / twice
    radius = math.hypot(cx, cy)
    begin, end = math.atan2(-cy, -cx), math.atan2(ey - cy, ex - cx)
    turn = (end - begin) % math.tau
    if (math.atan2(my - cy, mx - cx) - begin) % math.tau > turn:
        turn -= math.tau
    if radius > FLAT_NM or (radius > WIDE_NM and abs(turn) > math.pi):
        return np.array([(ax, ay), (mx + ax, my + ay), (bx, by)], dtype=np.int64)
    step = 2 * math.sqrt(2 * min(ARC_NM / radius, 0.5))
    angle = begin + turn * np.linspace(0.0, 1.0, max(math.ceil(abs(turn) / step), 2) + 1)
    x, y = cx + radius * np.cos(angle) + ax, cy + radius * np.sin(angle) + ay
    chain: IntArray = np.rint(np.stack([x, y], axis=1)).astype(np.int64)
    chain[0], chain[-1] = (ax, ay), (bx, by)
    return chain
