"""Where a search begins: the minimum-length assignment.

Two straight connections that cross get shorter when they trade ends, so the
shortest assignment of one group has no crossings among its own two-pin nets.
Groups joined by nets take turns until none of them moves any more.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from renet.engine.assign import assign
from renet.engine.facing import Facing
from renet.engine.state import State

Floats = NDArray[np.float64]

_ROUNDS = 12


def shorten(state: State, *, priced: bool) -> list[int]:
    """Assign every group anew by length, ``priced`` with the price of moved pins.

    Gives the items that went to other places (some may have come back).
    """
    moved: set[int] = set()
    for _ in range(_ROUNDS):
        changed = False
        for group in range(len(state.ground.stock.ways)):
            places = _shortest(state, group, priced)
            if places:
                moved.update(state.apply(state.trial(places)))
                changed = True
        if not changed or not state.shared:
            break
    return sorted(moved)


def _shortest(state: State, group: int, priced: bool) -> dict[int, int]:
    """The places of a group's items that differ in its shortest assignment."""
    table, ways = state.table, len(state.ground.stock.ways[group])
    items = state.ground.stock.of_group(group)
    if not len(items):
        return {}
    length = table.length if priced else table.length - table.price
    length = np.where(table.banned > 0, np.inf, length)
    cost = np.stack([length[table.region(item)].reshape(-1, ways) for item in items])
    best = cost.min(axis=2)
    site = assign(best)
    row = np.arange(len(items))
    now = state.place[items.start : items.stop]
    stands = cost.reshape(len(items), -1)[row, now].sum()
    if best[row, site].sum() >= stands - len(items):
        return {}
    place = site * ways + cost[row, site].argmin(axis=1)
    return {items[i]: int(place[i]) for i in np.flatnonzero(place != now).tolist()}


def in_order(state: State, facing: Facing) -> list[int]:
    """Put the items of a row in their best order, as short as that order allows.

    Items that nothing connects in the row fill up what is left.  Gives the items
    concerned; none where one may not go where the order wants it.
    """
    group, sites, cost = facing.row
    table, ways = state.table, len(state.ground.stock.ways[group])
    first = state.ground.stock.of_group(group).start
    live = [first + i for i in facing.ordering.order.tolist() if cost[i].any() or cost[:, i].any()]
    length = np.where(table.banned > 0, np.inf, table.length)
    every = [length[table.region(item)].reshape(-1, ways)[sites] for item in live]
    best = np.stack([choice.min(axis=1) for choice in every])
    taken = _monotone(best)
    if taken is None:
        return []
    places = {
        item: int(sites[k]) * ways + int(choice[k].argmin())
        for item, k, choice in zip(live, taken, every, strict=True)
    }
    left = sorted(set(range(len(sites))) - {int(sites[k]) for k in taken})
    rest = [item for item in state.ground.stock.of_group(group) if item not in places]
    places.update((item, site * ways) for item, site in zip(rest, left, strict=True))
    if any(table.banned[table.base[item] + place] > 0 for item, place in places.items()):
        return []
    changed = {item: place for item, place in places.items() if place != int(state.place[item])}
    return state.apply(state.trial(changed)) if changed else []


def _monotone(cost: Floats) -> list[int] | None:
    """For each row a column, rising, at the least total cost; None if that cannot be."""
    rows, columns = cost.shape
    least = np.full((rows + 1, columns + 1), np.inf)
    least[0] = 0.0
    for row in range(rows):
        here = least[row, :-1] + cost[row]
        least[row + 1, 1:] = np.minimum.accumulate(here)
    if not np.isfinite(least[rows, columns]):
        return None
    taken, column = [], columns
    for row in range(rows, 0, -1):
        while least[row, column - 1] == least[row, column]:
            column -= 1
        column -= 1
        taken.append(column)
    return taken[::-1]
