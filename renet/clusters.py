"""Clusters of existing copper, asked from the pins that might move.

A **fan-out** is a cluster that holds pads of one pin only (and no filled area
other than a teardrop): it can go with the pin.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

import numpy as np

from renet.columns import PadColumns
from renet.copper import join, overlapping
from renet.model import NONE, Board, IntArray


class Clusters:
    """The clusters of copper of the nets of ``pins``; elements are numbered as in ``shapes``."""

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

    def clusters(self, pin: int) -> list[list[int]]:
        """The clusters that hold pads of ``pin``, each as elements in ascending order."""
        labels = sorted({int(self._label[pad]) for pad in self.board.pins[pin].pads})
        return [_equal(self._sorted, self._order, label) for label in labels]

    def others(self, pin: int, elements: Iterable[int]) -> list[int]:
        """The pads among ``elements`` that do not belong to ``pin``."""
        pads = (element for element in elements if element < self.table.tracks)
        return [pad for pad in pads if self.board.pads[pad].pin != pin]

    def areas(self, elements: Iterable[int]) -> list[int]:
        """The fills among ``elements`` that could not go with a pin.

        All but teardrops, and of those each that has fills elsewhere too.
        """
        fills = {element for element in elements if element >= self.table.fills}
        return [fill for fill in sorted(fills) if not self._loose(fill, fills)]

    def _loose(self, fill: int, fills: set[int]) -> bool:
        zone = self.zone(fill)
        whole = np.flatnonzero(self.table.zone == zone) + self.table.fills
        return self.board.zones[zone].teardrop and fills.issuperset(whole.tolist())

    def zone(self, fill: int) -> int:
        """The zone of a fill element."""
        return int(self.table.zone[fill - self.table.fills])

    def fan_out(self, pin: int) -> list[int]:
        """Tracks, vias and fills of the clusters that hold pads of ``pin`` only.

        Filled areas that could not go with the pin are among them: who takes the
        fan-out along asks :meth:`areas` first, or lets fills leave.
        """
        lone = [cluster for cluster in self.clusters(pin) if not self.others(pin, cluster)]
        return [element for cluster in lone for element in cluster if element >= self.table.tracks]

    def touched(self, pin: int) -> list[int]:
        """Elements of the pin's own net, or without net like itself, that touch its pads."""
        found: set[int] = set()
        for pad in self.board.pins[pin].pads:
            found.update(_equal(self._touches[:, 0], self._touches[:, 1], pad))
        return sorted(found)

    def describe(self, element: int) -> str:
        """A pad or a filled area in words."""
        if element >= self.table.fills:
            name = self.board.net_name(int(self.table.net[element]))
            return "a filled area " + ("without a net" if name is None else f"of {name}")
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
