"""The cheapest way over the track grid, compiled: Dijkstra's method led by a lower bound (A*).

Hart, Nilsson and Raphael 1968.  A node is layer * points + point.  Of nodes with one
estimate the one with the least ahead of it is looked at first, then the one with the
smallest number, so that the answer depends on nothing but the question.

What is done for every move stands in one loop, as records of arrays are dear to hand over:
with a function for the price of a move, a search takes about twice as long.
"""

from __future__ import annotations

import heapq
from typing import NamedTuple

import numpy as np

from renet.channels.compiled import Numbers, compiled
from renet.channels.raster import FREE
from renet.channels.ways import Floats, Window
from renet.model import BoolArray, IntArray

DOWN = (0, 0, 1, -1, 1, -1, 1, -1)
RIGHT = (1, -1, 0, 0, 1, -1, -1, 1)
KIND = (0, 0, 1, 1, 2, 2, 3, 3)
"""The moves on a layer: rows down, columns to the right, which of ``Terrain.owners`` holds."""
STRAIGHT = 4
"""So many moves first are straight, the rest slanted."""


class Terrain(NamedTuple):
    """Who may use what, as in :class:`renet.channels.obstacles.Ground`.

    ``owners`` (4, nodes): edges to the next column, to the next row, falling and rising
    diagonals.  ``across`` says of each layer whether it runs along rows.
    """

    rows: int
    columns: int
    across: BoolArray
    via: Numbers
    owners: Numbers


class Toll(NamedTuple):
    """What things cost: loads by ``present``, what they cost besides, and the moves themselves.

    ``slant`` is infinite where moves at 45 degrees are not allowed; ``aside`` is the least
    that a row or column costs more on a layer that does not run its way.
    """

    present: float
    node_load: Numbers
    cell_load: Numbers
    via_load: Numbers
    nodes: Floats
    cells: Floats
    vias: Floats
    step: float
    wrong: float
    slant: float
    via: float
    aside: float


class Scratch(NamedTuple):
    """Room for one search after the other; ``goal`` is infinite everywhere in between.

    What ``seen`` and ``done`` say holds where they are the number of the search, ``turn``.
    """

    cost: Floats
    before: Numbers
    seen: Numbers
    done: Numbers
    goal: Floats
    turn: Numbers


def scratch_for(nodes: int) -> Scratch:
    """Room for a grid of so many nodes; one more is the target."""
    before, seen, done = np.zeros((3, nodes + 1), dtype=np.int32)
    turn = np.zeros(1, dtype=np.int32)
    return Scratch(np.zeros(nodes + 1), before, seen, done, np.full(nodes + 1, np.inf), turn)


class Beacon(NamedTuple):
    """What is known of the targets: their box (last ones included), and where their layers are.

    Per layer: ``straight``, the vias still to pay where no layer of the other direction
    is visited; ``turning``, where one is.
    """

    top: int
    left: int
    bottom: int
    right: int
    straight: Floats
    turning: Floats


@compiled
def _beacon(terrain: Terrain, toll: Toll, stops: IntArray) -> Beacon:
    columns, points = terrain.columns, terrain.rows * terrain.columns
    top, left, bottom, right = terrain.rows, columns, 0, 0
    layers = len(terrain.across)
    straight, turning = np.full(layers, np.inf), np.full(layers, 2 * toll.via)
    for node in stops:
        row, column = node % points // columns, node % points % columns
        top, bottom = min(top, row), max(bottom, row)
        left, right = min(left, column), max(right, column)
        layer = node // points
        for other in range(layers):
            if other == layer:
                straight[other] = 0.0
            elif terrain.across[other] == terrain.across[layer]:
                straight[other] = min(straight[other], toll.via)
            else:
                turning[other] = toll.via
    return Beacon(top, left, bottom, right, straight, turning)


@compiled
def _ahead(
    terrain: Terrain, toll: Toll, beacon: Beacon, layer: int, row: int, column: int
) -> float:
    """The least that is still to pay: steps, vias, and what moves against a direction cost more.

    On a horizontal layer every row to go takes a step against its direction, a move at 45
    degrees, or a visit to a vertical layer; on a vertical one every column.
    """
    dy = max(beacon.top - row, row - beacon.bottom, 0)
    dx = max(beacon.left - column, column - beacon.right, 0)
    aside = toll.aside * (dy if terrain.across[layer] else dx)
    vias: float = min(aside + beacon.straight[layer], beacon.turning[layer])
    return (dy + dx) * toll.step + vias


@compiled
def _may(owner: int, mine: int) -> bool:
    return owner in (FREE, mine)


@compiled
def _priced(load: int, present: float) -> float:
    """An infinite price forbids whatever is loaded."""
    if load > 0:
        return load * present
    return 0.0


