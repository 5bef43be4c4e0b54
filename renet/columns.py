"""The pads of a board as numpy columns, for everything that counts in bulk.

``rank`` is the order of design rule "an end is (x, y, part, natural-sorted pin,
index of the pad in the file)": comparing ranks compares ends.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from renet.geometry import box_corners
from renet.model import NONE, Board, BoolArray, IntArray

FRONT, BACK = 1, 2

_DIGITS = re.compile(r"([0-9]{1,18})")


@lru_cache(maxsize=1 << 12)
def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """A sort key under which ``P2`` comes before ``P10``; digits before letters."""
    return tuple(
        (0, int(piece), piece) if _DIGITS.fullmatch(piece) else (1, 0, piece)
        for piece in _DIGITS.split(text)
        if piece
    )


@dataclass(frozen=True, slots=True)
class PadColumns:
    """One row per pad of the board, in the board's order.

    ``node`` pads take part in connections (numbered and plated; whether they
    have a net is up to ``pin`` and the net of that pin).  ``sides`` is FRONT,
    BACK or both; a through-hole pad is on both.  ``corners`` is (n, 4, 2): the
    outline's bounding box in the pad's frame, on the board.
    """

    x: IntArray
    y: IntArray
    pin: IntArray
    rank: IntArray
    node: BoolArray
    through: BoolArray
    sides: IntArray
    corners: IntArray

    def __len__(self) -> int:
        return len(self.x)


def pad_columns(board: Board) -> PadColumns:
    """Columns for all pads of ``board``."""
    pads = board.pads
    count = len(pads)
    back = 1 << max(len(board.layers) - 1, 0)
    keys = [
        (
            pad.x,
            pad.y,
            board.parts[pad.part].ref,
            natural(board.pins[pad.pin].number) if pad.pin != NONE else (),
            index,
        )
        for index, pad in enumerate(pads)
    ]
    rank = np.empty(count, dtype=np.int64)
    rank[sorted(range(count), key=keys.__getitem__)] = np.arange(count)
    boxes = np.array([pad.shape.box for pad in pads], dtype=np.int64).reshape(-1, 4)
    at = np.array([(pad.x, pad.y) for pad in pads], dtype=np.int64).reshape(-1, 2)
    angle = np.array([pad.angle for pad in pads], dtype=np.float64)
    sides = [
        FRONT | BACK
        if pad.through
        else (FRONT if pad.layers & 1 else 0) | (BACK if pad.layers & back else 0)
        for pad in pads
    ]
    return PadColumns(
        x=at[:, 0].copy(),
        y=at[:, 1].copy(),
        pin=np.array([pad.pin for pad in pads], dtype=np.int64),
        rank=rank,
        node=np.array([pad.pin != NONE and pad.plated for pad in pads], dtype=bool),
        through=np.array([pad.through for pad in pads], dtype=bool),
        sides=np.array(sides, dtype=np.int64),
        corners=box_corners(boxes, at, angle),
    )
