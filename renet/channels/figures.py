"""What a plan adds up to: channels, tracks used, vias in line."""

from __future__ import annotations

from collections import Counter
from typing import NamedTuple

import numpy as np

from renet.channels.leftedge import (
    Interval,
    constraints,
    dogleg_free_bound,
    is_cyclic,
    left_edge,
)
from renet.channels.plan import Plan
from renet.channels.raster import MANY
from renet.channels.routes import Piece
from renet.channels.search import NEAR_END
from renet.model import IntArray

BAND = 10


class Channel(NamedTuple):
    """A band of ten tracks of one layer, where it is fullest: tracks taken against tracks there.

    ``low`` and ``high`` are its bounds across the tracks (y of a horizontal layer,
    x of a vertical one), ``at`` the place along them; nanometres.  ``tracks`` carry something;
    ``least`` would do if every piece stayed where it is along them (left-edge; pieces of one
    net that touch count as one).  ``straight`` tracks at least are needed if no net may change
    its track inside the channel, as the places where nets leave it up and down force one above
    another; None where they do so in a circle, so that some net must.
    """

    layer: int
    low: int
    high: int
    at: int
    demand: int
    capacity: int
    tracks: int
    least: int
    straight: int | None


class _Run(NamedTuple):
    """A piece along a channel: its net, where it lies across, from where to where along.

    ``leaves`` are the ends at which a piece across goes on: (place along, layer, where it ends).
    """

    net: int
    across: int
    first: int
    last: int
    leaves: tuple[tuple[int, int, int], ...]


def channels_of(plan: Plan) -> list[Channel]:
    """All channels that carry something, front layer first, then by place."""
    found = []
    for k, layer in enumerate(plan.ground.layers):
        way = plan.directions.ways[layer]
        used, free = _used(plan, layer), _free(plan, k, way)
        if way == "v":
            used = used.T
        for first in range(0, used.shape[0], BAND * plan.fine):
            taken = used[first : first + BAND * plan.fine].sum(axis=0)
            if taken.any():
                at = int(taken.argmax())
                found.append(_channel(plan, layer, (first, at), (used, free)))
    return found


