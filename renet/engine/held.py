"""The memory of a tabu search: which nets may not soon return to which sites."""

from __future__ import annotations

import numpy as np

from renet.engine.moves import Moves
from renet.engine.state import State
from renet.model import BoolArray


class Held:
    """A net that has left a site is held off it for about as many steps as its group has sites."""

    def __init__(self, state: State) -> None:
        kind = np.array([item.kind for item in state.items], dtype=np.int64)
        groups = state.ground.problem.groups
        width = max((len(group) for group in groups), default=1)
        self._row = kind * width
        self._until = np.zeros((int(kind.max(initial=0)) + 1) * width, dtype=np.int64)
        ways = np.array([len(found) for found in state.ground.stock.ways], dtype=np.int64)
        size = np.array([len(group) for group in groups], dtype=np.int64)
        of_group = np.array([item.group for item in state.items], dtype=np.int64)
        self._ways, self._size = ways[of_group], size[of_group]

    def moves(self, moves: Moves, state: State, now: int) -> BoolArray:
        """Moves that would put both nets back where they have been of late."""
        site = state.place // self._ways
        one = self._until[self._row[moves.i] + site[moves.j]]
        two = self._until[self._row[moves.j] + site[moves.i]]
        return np.asarray(np.minimum(one, two) > now)

    def hold(
        self, moves: Moves, state: State, move: int, now: int, rng: np.random.Generator
    ) -> None:
        """Keep the nets of a move from returning for a while."""
        for item in dict.fromkeys((int(moves.i[move]), int(moves.j[move]))):
            size = int(self._size[item])
            site = int(state.place[item] // self._ways[item])
            self._until[self._row[item] + site] = now + int(rng.integers(size // 2, size + 2))
