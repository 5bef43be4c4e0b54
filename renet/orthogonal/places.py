"""Items on places: which exchanges there are, and what nets they put on which pins."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from renet.engine.items import Stock
from renet.engine.problem import Problem
from renet.errors import InputError
from renet.model import IntArray


class Exchange(NamedTuple):
    """Two items of one group that trade sites, each in a way it may lie; one item for a turn."""

    i: int
    j: int
    way_i: int
    way_j: int


class Places:
    """Site and way of every item."""

    def __init__(self, problem: Problem, stock: Stock, pin_net: IntArray) -> None:
        self._problem, self._stock = problem, stock
        self.site = np.array([item.home for item in stock.items], dtype=np.int64)
        self.way = np.zeros(len(stock), dtype=np.int64)
        for group in range(len(problem.groups)):
            self._seat(group, pin_net)
        sizes = [len(group) * (len(group) - 1) / 2 + len(group) for group in problem.groups]
        self._share = np.cumsum(sizes) / max(sum(sizes), 1)

    def draw(self, rng: np.random.Generator) -> Exchange | None:
        """An exchange at random; None where what was drawn changes nothing or is forbidden."""
        where, *which = rng.random(5).tolist()
        group = min(int(np.searchsorted(self._share, where, side="right")), len(self._share) - 1)
        items, ways = self._stock.of_group(group), len(self._stock.ways[group])
        i, j = (items[int(part * len(items))] for part in which[:2])
        way_i, way_j = (int(part * ways) for part in which[2:])
        return self._checked(Exchange(i, j, way_i, way_j))

    def all(self) -> Iterator[Exchange]:
        """Every exchange that may be made, as items stand when it is asked for."""
        for group in range(len(self._problem.groups)):
            items, ways = self._stock.of_group(group), range(len(self._stock.ways[group]))
            for i in items:
                for j in range(i, items.stop):
                    for way_i in ways:
                        for way_j in ways if j != i else (way_i,):
                            found = self._checked(Exchange(i, j, way_i, way_j))
                            if found is not None:
                                yield found

    def nets(self, one: Exchange) -> dict[int, int]:
        """The pins under both items after an exchange, with their nets."""
        sites = int(self.site[one.j]), int(self.site[one.i])
        nets = self._laid(one.i, sites[0], one.way_i)
        return nets | self._laid(one.j, sites[1], one.way_j) if one.i != one.j else nets

    def make(self, one: Exchange) -> None:
        """Make an exchange."""
        i, j = one.i, one.j
        self.site[i], self.site[j] = int(self.site[j]), int(self.site[i])
        self.way[j], self.way[i] = one.way_j, one.way_i

    def _checked(self, one: Exchange) -> Exchange | None:
        first, second = self._stock.items[one.i], self._stock.items[one.j]
        if one.i == one.j:
            return one if one.way_i != self.way[one.i] and first.live else None
        if first.kind == second.kind or not (first.live or second.live):
            return None
        may = self._may(one.i, int(self.site[one.j])) and self._may(one.j, int(self.site[one.i]))
        return one if may else None

    def _may(self, number: int, site: int) -> bool:
        item = self._stock.items[number]
        allowed = self._problem.groups[item.group].allowed
        return allowed is None or site == item.home or bool(allowed[item.home, site])

    def _laid(self, number: int, site: int, way: int) -> dict[int, int]:
        item = self._stock.items[number]
        pins = self._problem.groups[item.group].sites[site][self._stock.ways[item.group][way]]
        return dict(zip(pins.tolist(), item.nets, strict=True))

    def _seat(self, group: int, pin_net: IntArray) -> None:
        """Put the items of a group where their nets are; those that are at home stay."""
        left = dict.fromkeys(self._stock.of_group(group))
        homes = [(item, self._stock.items[item].home) for item in left]
        open_ = [site for item, site in homes if not self._seated(item, site, pin_net)]
        for item, site in homes:
            if site not in open_:
                del left[item]
        for site in open_:
            found = next((item for item in left if self._seated(item, site, pin_net)), None)
            if found is None:
                raise InputError("the search was given nets that no exchange leads to")
            del left[found]

    def _seated(self, item: int, site: int, pin_net: IntArray) -> bool:
        """Put an item on a site if it fits there."""
        way = self._way(item, site, pin_net)
        if way is not None:
            self.site[item], self.way[item] = site, way
        return way is not None

    def _way(self, item: int, site: int, pin_net: IntArray) -> int | None:
        """The first way in which an item on a site gives the pins there their nets."""
        ways = self._stock.ways[self._stock.items[item].group]
        for way in range(len(ways)):
            if all(pin_net[pin] == net for pin, net in self._laid(item, site, way).items()):
                return way
        return None
