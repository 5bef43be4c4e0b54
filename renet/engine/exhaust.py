"""Small problems: every board within the freedom is counted, and the best one taken.

A net's pins on a board are one of its few stands.  Stands are counted against
one another once; a board is then a sum over pairs of nets.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations, product
from math import factorial, prod

import numpy as np
from numpy.typing import NDArray

from renet.engine.conditions import Watch
from renet.engine.counts import Fixed, packed, segments
from renet.engine.items import count_ways, ways
from renet.engine.options import Ground, node_pads
from renet.engine.problem import Group, Problem
from renet.model import IntArray
from renet.spanning import span

Floats = NDArray[np.float64]

MOST_BOARDS = 20_000
_MOST_EDGES = 2_000


@dataclass(frozen=True, slots=True)
class _Stands:
    """All stands of all live nets: their edges, and what each costs by itself.

    ``net`` per stand; stand ``s`` has the edges ``start[s] .. start[s + 1]``.
    """

    net: IntArray
    start: IntArray
    edge: IntArray
    over: IntArray
    length: Floats


def best_board(ground: Ground, background: dict[int, IntArray]) -> IntArray | None:
    """The nets of all pins on the best board in the order of aims; None if there are too many.

    Among equals the board with the fewest moved pins, then the first one drawn up.
    """
    problem = ground.problem
    if _boards_at_most(problem) > MOST_BOARDS:
        return None
    boards = _boards(problem)
    pins = problem.free_pins
    nets = sorted({net for item in ground.stock.items for net in item.live})
    stands, index = _stands(ground, nets, boards)
    if len(stands.edge) > _MOST_EDGES:
        return None
    meetings = _meetings(ground, background, stands, index)
    moved = boards != problem.pin_net[pins]
    prices = np.concatenate([np.repeat(group.price_nm, group.width) for group in problem.groups])
    length = stands.length[index].sum(axis=1) + moved @ prices
    over = stands.over[index].sum(axis=1)
    count = moved.sum(axis=1)
    order = np.lexsort((count, np.round(length / 1000.0), over, meetings))
    return _first_legal(problem, boards, order[_few_enough(problem, count[order])])


def _few_enough(problem: Problem, moved: IntArray) -> IntArray:
    most = problem.max_moves
    return np.flatnonzero(moved <= (len(problem.pin_net) if most is None else most))


def _first_legal(problem: Problem, boards: IntArray, order: IntArray) -> IntArray:
    watch, pins = Watch(problem), problem.free_pins
    for row in order.tolist():
        nets = problem.pin_net.copy()
        nets[pins] = boards[row]
        watch.settle(nets)
        if not watch.excess:
            return nets
    return problem.pin_net.copy()


def _boards_at_most(problem: Problem) -> int:
    """How many boards there are, not counting what is alike only by turning."""
    total = 1
    for group in problem.groups:
        kinds = [tuple(nets) for nets in problem.pin_net[group.sites].tolist()]
        if count_ways(group) ** len(group) > MOST_BOARDS or len(group) > 12:
            return MOST_BOARDS + 1
        alike = prod(factorial(kinds.count(kind)) for kind in set(kinds))
        total *= factorial(len(group)) // alike * count_ways(group) ** len(group)
    return total


def _boards(problem: Problem) -> IntArray:
    """(boards, free pins): the nets of every board, the input first."""
    parts = [_arrangements(group, problem.pin_net) for group in problem.groups]
    picks = np.indices([len(part) for part in parts]).reshape(len(parts), -1)
    return np.concatenate([part[pick] for part, pick in zip(parts, picks, strict=True)], axis=1)


def _arrangements(group: Group, pin_net: IntArray) -> IntArray:
    """(arrangements, pins): all different nets on the pins of one group, the input first."""
    items = pin_net[group.sites]
    count = len(group)
    turns = ways(group)
    allowed = np.ones((count, count), dtype=bool) if group.allowed is None else group.allowed
    allowed = allowed | np.eye(count, dtype=bool)
    kind = {tuple(nets): i for i, nets in reversed(list(enumerate(items.tolist())))}
    first = [kind[tuple(nets)] for nets in items.tolist()]
    found: dict[tuple[int, ...], None] = {}
    seen: set[tuple[int, ...]] = set()
    for seats in permutations(range(count)):
        alike = tuple(first[item] for item in seats)
        if alike in seen or not allowed[list(seats), range(count)].all():
            continue
        seen.add(alike)
        for way in product(range(len(turns)), repeat=count):
            lies = np.empty_like(items)
            np.put_along_axis(lies, turns[list(way)], items[list(seats)], axis=1)
            found[tuple(lies.reshape(-1).tolist())] = None
    return np.array(list(found), dtype=np.int64)


def _stands(ground: Ground, nets: list[int], boards: IntArray) -> tuple[_Stands, IntArray]:
    """All stands of the nets, and for each board and net its stand (boards, nets)."""
    problem, pins = ground.problem, ground.problem.free_pins
    free = set(pins.tolist())
    index = np.empty((len(boards), len(nets)), dtype=np.int64)
    owner: list[int] = []
    edges: list[IntArray] = [np.empty(0, dtype=np.int64)]
    over: list[int] = []
    for column, net in enumerate(nets):
        kept = [p for p in np.flatnonzero(problem.pin_net == net).tolist() if p not in free]
        carries = np.packbits(boards == net, axis=1)
        patterns, which = np.unique(carries, axis=0, return_inverse=True)
        index[:, column] = which.reshape(-1) + len(owner)
        for pattern in np.unpackbits(patterns, axis=1, count=len(pins)).astype(bool):
            own = np.array(kept + pins[pattern].tolist(), dtype=np.int64)
            tree = span(node_pads(problem, own.tolist()), problem.cols, problem.labels)
            edges.append(ground.edges.add(tree[:, 0], tree[:, 1]))
            over.append(_over(ground, edges[-1], own) * int(ground.weight[net]))
            owner.append(net)
    sizes = [len(found) for found in edges[1:]]
    start = np.cumsum([0, *sizes])
    edge = np.concatenate(edges)
    row = np.repeat(np.arange(len(owner)), sizes)
    length = np.bincount(row, ground.edges.length[edge], len(owner)).astype(np.float64)
    return (
        _Stands(np.array(owner, dtype=np.int64), start, edge, np.array(over), length),
        index,
    )


def _over(ground: Ground, edge: IntArray, pins: IntArray) -> int:
    hits = int(ground.outlines.counts(ground.edges, edge).sum())
    own = ground.outlines.over(ground.edges, np.repeat(edge, len(pins)), np.tile(pins, len(edge)))
    return hits - int(own.sum())


def _meetings(
    ground: Ground, background: dict[int, IntArray], stands: _Stands, index: IntArray
) -> IntArray:
    """What every board's movable nets meet, of each other and of what cannot move."""
    edges, count = ground.edges, len(stands.edge)
    owner = np.repeat(np.arange(len(stands.net)), np.diff(stands.start))
    weight = ground.weight[stands.net[owner]]
    classes = np.unique(weight) if count else np.ones(1, dtype=np.int64)
    ends, weights = segments(background, ground.problem.cols, ground.weight)
    fixed = Fixed(ends, weights, edges, classes).meets(0, len(edges))
    total = np.zeros(len(index), dtype=np.int64)
    alone = np.zeros(len(stands.net), dtype=np.int64)
    np.add.at(alone, owner, fixed[np.searchsorted(classes, weight), stands.edge])
    total += alone[index].sum(axis=1)
    i, j = np.divmod(np.arange(count * count), max(count, 1))
    crossed, overlapped = edges.meet(stands.edge[i], stands.edge[j])
    met = packed(crossed, overlapped, np.maximum(weight[i], weight[j]))
    between = np.zeros((len(stands.net), len(stands.net)), dtype=np.int64)
    np.add.at(between, (owner[i], owner[j]), met)
    for one in range(index.shape[1]):
        for two in range(one):
            total += between[index[:, one], index[:, two]]
    return total
