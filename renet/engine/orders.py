"""What items meet where nothing but their order in a row decides it.

In rows that face each other (:func:`renet.engine.facing.opposed`) two items on
different sites cross by which of them comes first, so one matrix holds all of
it and a board is a sum over pairs.  Two items are never taken to stand on one
site: what they would meet there is nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from renet.engine.counts import CROSSING
from renet.model import IntArray

_FEW = 8


class Opposed(NamedTuple):
    """The one group of a problem as a row that faces all others.

    ``rank`` (sites,) is where sites stand along the row; ``cost[i, j]`` what the
    connections of items cross, weighted, when ``i`` stands before ``j``.
    """

    rank: IntArray
    cost: IntArray


class Orders:
    """Meetings among the items of a row, for the places they have at the time."""

    def __init__(self, opposed: Opposed, ways: int) -> None:
        self._site_rank = np.repeat(opposed.rank, ways)
        self._cost = opposed.cost * CROSSING
        self._rank: IntArray = np.empty(0, dtype=np.int64)
        self._met = self._cost

    def both(self, i: IntArray, j: IntArray) -> IntArray:
        """Pair by pair, what two items cross in their two orders together."""
        return np.asarray(self._cost[i, j] + self._cost[j, i])

    def values(self, place: IntArray) -> IntArray:
        """(items, places): what an item would meet at a place while all others stay."""
        rank = self._site_rank[place]
        moved = np.flatnonzero(rank != self._rank) if len(self._rank) else None
        if moved is None or len(moved) > _FEW:
            self._count(rank)
        else:
            for item in moved.tolist():
                self._shift(item, int(self._rank[item]), int(rank[item]))
        self._rank = rank
        return np.asarray(self._met[:, self._site_rank])

    def _count(self, rank: IntArray) -> None:
        """(items, ranks) anew: those that stand before, and those that stand behind."""
        order = np.argsort(rank, kind="stable")
        ahead, behind = self._cost[order].T, self._cost[:, order]
        self._met = np.cumsum(ahead, axis=1) - ahead
        self._met += behind[:, ::-1].cumsum(axis=1)[:, ::-1] - behind

    def _shift(self, item: int, old: int, new: int) -> None:
        """Catch up with one item: ranks that it has passed have it on the other side now."""
        low, high = min(old, new), max(old, new)
        sign = 1 if old > new else -1
        ahead, behind = self._cost[item], self._cost[:, item]
        self._met[:, low + 1 : high] += sign * (ahead - behind)[:, None]
        self._met[:, old] += ahead if old > new else behind
        self._met[:, new] -= behind if old > new else ahead

    def change(self, place: IntArray, places: Mapping[int, int]) -> int:
        """What all items together would meet more with some of them at other places."""
        after = place.copy()
        after[list(places)] = list(places.values())
        return self._total(after) - self._total(place)

    def _total(self, place: IntArray) -> int:
        order = np.argsort(self._site_rank[place], kind="stable")
        return int(np.triu(self._cost[np.ix_(order, order)], 1).sum())
