"""The neighbourhood: every exchange of two items, every turn of one.

Exchange ``m`` puts item ``i`` on the site of ``j`` and the other way round, each
in a fixed way.  A move to a spare pin is the exchange with what stands there,
which is nothing.  What an exchange changes is what both options cost now, less
what they cost where they stand, corrected for what the two meet of each other;
that correction is kept per move and found again when one of the two has moved.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from renet.engine.items import Stock
from renet.engine.state import State
from renet.model import BoolArray, IntArray

Floats = NDArray[np.float64]
Column = NDArray[Any]

_MOST_PAIRED_WAYS = 4


class Moves:
    """All exchanges and turns, in a fixed order, with what they would change.

    ``i``, ``j`` are the items (equal for a turn), ``way_i``, ``way_j`` the ways
    they come to lie.  ``tied``: the two share a net, so the figures of
    :meth:`changes` are a guess for them, and :meth:`State.trial` has to tell.
    """

    def __init__(self, state: State) -> None:
        stock = state.ground.stock
        parts = [_group_moves(stock, group) for group in range(len(stock.ways))]
        self.i, self.j, self.way_i, self.way_j = (
            np.concatenate([np.empty(0, dtype=np.int64), *(part[k] for part in parts)])
            for k in range(4)
        )
        ways = np.array([len(found) for found in stock.ways], dtype=np.int64)
        groups = np.array([item.group for item in stock.items], dtype=np.int64)
        self._ways = ways[groups]
        self._base_i = state.table.base[self.i] + self.way_i
        self._base_j = state.table.base[self.j] + self.way_j
        self._turn = self.i == self.j
        self._turns = bool(self._turn.any())
        self.tied = _tied(state, self.i, self.j)
        self._of = [np.empty(0, dtype=np.int64)] * len(stock)
        for number, found in _by_item(self.i, self.j).items():
            self._of[number] = found
        self._pair = np.zeros(len(self.i), dtype=np.int64)
        self._aimed: tuple[IntArray, IntArray] | None = None
        if state.orders is None:
            self._refresh(state, np.flatnonzero(~self._turn))
        else:
            self._pair = np.where(self._turn, 0, state.orders.both(self.i, self.j))

    def __len__(self) -> int:
        return len(self.i)

    def of(self, item: int) -> IntArray:
        """The exchanges and turns of an item, in order."""
        return self._of[item]

    def targets(self, state: State) -> tuple[IntArray, IntArray]:
        """The options that ``i`` and ``j`` of every move would take."""
        if self._aimed is None:
            site = state.place // self._ways * self._ways
            self._aimed = self._base_i + site[self.j], self._base_j + site[self.i]
        return self._aimed

    def changes(self, state: State, value: Column) -> Column:
        """What every move would change, meetings included, when options cost ``value``."""
        one, two = self.targets(state)
        now = value[state.options()]
        found = value[one] - now[self.i]
        if self._turns:
            found += np.where(self._turn, 0, value[two] - now[self.j])
        else:
            found += value[two]
            found -= now[self.j]
        found += self._pair
        return np.asarray(found)

    def change(self, state: State, value: IntArray, move: int) -> int:
        """The same for one move, of the meetings alone."""
        one, two = self.targets(state)
        i, j = int(self.i[move]), int(self.j[move])
        now = state.table.base + state.place
        found = int(value[one[move]] - value[now[i]] + self._pair[move])
        return found if i == j else found + int(value[two[move]] - value[now[j]])

    def rest(self, state: State, which: IntArray) -> tuple[IntArray, Floats]:
        """For some moves the change of over-pads, and of length with price."""
        return (
            self._difference(state, which, state.table.over),
            self._difference(state, which, state.table.length),
        )

    def moved(self, state: State) -> IntArray:
        """The change of moved pins by every move."""
        return self._difference(state, np.arange(len(self)), state.table.moved)

    def _difference(self, state: State, which: IntArray, column: Column) -> Column:
        one, two = self.targets(state)
        stands = state.options()
        now = column[stands]
        found = column[one[which]] - now[self.i[which]]
        second = column[two[which]] - now[self.j[which]]
        found += np.where(self._turn[which], 0, second) if self._turns else second
        return np.asarray(found)

    def touching(self, state: State, pins: IntArray) -> BoolArray:
        """Which moves are of an item that stands on one of these pins."""
        items = range(len(state.place))
        stands = np.array([bool(np.isin(state.pins_of(item), pins).any()) for item in items])
        return np.asarray(stands[self.i] | stands[self.j])

    def places(self, state: State, move: int) -> dict[int, int]:
        """The items and places of one move."""
        one, two = self.targets(state)
        i, j = int(self.i[move]), int(self.j[move])
        base = state.table.base
        found = {i: int(one[move] - base[i])}
        if j != i:
            found[j] = int(two[move] - base[j])
        return found

    def refresh(self, state: State, items: list[int]) -> None:
        """Catch up with items that have moved or have other options now."""
        self._aimed = None
        if state.orders is not None:
            return
        which = np.concatenate([self._of[item] for item in items])
        self._refresh(state, which[~self._turn[which]] if self._turns else which)

    def _refresh(self, state: State, which: IntArray) -> None:
        if not len(which):
            return
        one, two = (found[which] for found in self.targets(state))
        stands = state.options()
        i, j = stands[self.i[which]], stands[self.j[which]]
        met = state.table.between(
            np.concatenate([one, i, one, two]), np.concatenate([two, j, j, i]), apart=False
        ).reshape(4, -1)
        self._pair[which] = met[0] + met[1] - met[2] - met[3]


def _group_moves(stock: Stock, group: int) -> tuple[IntArray, IntArray, IntArray, IntArray]:
    """Moves of one group as columns i, j, way of i, way of j."""
    items = np.array(stock.of_group(group), dtype=np.int64)
    kinds = np.array([stock.items[number].kind for number in items], dtype=np.int64)
    count = len(stock.ways[group])
    first, second = np.triu_indices(len(items), 1)
    worth = kinds[first] != kinds[second]
    i, j = items[first[worth]], items[second[worth]]
    way = np.arange(count)
    if count > _MOST_PAIRED_WAYS:
        one, two = np.concatenate([way, np.zeros(count - 1, dtype=np.int64)]), None
        two = np.concatenate([np.zeros(count, dtype=np.int64), way[1:]])
    else:
        one, two = np.repeat(way, count), np.tile(way, count)
    i, j, one, two = (
        np.repeat(i, len(one)),
        np.repeat(j, len(two)),
        np.tile(one, len(i)),
        np.tile(two, len(j)),
    )
    if count > 1:
        live = np.array([n for n in items.tolist() if stock.items[n].live], dtype=np.int64)
        turned = np.repeat(live, count)
        turn = np.tile(way, len(live))
        i, j = np.concatenate([i, turned]), np.concatenate([j, turned])
        one, two = np.concatenate([one, turn]), np.concatenate([two, turn])
    return i, j, one, two


def _tied(state: State, i: IntArray, j: IntArray) -> BoolArray:
    """Which moves are of two items that have a net in common."""
    pairs = {
        (low, high)
        for net in state.shared
        for low in state.holders[net]
        for high in state.holders[net]
        if low < high
    }
    if not pairs:
        return np.zeros(len(i), dtype=bool)
    size = len(state.place)
    keys = np.array(sorted(low * size + high for low, high in pairs), dtype=np.int64)
    return np.asarray(np.isin(i * size + j, keys))


def _by_item(i: IntArray, j: IntArray) -> dict[int, IntArray]:
    """The moves of each item."""
    if not len(i):
        return {}
    item = np.concatenate([i, j])
    move = np.tile(np.arange(len(i)), 2)
    order = np.argsort(item, kind="stable")
    item, move = item[order], move[order]
    first = np.flatnonzero(np.diff(item, prepend=-1))
    return {
        int(item[start]): np.unique(found)
        for start, found in zip(first, np.split(move, first[1:]), strict=True)
    }
