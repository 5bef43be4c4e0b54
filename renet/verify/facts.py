"""What the board reader says of pads, in columns, for checks that look at many of them."""

from __future__ import annotations

import numpy as np

from renet.model import Board, BoolArray, IntArray, Pad


class Facts:
    """Pads of a board: ``net`` and ``pin`` (-1: none), ``at`` (2, n), whether ``plated``."""

    def __init__(self, board: Board) -> None:
        columns = dict(zip(Pad._fields, zip(*board.pads, strict=True), strict=False))
        self.net: IntArray = np.array(columns.get("net", ()), dtype=np.int64)
        self.pin: IntArray = np.array(columns.get("pin", ()), dtype=np.int64)
        self.at: IntArray = np.array([columns.get("x", ()), columns.get("y", ())], dtype=np.int64)
        self.plated: BoolArray = np.array(columns.get("plated", ()), dtype=bool)
