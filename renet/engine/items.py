"""What trades places: items with their nets, and the ways an item can lie on a site.

Items of all groups are numbered through, in group order.  A **way** is a
permutation of positions: the net at position ``k`` lies on pin ``way[k]`` of the
site.  A **place** is (site, way), numbered ``site * ways + way`` within a group.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations, product

import numpy as np

from renet.engine.problem import Group, Problem
from renet.model import IntArray

MOST_WAYS = 24


def ways(group: Group) -> IntArray:
    """(V, w): all permutations of positions that turning and inner trades allow, plain first.

    Where there are more than ``MOST_WAYS``, inner trades are left to a pass of
    their own (:mod:`renet.engine.inner`) and only turning remains.
    """
    width = group.width
    plain = tuple(range(width))
    turned = tuple(reversed(plain))
    bases = [plain, turned] if group.reversible and width > 1 else [plain]
    if count_ways(group) > MOST_WAYS:
        return np.array(bases, dtype=np.int64)
    found: dict[tuple[int, ...], None] = {}
    for base in bases:
        for trades in product(*(permutations(trade) for trade in group.inner)):
            way = list(base)
            for trade, order in zip(group.inner, trades, strict=True):
                for position, other in zip(trade, order, strict=True):
                    way[position] = base[other]
            found[tuple(way)] = None
    return np.array(list(found), dtype=np.int64)


def count_ways(group: Group) -> int:
    """An upper bound on the number of ways."""
    total = 2 if group.reversible and group.width > 1 else 1
    for trade in group.inner:
        for size in range(2, len(trade) + 1):
            total *= size
    return total


@dataclass(frozen=True, slots=True)
class Item:
    """What stands on a site.  ``kind`` is equal for items that nothing tells apart.

    ``live`` are the nets of its positions that have connections in the tangle,
    each once.
    """

    group: int
    home: int
    nets: tuple[int, ...]
    live: tuple[int, ...]
    kind: int


@dataclass(frozen=True, slots=True)
class Stock:
    """All items, with the ways of each group and the first item of each group."""

    items: tuple[Item, ...]
    ways: tuple[IntArray, ...]
    first: IntArray

    def __len__(self) -> int:
        return len(self.items)

    def of_group(self, group: int) -> range:
        """The items of a group."""
        return range(int(self.first[group]), int(self.first[group + 1]))


def stock(problem: Problem, pin_net: IntArray) -> Stock:
    """The items of a problem, when the pins carry ``pin_net``."""
    items: list[Item] = []
    kinds: dict[tuple[int, tuple[int, ...]], int] = {}
    first = [0]
    for number, group in enumerate(problem.groups):
        for home, pins in enumerate(group.sites):
            nets = tuple(pin_net[pins].tolist())
            live = tuple(dict.fromkeys(net for net in nets if problem.counted(net)))
            kind = kinds.setdefault((number, nets), len(kinds))
            items.append(Item(number, home, nets, live, kind))
        first.append(len(items))
    return Stock(
        tuple(items),
        tuple(ways(group) for group in problem.groups),
        np.array(first, dtype=np.int64),
    )