def _channel(
    plan: Plan, layer: int, where: tuple[int, int], grids: tuple[IntArray, IntArray]
) -> Channel:
    first, at = where
    used, free = (grid[first : first + BAND * plan.fine, at] for grid in grids)
    lattice = plan.ground.lattice
    turned = lattice if plan.directions.ways[layer] == "h" else lattice.turned()
    low = turned.y + first * turned.pitch
    place = turned.x + at * turned.pitch
    high = low + (len(used) - 1) * turned.pitch
    runs = [run for run in _along(plan, layer) if low <= run.across <= high]
    spans, pins = _joined(runs, (low, high))
    return Channel(
        layer,
        low,
        high,
        place,
        int(used.sum()),
        -(-int((used | free).sum()) // plan.fine),
        len({run.across for run in runs}),
        len(left_edge(spans)),
        _straight(spans, pins, plan.sizes.pitch),
    )


def _along(plan: Plan, layer: int) -> list[_Run]:
    """The pieces of a layer that run its way."""
    lie, go = ("y", "x") if plan.directions.ways[layer] == "h" else ("x", "y")
    found = []
    for route in plan.routes:
        for place, p in enumerate(route.pieces):
            if p.layer == layer and not p.access:
                first, last = sorted((getattr(p, f"{go}1"), getattr(p, f"{go}2")))
                leaves = []
                for q in route.pieces[max(place - 1, 0) : place]:
                    leaves.append((getattr(p, f"{go}1"), q.layer, getattr(q, f"{lie}1")))
                for q in route.pieces[place + 1 : place + 2]:
                    leaves.append((getattr(p, f"{go}2"), q.layer, getattr(q, f"{lie}2")))
                found.append(_Run(route.net, getattr(p, f"{lie}1"), first, last, tuple(leaves)))
    return found


_Pin = tuple[int, int, int]


def _joined(
    runs: list[_Run], bounds: tuple[int, int]
) -> tuple[dict[int, Interval], tuple[list[_Pin], list[_Pin]]]:
    """Intervals by number, runs of one net that overlap or touch made one; and their pins.

    Pins are (interval, place along, layer) where a net leaves the channel, first those before
    its lower bound, then those beyond its upper one.
    """
    found: list[tuple[int, int, int]] = []
    pins: tuple[list[_Pin], list[_Pin]] = [], []
    for run in sorted(runs, key=lambda run: (run.net, run.first, run.last)):
        if found and found[-1][0] == run.net and run.first <= found[-1][2]:
            found[-1] = (run.net, found[-1][1], max(found[-1][2], run.last))
        else:
            found.append((run.net, run.first, run.last))
        for at, layer, end in run.leaves:
            if end < bounds[0]:
                pins[0].append((len(found) - 1, at, layer))
            elif end > bounds[1]:
                pins[1].append((len(found) - 1, at, layer))
    return {number: (first, last) for number, (_, first, last) in enumerate(found)}, pins


def _straight(
    spans: dict[int, Interval], pins: tuple[list[_Pin], list[_Pin]], pitch: int
) -> int | None:
    """Tracks needed at least without a change of track; None where that is impossible.

    Two nets that leave on one layer, one up and one down, less than a pitch apart, must lie
    one above the other.
    """
    above, below = pins
    pairs = [
        (a, b)
        for a, at, layer in above
        for b, other, on in below
        if layer == on and abs(at - other) < pitch
    ]
    graph = constraints(spans, pairs)
    return None if is_cyclic(graph) else dogleg_free_bound(spans, graph)


def _used(plan: Plan, layer: int) -> IntArray:
    """1 per grid edge (of the layer's direction, at its left or upper point) that a piece takes."""
    lattice = plan.ground.lattice
    used = np.zeros((lattice.rows, lattice.columns), dtype=np.int64)
    for piece in grid_pieces(plan, layer):
        c0, c1 = sorted((x - lattice.x) // lattice.pitch for x in (piece.x1, piece.x2))
        r0, r1 = sorted((y - lattice.y) // lattice.pitch for y in (piece.y1, piece.y2))
        used[r0 : max(r1, r0 + 1), c0 : max(c1, c0 + 1)] = 1
    return used


def _free(plan: Plan, place: int, way: str) -> IntArray:
    """1 per grid edge that some net may take."""
    lattice = plan.ground.lattice
    owner = (plan.ground.along if way == "h" else plan.ground.down)[place]
    grid: IntArray = (owner.reshape(lattice.rows, lattice.columns) != MANY).astype(np.int64)
    return grid if way == "h" else grid.T


def grid_pieces(plan: Plan, layer: int) -> list[Piece]:
    """Pieces on a layer that run its way on the grid."""
    return [p for route in plan.routes for p in route.pieces if p.layer == layer and not p.access]


def tracks_used(plan: Plan) -> int:
    """How many different tracks (rows and columns of the grid, by layer) carry something."""
    tracks = set()
    for layer in plan.ground.layers:
        across = "y1" if plan.directions.ways[layer] == "h" else "x1"
        tracks |= {(layer, getattr(p, across)) for p in grid_pieces(plan, layer)}
    return len(tracks)


def vias_in_line(plan: Plan) -> int:
    """How many vias share their row or their column with another via."""
    at = [via for route in plan.routes for via in route.vias]
    columns, rows = Counter(x for x, _ in at), Counter(y for _, y in at)
    return sum(columns[x] > 1 or rows[y] > 1 for x, y in at)


def against(plan: Plan) -> int:
    """How many connections run against a layer's direction further than access at a pad needs."""
    return sum(any(p.access and _length(p) > _near(plan) for p in r.pieces) for r in plan.routes)


def _length(piece: Piece) -> float:
    return float(np.hypot(piece.x2 - piece.x1, piece.y2 - piece.y1))


def _near(plan: Plan) -> float:
    return float(2 * NEAR_END * plan.sizes.pitch)
