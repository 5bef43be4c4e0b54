"""All options in flat columns, and how two of them meet.

Region ``base[item] .. base[item] + places`` holds the options of an item in
place order.  The rows (edges) of an option stand together in the row columns.
"""

from __future__ import annotations

import numpy as np

from renet.engine.counts import CROSSING, packed
from renet.engine.options import Ground, Rows, Worth, forbidden, moved_pins, places_of
from renet.grid import blocks, spread
from renet.model import NONE, BoolArray, IntArray

BANNED = 1 << 61


class Table:
    """Options of all items; :meth:`put` fills a region, :meth:`flatten` makes it count.

    Per option: ``over`` weighted over-pads, ``length`` with the price of moved
    pins in nanometres, ``moved`` pins, ``inner`` what its own nets meet among
    themselves (less what it seems to meet of its own standing edges).
    ``classes`` are the different weights of all live nets, sorted.
    """

    def __init__(self, ground: Ground) -> None:
        self._ground = ground
        items = ground.stock.items
        weights = ground.weight[sorted({net for item in items for net in item.live})]
        self.classes = np.unique(weights) if len(weights) else np.ones(1, dtype=np.int64)
        self.base = np.zeros(len(items), dtype=np.int64)
        self.places = np.array([places_of(ground, item) for item in items], dtype=np.int64)
        self._owner = self._share()
        regions = [i for i, owner in enumerate(self._owner) if owner == i]
        ends = np.cumsum([0, *self.places[regions]])
        region_base = dict(zip(regions, ends.tolist(), strict=False))
        self.base[:] = [region_base[owner] for owner in self._owner]
        self._regions = regions
        self._rows: dict[int, Rows] = {}
        size = int(ends[-1])
        self.over = np.zeros(size, dtype=np.int64)
        self.length = np.zeros(size)
        self.moved = np.zeros(size, dtype=np.int64)
        self.inner = np.zeros(size, dtype=np.int64)
        self.banned = np.zeros(size, dtype=np.int64)
        self.price = np.zeros(size)
        for item in regions:
            self._settle(item)

    def _share(self) -> list[int]:
        """For each item the one whose region it uses: itself, or the first blank of its kind."""
        first: dict[tuple[int, int], int] = {}
        owner = []
        for number, item in enumerate(self._ground.stock.items):
            alone = item.live or self._ground.problem.groups[item.group].allowed is not None
            key = (item.kind, number if alone else NONE)
            owner.append(first.setdefault(key, number))
        return owner

    def _settle(self, number: int) -> None:
        """Fill in what never changes in the region of an item."""
        item = self._ground.stock.items[number]
        group = self._ground.problem.groups[item.group]
        region = self.region(number)
        self.moved[region] = moved_pins(self._ground, item)
        ways = len(self._ground.stock.ways[item.group])
        self.price[region] = self.moved[region] * np.repeat(group.price_nm, ways)
        self.banned[region] = forbidden(self._ground, item) * BANNED

    @property
    def regions(self) -> list[int]:
        """One item for each region."""
        return self._regions

    def region(self, item: int) -> slice:
        """Where the options of an item stand."""
        return slice(int(self.base[item]), int(self.base[item] + self.places[item]))

    def put(self, item: int, rows: Rows, worth: Worth) -> None:
        """Set the options of an item."""
        self._rows[item] = rows
        region = self.region(item)
        self.over[region] = worth.over
        self.length[region] = worth.length + self.price[region]

    def flatten(self, changed: list[int] | None = None) -> None:
        """Make what was put since the last call count; ``changed`` are those items, None: all."""
        if changed is not None and self._in_place(changed):
            return
        rows = [self._rows[item] for item in self._regions]
        self.edge = np.concatenate([row.edge for row in rows])
        self.net = np.concatenate([row.net for row in rows])
        option = np.concatenate(
            [row.option + self.base[item] for item, row in zip(self._regions, rows, strict=True)]
        )
        self.start = np.searchsorted(option, np.arange(len(self.over) + 1))
        self.single = len(self.edge) == len(self.over)
        self._weigh(slice(None))
        for item in self._regions if changed is None else changed:
            self._meet_inside(item)

    def _in_place(self, changed: list[int]) -> bool:
        """Write changed rows over the old ones where every option keeps its number of rows."""
        for item in changed:
            rows, region = self._rows[item], self.region(item)
            first = self.start[region.start]
            expected = self.start[region.start : region.stop + 1] - first
            if not np.array_equal(np.searchsorted(rows.option, np.arange(len(expected))), expected):
                return False
        for item in changed:
            rows, region = self._rows[item], self.region(item)
            where = slice(int(self.start[region.start]), int(self.start[region.stop]))
            self.edge[where], self.net[where] = rows.edge, rows.net
            self._weigh(where)
            self._meet_inside(item)
        return True

    def _weigh(self, where: slice) -> None:
        weight = np.where(
            self.net[where] == NONE, self.classes[0], self._ground.weight[self.net[where]]
        )
        if where == slice(None):
            self.weight = weight
            self.klass = np.searchsorted(self.classes, weight)
        else:
            self.weight[where] = weight
            self.klass[where] = np.searchsorted(self.classes, weight)

    def _meet_inside(self, number: int) -> None:
        item, region = self._ground.stock.items[number], self.region(number)
        self.inner[region] = 0
        if len(item.live) > 1:
            size = self.start[region.start + 1 : region.stop + 1] - self.start[region]
            for part in blocks(size * size):
                option = np.arange(region.start, region.stop)[part]
                self.inner[option] += self.between(option, option, apart=True) // 2
        if self._ground.joined and item.live:
            self.inner[region] -= self._meet_common(number)

    def _meet_common(self, number: int) -> IntArray:
        """What each option would seem to meet of the edges of its own net that never leave."""
        rows = self._rows[number]
        at, common = np.nonzero(rows.net[:, None] == rows.common_net[None, :])
        crossed, overlapped = self._ground.edges.meet(rows.edge[at], rows.common_edge[common])
        weight = self._ground.weight[rows.net[at]]
        found = np.zeros(int(self.places[number]), dtype=np.int64)
        np.add.at(found, rows.option[at], packed(crossed, overlapped, weight))
        return found

    def rows(self, option: int) -> tuple[IntArray, IntArray]:
        """Edges and nets of one option."""
        where = slice(int(self.start[option]), int(self.start[option + 1]))
        return self.edge[where], self.net[where]

    def common(self, item: int) -> tuple[IntArray, IntArray]:
        """Edges and nets that an item has at every place."""
        rows = self._rows[self._owner[item]]
        return rows.common_edge, rows.common_net

    def sums(self, meets: IntArray, rows: BoolArray | None = None) -> IntArray:
        """What every option meets, from what every edge meets; by some of its rows only."""
        row = meets[0][self.edge] if len(meets) == 1 else meets[self.klass, self.edge]
        if rows is not None:
            row = row * rows
        return row if self.single else np.add.reduceat(row, self.start[:-1])

    def between(self, one: IntArray, two: IntArray, *, apart: bool) -> IntArray:
        """Pair by pair, what two options meet of each other; ``apart``: not of the same net."""
        if self.single:
            return self._between_rows(one, two, apart)
        many, few = self.start[one + 1] - self.start[one], self.start[two + 1] - self.start[two]
        pair, index = spread(np.zeros(len(one), dtype=np.int64), many * few)
        i = self.start[one][pair] + index // few[pair]
        j = self.start[two][pair] + index % few[pair]
        found = self._between_rows(i, j, apart)
        first = np.cumsum(many * few) - many * few
        return np.add.reduceat(found, first) if len(found) else found

    def _between_rows(self, i: IntArray, j: IntArray, apart: bool) -> IntArray:
        crossed, overlapped = self._ground.edges.meet(self.edge[i], self.edge[j])
        if apart:
            different = self.net[i] != self.net[j]
            crossed, overlapped = crossed & different, overlapped & different
        if len(self.classes) == 1:
            found = crossed * (CROSSING * int(self.classes[0]))
            if overlapped.any():
                found = found + overlapped * int(self.classes[0])
            return np.asarray(found)
        return packed(crossed, overlapped, np.maximum(self.weight[i], self.weight[j]))