@compiled
def cheapest(
    terrain: Terrain,
    toll: Toll,
    mine: int,
    window: Window,
    close: BoolArray,
    starts: tuple[IntArray, Floats],
    stops: tuple[IntArray, Floats],
    room: Scratch,
    most: int,
) -> tuple[IntArray, float]:
    """Nodes of a cheapest way from one of ``starts`` to one of ``stops``, with what these cost.

    ``mine`` is the number of the net among owners; ``close`` (rows, columns of the window)
    says where a step against a layer's direction is allowed, asked of the point of the edge
    that has the lower number.  All starts and stops lie inside the window, each node once;
    where loads cost infinitely much, none is loaded.

    No more than ``most`` nodes are looked at.  The number is the least that was still ahead of
    any of them, in the unit of the toll: 0 where a way was found.  Where none is, there are
    no nodes; the number is infinite where there is none at all, as all that can be reached
    from ``starts`` has been seen.
    """
    columns, points = terrain.columns, terrain.rows * terrain.columns
    layers = len(terrain.across)
    target = layers * points
    moves = len(DOWN) if toll.slant < np.inf else STRAIGHT
    room.turn[0] += 1
    turn = room.turn[0]
    beacon = _beacon(terrain, toll, stops[0])
    for i in range(len(stops[0])):
        room.goal[stops[0][i]] = stops[1][i]
    heap = [(0.0, 0.0, target)]
    heap.pop()
    least, last = np.inf, -1
    for i in range(len(starts[0])):
        node, point = starts[0][i], starts[0][i] % points
        ahead = _ahead(terrain, toll, beacon, node // points, point // columns, point % columns)
        _reach(room, heap, -1, node, starts[1][i], ahead)
    while len(heap):
        _, ahead, node = heapq.heappop(heap)
        if room.done[node] == turn:
            continue
        least = min(least, ahead)
        if node == target or most == 0:
            last = node
            break
        room.done[node] = turn
        most -= 1
        layer, point = node // points, node % points
        row, column = point // columns, point % columns
        for move in range(moves):
            y, x = row + DOWN[move], column + RIGHT[move]
            if not (window.top <= y < window.bottom and window.left <= x < window.right):
                continue
            other = node + DOWN[move] * columns + RIGHT[move]
            edge = node + min(DOWN[move], 0) * columns + min(RIGHT[move], 0)
            if room.done[other] == turn or not _may(terrain.owners[KIND[move], edge], mine):
                continue
            if move >= STRAIGHT:
                price = toll.slant + toll.cells[edge]
                price += _priced(toll.cell_load[edge], toll.present)
            elif (KIND[move] == 0) == terrain.across[layer]:
                price = toll.step
            elif close[min(row, y) - window.top, min(column, x) - window.left]:
                price = toll.wrong
            else:
                continue
            cost = room.cost[node] + price + toll.nodes[other]
            cost += _priced(toll.node_load[other], toll.present)
            if cost < np.inf and (room.seen[other] != turn or cost < room.cost[other]):
                ahead = _ahead(terrain, toll, beacon, layer, y, x)
                _reach(room, heap, node, other, cost, ahead)
        if _may(terrain.via[point], mine):
            price = toll.via + _priced(toll.via_load[point], toll.present) + toll.vias[point]
            for k in range(layers):
                if k != layer:
                    other = k * points + point
                    cost = room.cost[node] + price + toll.nodes[other]
                    cost += _priced(toll.node_load[other], toll.present)
                    if cost < np.inf and (room.seen[other] != turn or cost < room.cost[other]):
                        ahead = _ahead(terrain, toll, beacon, k, row, column)
                        _reach(room, heap, node, other, cost, ahead)
        _reach(room, heap, node, target, room.cost[node] + room.goal[node], 0.0)
    for i in range(len(stops[0])):
        room.goal[stops[0][i]] = np.inf
    if last == target:
        return _walked(room, target), 0.0
    return np.empty(0, dtype=np.int64), np.inf if last < 0 else least


@compiled
def _reach(
    room: Scratch,
    heap: list[tuple[float, float, int]],
    node: int,
    other: int,
    cost: float,
    ahead: float,
) -> None:
    """Note that ``other`` can be reached from ``node`` (-1: a start), if nothing is cheaper."""
    turn = room.turn[0]
    if cost < np.inf and (room.seen[other] != turn or cost < room.cost[other]):
        room.seen[other], room.cost[other], room.before[other] = turn, cost, node
        heapq.heappush(heap, (cost + ahead, ahead, other))


@compiled
def _walked(room: Scratch, target: int) -> IntArray:
    """Nodes on the way to the target, from its start."""
    count = 0
    node = room.before[target]
    while node >= 0:
        count += 1
        node = room.before[node]
    found = np.empty(count, dtype=np.int64)
    node = room.before[target]
    for i in range(count):
        found[count - 1 - i] = node
        node = room.before[node]
    return found
