"""Which pins have copper of their net near them: a sieve, before anybody looks closely.

Boxes that hold the copper wherever it turns.  Where none meets that of a pin, nothing
touches the pin; where one does, nothing is said.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from renet.model import NONE, Board, BoolArray, IntArray, Shape
from renet.verify.facts import Facts

_FAR = 1 << 40
"""Farther than anything is from anything, in nanometres."""


class Sieve:
    """Boxes (n, 4) of all copper of some nets, sorted by net; pads come with their numbers."""

    def __init__(self, board: Board, facts: Facts, nets: set[int]) -> None:
        self._board, self._facts = board, facts
        self._reach: dict[int, int] = {}
        wanted = np.zeros(len(board.nets) + 1, dtype=bool)  # the last one is that of no net, -1
        wanted[list(nets)] = True
        pads = wanted[facts.net].nonzero()[0]
        tracks, vias = (wanted[kind.net].nonzero()[0] for kind in (board.tracks, board.vias))
        zones = [zone.net for zone in board.zones if zone.net in nets]
        ends, curved = board.tracks.ends[tracks], board.tracks.curved[tracks]
        low, high = np.minimum(ends[:, :2], ends[:, 2:]), np.maximum(ends[:, :2], ends[:, 2:])
        at, nowhere = board.vias.at[vias], np.zeros((len(zones), 2), dtype=np.int64)
        boxes = (
            self.boxes(pads.tolist()),
            _grown(low, high, np.where(curved, _FAR, board.tracks.width[tracks])),
            _grown(at, at, board.vias.size[vias]),
            _grown(nowhere, nowhere, np.full(len(zones), _FAR)),
        )
        net = (facts.net[pads], board.tracks.net[tracks], board.vias.net[vias], zones)
        every = np.concatenate(net).astype(np.int64)
        order = np.argsort(every, kind="stable")
        self._net, self._boxes = every[order], np.concatenate(boxes)[order]
        others = np.full(len(every) - len(pads), NONE, dtype=np.int64)
        self._pad = np.concatenate([pads, others])[order]

    def boxes(self, pads: Sequence[int]) -> IntArray:
        """(n, 4): boxes of pads, however they turn."""
        these, known = [self._board.pads[pad] for pad in pads], self._reach
        for pad in these:
            if id(pad.shape) not in known:
                known[id(pad.shape)] = _reach(pad.shape)
        rows = [known[id(pad.shape)] for pad in these], [p.x for p in these], [p.y for p in these]
        reach, *at = np.array(rows, dtype=np.int64)
        centre = np.array(at).T
        return _grown(centre, centre, reach)

    def near(self, pins: Sequence[Sequence[int]], net: Sequence[int]) -> BoolArray:
        """Whether the pads of each pin have a box of its net near, other than those of its own."""
        owner = np.full(len(self._facts.net) + 1, NONE, dtype=np.int64)  # the last: of no pad, -1
        pads = np.array([pad for pin in pins for pad in pin], dtype=np.int64)
        many = np.array([len(pin) for pin in pins], dtype=np.int64)
        pin = np.repeat(np.arange(len(pins)), many)
        owner[pads] = pin
        nets = np.array(net, dtype=np.int64)[pin]
        first, past = (np.searchsorted(self._net, nets, side=side) for side in ("left", "right"))
        count = past - first
        asked = np.repeat(np.arange(len(pads)), count)
        item = np.arange(len(asked)) + np.repeat(past - np.cumsum(count), count)
        mine, theirs = self.boxes(pads.tolist())[asked], self._boxes[item]
        meet = (mine[:, :2] <= theirs[:, 2:]) & (mine[:, 2:] >= theirs[:, :2])
        close = meet.all(axis=1) & (owner[self._pad[item]] != pin[asked])
        found = np.zeros(len(pins), dtype=bool)
        found[pin[asked[close]]] = True
        return found


def _grown(low: IntArray, high: IntArray, by: IntArray) -> IntArray:
    return np.concatenate([low - by[:, None], high + by[:, None]], axis=1)


def _reach(shape: Shape) -> int:
    """How far from its position a pad reaches at most, rounded up."""
    far = [math.isqrt(x * x + y * y) + core.radius for core in shape.cores for x, y in core.points]
    return max(far, default=0) + 2
