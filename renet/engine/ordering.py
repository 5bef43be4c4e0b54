"""The linear ordering problem: in which order do the pairwise costs add up to least?

``cost[i, j]`` is paid when ``i`` comes before ``j``.  Every pair pays at least
its cheaper way; a pair that pays more is *bent*.  The pairs that prefer an order
form a digraph, and the bent ones must break all its cycles (a feedback arc
set), each strong component by itself.  Cycles are added to a linear programme
until none is left unbroken, then, if need be, to an integer one (M. Groetschel,
M. Juenger and G. Reinelt, "A cutting plane algorithm for the linear ordering
problem", Operations Research 32, 1984).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet.engine.cycles import Programme
from renet.model import IntArray

Floats = NDArray[np.float64]

_ROUNDS = 60
_NODES = 2000
_KICKS = 12


class Ordering(NamedTuple):
    """An order (a permutation of the rows), what it costs, and what no order can undercut."""

    order: IntArray
    cost: int
    bound: int


def arrange(cost: IntArray, seed: int = 0) -> Ordering:
    """A best order, as far as it was found, with a lower bound that is always valid."""
    order: list[int] = []
    extra = 0
    for members in _components(cost):
        part = cost[np.ix_(members, members)]
        found = _component(part, np.random.default_rng(seed))
        order += [members[i] for i in found.order.tolist()]
        extra += found.bound
    permutation = np.array(order, dtype=np.int64)
    return Ordering(permutation, total(cost, permutation), _least(cost) + extra)


def total(cost: IntArray, order: IntArray) -> int:
    """What an order costs."""
    return int(np.triu(cost[np.ix_(order, order)], 1).sum())


def _least(cost: IntArray) -> int:
    """What all pairs pay at least."""
    return int(np.triu(np.minimum(cost, cost.T), 1).sum())


def _components(cost: IntArray) -> list[list[int]]:
    """The strong components of the preferences, in an order that bends no pair of two of them."""
    count = len(cost)
    reach = ((cost < cost.T) | np.eye(count, dtype=bool)).astype(np.float32)
    for _ in range(max(count, 1).bit_length()):
        wider = (reach @ reach > 0).astype(np.float32)
        if np.array_equal(wider, reach):
            break
        reach = wider
    there = reach > 0
    first = np.where(there & there.T, np.arange(count), count).min(axis=1, initial=count)
    ahead = there.sum(axis=1)
    members: dict[int, list[int]] = {}
    for item in np.lexsort((np.arange(count), first, -ahead)).tolist():
        members.setdefault(int(first[item]), []).append(item)
    return list(members.values())


def _component(cost: IntArray, rng: np.random.Generator) -> Ordering:
    """One strong component; the bound here counts only what bent pairs pay more."""
    if len(cost) == 1:
        return Ordering(np.zeros(1, dtype=np.int64), 0, 0)
    least = _least(cost)
    start = sift(cost, np.argsort((cost - cost.T).sum(axis=1), kind="stable"))
    order = _kicked(cost, start, rng)
    programme = Programme(np.maximum(cost.T - cost, 0))
    broken = programme.relax(total(cost, order) - least, _ROUNDS)
    order = _better(cost, order, _along(cost, broken.arcs))
    bound = broken.bound
    if bound < total(cost, order) - least:
        broken = programme.branch(total(cost, order) - least, _ROUNDS, _NODES)
        order = _better(cost, order, _along(cost, broken.arcs))
        bound = max(bound, broken.bound)
    return Ordering(order, total(cost, order), bound)


def _better(cost: IntArray, one: IntArray, two: IntArray) -> IntArray:
    two = sift(cost, two)
    return two if total(cost, two) < total(cost, one) else one


def _kicked(cost: IntArray, order: IntArray, rng: np.random.Generator) -> IntArray:
    """The best of a few orders sifted anew after a stretch of the best was shuffled."""
    size = len(order)
    for _ in range(_KICKS):
        first = int(rng.integers(size))
        stretch = slice(first, first + int(rng.integers(2, 3 + size // 2)))
        trial = order.copy()
        trial[stretch] = rng.permutation(trial[stretch])
        order = _better(cost, order, trial)
    return order


def _along(cost: IntArray, broken: Floats) -> IntArray:
    """An order that bends few pairs but broken ones: always the next with least before it."""
    kept = np.where(cost < cost.T, 1.0 - broken, 0.0)
    before = kept.sum(axis=0)
    order = []
    left = np.ones(len(cost), dtype=bool)
    for _ in range(len(cost)):
        item = int(np.where(left, before, np.inf).argmin())
        order.append(item)
        left[item] = False
        before -= kept[item]
    return np.array(order, dtype=np.int64)


def sift(cost: IntArray, order: IntArray) -> IntArray:
    """Put single rows elsewhere in the order as long as that saves; the best one first."""
    while True:
        paid = cost[np.ix_(order, order)]
        gain = paid - paid.T
        ahead = np.cumsum(gain, axis=1)
        change = np.diagonal(ahead)[:, None] - ahead + np.tril(gain)
        row, place = np.unravel_index(int(change.argmin()), change.shape)
        if change[row, place] >= 0:
            return order
        order = np.insert(np.delete(order, row), place, order[row])
