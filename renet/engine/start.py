"""Where a search begins: the minimum-length assignment.

Two straight connections that cross get shorter when they trade ends, so the
shortest assignment of one group has no crossings among its own two-pin nets.
Groups joined by nets take turns until none of them moves any more.
"""

from __future__ import annotations

import numpy as np

from renet.engine.assign import assign
from renet.engine.state import State

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
