"""Clusters of existing copper, asked from the pins that might move.

The copper of a pin is all that hangs together with its pads.  It **reaches**
something when pads of others or filled areas are among it; else it is a
**fan-out**: tracks, vias and teardrops that can go with the pin.
"""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from renet.columns import PadColumns
from renet.copper import join, overlapping
from renet.model import NONE, Board, IntArray


class Clusters:
    """The copper of the nets of ``pins``; elements are numbered as in ``shapes``."""

    def __init__(self, board: Board, cols: PadColumns, pins: Collection[int]) -> None:
        nets = np.zeros(len(board.nets) + 1, dtype=bool)
        nets[[board.pins[pin].net for pin in pins]] = True
        joined = join(board, cols, nets[:-1], no_net=bool(nets[-1]))
        self.board, self.table = board, joined.elements
        self._label = joined.label
        self._order = np.argsort(joined.label, kind="stable")
        self._sorted = joined.label[self._order]
        pads = np.zeros(len(self.table), dtype=bool)
        pads[[pad for pin in pins for pad in board.pins[pin].pads]] = True
        self._touches = overlapping(board, self.table, pads)

    def copper(self, pin: int) -> list[int]:
        """All elements that hang together with pads of ``pin``, those included, sorted."""
        labels = {int(self._label[pad]) for pad in self.board.pins[pin].pads}
        return sorted(e for label in labels for e in _equal(self._sorted, self._order, label))

    def touched(self, pin: int) -> list[int]:
        """Elements of the pin's own net, or without net like itself, that touch its pads."""
        mine, other = self._touches[:, 0], self._touches[:, 1]
        return sorted({e for pad in self.board.pins[pin].pads for e in _equal(mine, other, pad)})

    def others(self, pin: int, elements: Collection[int]) -> list[int]:
        """The pads among ``elements`` that do not belong to ``pin``."""
        pads = (element for element in elements if element < self.table.tracks)
        return [pad for pad in pads if self.board.pads[pad].pin != pin]

    def areas(self, elements: Collection[int]) -> list[int]:
        """The fills among ``elements`` that are no teardrops."""
        fills = (element for element in elements if element >= self.table.fills)
        return [fill for fill in fills if not self.board.zones[self.zone(fill)].teardrop]

    def split(self, elements: Collection[int]) -> list[int]:
        """The fills of teardrops among ``elements`` that have more fills elsewhere."""
        fills = {element for element in elements if element >= self.table.fills}
        zones = [self.zone(fill) for fill in sorted(fills)]
        whole = {z: np.flatnonzero(self.table.zone == z) + self.table.fills for z in zones}
        drops = [z for z in zones if self.board.zones[z].teardrop]
        return [int(whole[z][0]) for z in drops if not fills.issuperset(whole[z].tolist())]

    def reached(self, pin: int) -> list[int]:
        """What keeps the pin's copper from going with it; pads of others come first."""
        copper = self.copper(pin)
        return self.others(pin, copper) + self.areas(copper) + self.split(copper)

    def fan_out(self, pin: int) -> list[int]:
        """The tracks, vias and teardrop fills that go with the pin; none if they reach further."""
        if self.reached(pin):
            return []
        return [element for element in self.copper(pin) if element >= self.table.tracks]

    def zone(self, fill: int) -> int:
        """The zone of a fill element."""
        return int(self.table.zone[fill - self.table.fills])

    def describe(self, element: int) -> str:
        """A pad or a filled area in words."""
        if element >= self.table.fills:
            name = self.board.net_name(int(self.table.net[element]))
            kind = "teardrop" if self.board.zones[self.zone(element)].teardrop else "filled area"
            return f"a {kind} " + ("without a net" if name is None else f"of {name}")
        pad = self.board.pads[element]
        if pad.pin != NONE:
            return self.board.pin_label(pad.pin)
        ref = self.board.parts[pad.part].ref
        return f"an unnumbered pad of {ref}" if ref else "an unnumbered pad"


def _equal(keys: IntArray, values: IntArray, key: int) -> list[int]:
    """The values beside ``key`` in a sorted column."""
    first = np.searchsorted(keys, key, side="left")
    found: list[int] = values[first : np.searchsorted(keys, key, side="right")].tolist()
    return found
