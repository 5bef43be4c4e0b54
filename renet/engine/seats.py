"""Where the connections of a movable net run by each exchange that moves it.

Most exchanges leave a net much as it is: what runs the same by all of them is
held once, and the rest per **seat**, a set of pins that the net may stand on.
Many exchanges put a net on the same seat.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from renet.engine.moves import Moves
from renet.engine.state import State
from renet.model import IntArray


@dataclass(frozen=True, slots=True)
class Seats:
    """All seats of a net, as edges of the table.

    ``common`` (c,) run on every seat, ``loose`` (seats, w) on one; edge 0 fills
    rows up.  ``at`` says for each exchange of the net, in the order in which they
    were given, on which seat it puts the net; ``now`` is where it stands.
    """

    common: IntArray
    loose: IntArray
    at: IntArray
    now: int

    def whole(self, seats: IntArray) -> IntArray:
        """(n, c + w): all edges of the net on some seats."""
        common = np.broadcast_to(self.common, (len(seats), len(self.common)))
        return np.concatenate([common, self.loose[seats]], axis=1)

    @property
    def still(self) -> IntArray:
        """All edges of the net as it stands, those of no length among them."""
        return np.concatenate([self.common, self.loose[self.now]])


def seats_of(state: State, moves: Moves, net: int, given: IntArray) -> Seats:
    """The seats of a net by the exchanges ``given``, all of which move an item of it."""
    if net in state.shared:
        return _of_several(state, moves, net, given)
    return _of_one(state, moves, net, given)


def _of_one(state: State, moves: Moves, net: int, given: IntArray) -> Seats:
    """A net of one item: its seats are the options of the item."""
    (item,) = state.holders[net]
    table = state.table
    region = table.region(item)
    start = table.start[region.start : region.stop + 1]
    seat = np.repeat(np.arange(len(start) - 1), np.diff(start))
    rows = np.flatnonzero(table.net[start[0] : start[-1]] == net)
    seat = seat[rows]
    place = np.arange(len(seat)) - np.searchsorted(seat, seat)
    loose = np.zeros((len(start) - 1, int(place.max(initial=-1)) + 1), dtype=np.int64)
    loose[seat, place] = table.edge[start[0] + rows]
    edge, owner = table.common(item)
    one, two = moves.targets(state)
    target = np.where(moves.i[given] == item, one[given], two[given])
    return Seats(edge[owner == net], loose, target - region.start, int(state.place[item]))


def _of_several(state: State, moves: Moves, net: int, given: IntArray) -> Seats:
    """A net of several items: its tree is worked out for each exchange."""
    known = {state.trees[net].tobytes(): 0}
    trees = [state.trees[net]]
    at = []
    for move in given.tolist():
        tree = state.tree(net, moves.places(state, move))
        number = known.setdefault(tree.tobytes(), len(trees))
        if number == len(trees):
            trees.append(tree)
        at.append(number)
    loose = np.zeros((len(trees), max(map(len, trees))), dtype=np.int64)
    for row, tree in zip(loose, trees, strict=True):
        row[: len(tree)] = tree
    return Seats(np.empty(0, dtype=np.int64), loose, np.array(at, dtype=np.int64), 0)
