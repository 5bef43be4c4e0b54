"""Breaking all cycles of a digraph at the least cost: the linear and the integer programme.

A variable per arc says how far the arc is broken; the arcs of every cycle must
be broken by one in sum.  Cycles come in only when a solution leaves them whole.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet.model import NONE, BoolArray, IntArray

Floats = NDArray[np.float64]
Cycle = tuple[tuple[int, int], ...]

_SURE = 1e-6
_PER_ARC = 1e-5
_MOST_CUTS = 600
_OFTEN = 3


class Broken(NamedTuple):
    """A lower bound on the cost, how far each arc is broken (n, n), whether all cycles are."""

    bound: int
    arcs: Floats
    whole: bool


class Programme:
    """``price`` (n, n): what breaking an arc costs; 0 where there is none."""

    def __init__(self, price: IntArray) -> None:
        self._price = price
        self._cuts: dict[Cycle, None] = {}

    def relax(self, target: int, rounds: int) -> Broken:
        """The linear programme, until its bound reaches ``target`` or no cycle is whole."""
        return self._solve(target, rounds, None)

    def branch(self, target: int, rounds: int, nodes: int) -> Broken:
        """The integer programme, with a limit on the nodes of every search."""
        return self._solve(target, rounds, nodes)

    def _solve(self, target: int, rounds: int, nodes: int | None) -> Broken:
        arcs, bound = np.zeros(self._price.shape), 0
        for _ in range(rounds):
            if self._cuts:
                value, arcs = self._optimum(nodes)
                bound = max(bound, ceil(value - _SURE))
            found = list(unbroken(self._price > 0, arcs))
            fresh = [cycle for cycle in found if cycle not in self._cuts]
            self._cuts.update(dict.fromkeys(fresh))
            if bound >= target or not fresh:
                return Broken(bound, arcs, not found)
        return Broken(bound, arcs, False)

    def _optimum(self, nodes: int | None) -> tuple[float, Floats]:
        """Value (a valid bound) and solution with the cycles known so far."""
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        used = sorted({arc for cycle in self._cuts for arc in cycle})
        column = {arc: i for i, arc in enumerate(used)}
        index = np.array([column[arc] for cycle in self._cuts for arc in cycle], dtype=np.int32)
        start = np.cumsum([0, *map(len, self._cuts)]).astype(np.int32)
        matrix = csr_array((np.ones(len(index)), index, start), shape=(len(start) - 1, len(used)))
        row, col = np.array(used).T
        solved = milp(
            self._price[row, col].astype(np.float64),
            integrality=np.zeros(len(used)) if nodes is None else np.ones(len(used)),
            bounds=Bounds(0, 1),
            constraints=LinearConstraint(matrix, lb=1),
            options={} if nodes is None else {"node_limit": nodes, "mip_rel_gap": 0.0},
        )
        arcs = np.zeros(self._price.shape)
        if solved.x is None:
            arcs[row, col] = 1.0
            return 0.0, arcs
        arcs[row, col] = np.clip(solved.x, 0.0, 1.0)
        return float(solved.fun if nodes is None else solved.mip_dual_bound), arcs


def unbroken(there: BoolArray, arcs: Floats) -> Iterator[Cycle]:
    """Cycles whose arcs are broken by less than one in sum; short and cheap ones first.

    No arc is in many of them, so that they cover different parts of the graph.
    """
    length = np.where(there, arcs + _PER_ARC, np.inf)
    distance, onward = _shortest(length)
    around = length + distance.T
    tail, head = np.nonzero(there & (around < 1.0 - _SURE))
    often: dict[tuple[int, int], int] = {}
    seen: set[Cycle] = set()
    for i in np.argsort(around[tail, head], kind="stable").tolist():
        if often.get((int(tail[i]), int(head[i])), 0) >= _OFTEN:
            continue
        cycle = _cycle(int(tail[i]), int(head[i]), onward)
        if cycle in seen or max(often.get(arc, 0) for arc in cycle) >= _OFTEN:
            continue
        seen.add(cycle)
        for arc in cycle:
            often[arc] = often.get(arc, 0) + 1
        yield cycle
        if len(seen) >= _MOST_CUTS:
            return


def _shortest(length: Floats) -> tuple[Floats, IntArray]:
    """All-pairs distances, and the first step of a shortest way (Floyd and Warshall)."""
    count = len(length)
    distance = length.copy()
    onward = np.where(np.isfinite(length), np.arange(count)[None, :], NONE)
    for via in range(count):
        over = distance[:, via, None] + distance[None, via]
        nearer = over < distance
        distance[nearer] = over[nearer]
        onward = np.where(nearer, onward[:, via, None], onward)
    return distance, onward


def _cycle(tail: int, head: int, onward: IntArray) -> Cycle:
    """The arc and the shortest way back from its head, begun at the least node."""
    nodes = [tail]
    node = head
    while node != tail:
        nodes.append(node)
        node = int(onward[node, tail])
    turn = nodes.index(min(nodes))
    nodes = nodes[turn:] + nodes[:turn]
    return tuple(zip(nodes, nodes[1:] + nodes[:1], strict=True))
