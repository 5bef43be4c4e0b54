"""Groups whose sites stand in one row: the order of their items decides what crosses.

Two connections from a row to points f and g cross or not by the order of their
ends in the row alone, if f and g are on one side of the row and the whole row
on one side of the line through f and g: then the four ends are in convex
position, and one of the two pairings crosses.  On different sides of the row
they never cross.  Any other pair of connections counts nothing here, so what
the best order costs is a lower bound; for rows that face each other, the truth.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from renet.engine.options import Ground, node_pads
from renet.engine.ordering import Ordering, arrange
from renet.engine.orders import Opposed
from renet.engine.ranks import Rows
from renet.geometry import crosses
from renet.model import NONE, BoolArray, IntArray


class Row(NamedTuple):
    """A group in a row.  ``sites`` are its sites in order along the row.

    ``cost[i, j]`` (items by their number in the group) is what their connections
    cross, weighted, when ``i`` stands before ``j``.
    """

    group: int
    sites: IntArray
    cost: IntArray


class Facing(NamedTuple):
    """A row with its best order, as far as found, and a bound on its crossings."""

    row: Row
    ordering: Ordering


def facings(ground: Ground) -> list[Facing]:
    """All groups in rows with something to put in order."""
    carriers = carried(ground)
    rows = [row_of(ground, group, carriers) for group in range(len(ground.stock.ways))]
    return [Facing(row, arrange(row.cost)) for row in rows if row is not None and row.cost.any()]


def carried(ground: Ground) -> dict[int, int]:
    """How many items have each net."""
    carriers: dict[int, int] = {}
    for item in ground.stock.items:
        for net in item.live:
            carriers[net] = carriers.get(net, 0) + 1
    return carriers


def opposed(ground: Ground) -> tuple[Rows, Opposed] | None:
    """The two rows between which all edges run, whatever moves; None if others may come to be."""
    problem = ground.problem
    if len(problem.groups) != 1 or (ground.pad_of[problem.free_pins] == NONE).any():
        return None
    carriers, found = carried(ground), _in_line(ground, 0)
    if found is None:
        return None
    sites, first, last = found
    ends = _ends(ground, 0, carriers)
    if len(ends.item) < sum(carriers.values()):
        return None
    at = np.unique(ends.far, axis=0)
    f, g = at[:, None, :], at[None, :, :]
    decided = _decided(f, g, first, last) | np.eye(len(at), dtype=bool)
    rank = _crossed(f, g, first, last).sum(axis=1)
    if not decided.all() or not np.array_equal(np.sort(rank), np.arange(len(at))):
        return None
    pads = ground.pad_of[problem.free_pins]
    near = np.unique(np.stack([problem.cols.x[pads], problem.cols.y[pads]], axis=1), axis=0)
    points = ground.edges.at
    rows = Rows(_numbered(points, near, np.arange(len(near))), _numbered(points, at, rank))
    return rows, Opposed(np.argsort(sites), _costs(ends, len(sites), first, last))


def _numbered(points: IntArray, some: IntArray, number: IntArray) -> IntArray:
    """Per point the number of the same point among ``some``, ``NONE`` where it is not there."""
    known = {tuple(point): i for point, i in zip(some.tolist(), number.tolist(), strict=True)}
    return np.array([known.get(tuple(point), NONE) for point in points.tolist()], dtype=np.int64)


class _Ends(NamedTuple):
    """Connections of a group's items: item, far point (n, 2) and weight of each."""

    item: IntArray
    far: IntArray
    weight: IntArray


def row_of(ground: Ground, group: int, carriers: dict[int, int]) -> Row | None:
    """The group as a row, None if its sites do not stand in one.

    ``carriers[net]`` is how many items have a net; nets of several do not count.
    """
    found = _in_line(ground, group)
    if found is None:
        return None
    sites, first, last = found
    ends = _ends(ground, group, carriers)
    return Row(group, sites, _costs(ends, len(sites), first, last))


