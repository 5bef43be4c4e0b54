"""What the board reader says of pads, in columns, for checks that look at many of them."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from renet.model import Board, BoolArray, IntArray


class Facts:
    """Pads of a board: ``net`` and ``pin`` (-1: none), and whether ``plated``."""

    def __init__(self, board: Board) -> None:
        self._pads = board.pads
        self.net: IntArray = np.array([pad.net for pad in board.pads], dtype=np.int64)
        self.pin: IntArray = np.array([pad.pin for pad in board.pads], dtype=np.int64)
        self.plated: BoolArray = np.array([pad.plated for pad in board.pads], dtype=bool)

    @cached_property
    def at(self) -> IntArray:
        """(2, n): where each pad is."""
        rows = [pad.x for pad in self._pads], [pad.y for pad in self._pads]
        return np.array(rows, dtype=np.int64)