def _costs(ends: _Ends, size: int, first: IntArray, last: IntArray) -> IntArray:
    """The crossings of all pairs of items, by the far points of their connections."""
    at, point = np.unique(ends.far, axis=0, return_inverse=True)
    point = point.reshape(-1)
    f, g = at[:, None, :], at[None, :, :]
    crossed = _crossed(f, g, first, last) & _decided(f, g, first, last)
    cost = np.zeros((size, size), dtype=np.int64)
    heads = {}
    for weight in np.unique(ends.weight).tolist():
        mine = ends.weight == weight
        heads[weight] = np.zeros((size, len(at)))
        np.add.at(heads[weight], (ends.item[mine], point[mine]), 1.0)
    for one, left in heads.items():
        for two, right in heads.items():
            met = np.rint(left @ crossed.astype(np.float64) @ right.T).astype(np.int64)
            cost += max(one, two) * met
    np.fill_diagonal(cost, 0)
    return cost


def _in_line(ground: Ground, group: int) -> tuple[IntArray, IntArray, IntArray] | None:
    """Sites in order along their line, and the two outermost points; None if not in line."""
    problem = ground.problem
    sites = problem.groups[group].sites
    if len(sites) < 2:
        return None
    pads = [node_pads(problem, pins) for pins in sites.tolist()]
    if any(not len(own) for own in pads):
        return None
    at = np.stack([problem.cols.x, problem.cols.y], axis=1)
    every = at[np.concatenate(pads)]
    order = np.lexsort((every[:, 1], every[:, 0]))
    first, last = every[order[0]], every[order[-1]]
    if _turn(first, last, every).any():
        return None
    rank = np.empty(len(every), dtype=np.int64)
    _, rank[:] = np.unique(every, axis=0, return_inverse=True)
    start = np.cumsum([0, *map(len, pads[:-1])])
    low, high = np.minimum.reduceat(rank, start), np.maximum.reduceat(rank, start)
    along = np.argsort(low, kind="stable")
    if (high[along][:-1] >= low[along][1:]).any():
        return None
    return along, first, last


def _turn(a: IntArray, b: IntArray, at: IntArray) -> IntArray:
    """On which side of the line a-b points are."""
    side = (b[..., 0] - a[..., 0]) * (at[..., 1] - a[..., 1])
    return np.asarray(np.sign(side - (b[..., 1] - a[..., 1]) * (at[..., 0] - a[..., 0])))


def _ends(ground: Ground, group: int, carriers: dict[int, int]) -> _Ends:
    """The connections that run from an item to one and the same point wherever it stands."""
    problem, stock = ground.problem, ground.stock
    own = problem.groups[group].sites.reshape(-1)
    labels = set(problem.labels[node_pads(problem, own.tolist())].tolist())
    pins_of: dict[int, list[int]] = {}
    for pin, net in enumerate(problem.pin_net.tolist()):
        pins_of.setdefault(net, []).append(pin)
    inside, rows = set(own.tolist()), []
    for place, number in enumerate(stock.of_group(group)):
        item = stock.items[number]
        for net in item.live:
            far = node_pads(problem, [pin for pin in pins_of[net] if pin not in inside])
            single = len(far) == 1 and carriers[net] == 1 and item.nets.count(net) == 1
            if single and problem.labels[far[0]] not in labels:
                pad = int(far[0])
                x, y = int(problem.cols.x[pad]), int(problem.cols.y[pad])
                rows.append((place, x, y, int(ground.weight[net])))
    table = np.array(rows, dtype=np.int64).reshape(-1, 4)
    return _Ends(table[:, 0], table[:, 1:3], table[:, 3])


def _crossed(f: IntArray, g: IntArray, first: IntArray, last: IntArray) -> BoolArray:
    """Pair by pair, whether first-f and last-g cross."""
    shape = np.broadcast_shapes(f.shape, g.shape)
    start, stop = np.broadcast_to(first, shape), np.broadcast_to(last, shape)
    f, g = np.broadcast_to(f, shape), np.broadcast_to(g, shape)
    return crosses(np.concatenate([start, f], axis=-1), np.concatenate([stop, g], axis=-1))


def _decided(f: IntArray, g: IntArray, first: IntArray, last: IntArray) -> BoolArray:
    """Pair by pair, whether the order of two ends in the row decides if they cross."""
    one_side = _turn(first, last, f) * _turn(first, last, g) > 0
    whole_row = _turn(f, g, first) * _turn(f, g, last) > 0
    return np.asarray(one_side & whole_row)
