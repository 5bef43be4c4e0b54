"""Clusters of existing copper, asked from the pins that might move.

The copper of a pin is all that hangs together with its pads.  It **reaches**
something when pads of others or filled areas are among it; else it is a
**fan-out**: tracks, vias and teardrops that can go with the pin.
"""

from __future__ import annotations

from collections.abc import Collection
from functools import cached_property
from typing import NamedTuple

import numpy as np

from renet.columns import PadColumns
from renet.copper import join, overlapping
from renet.model import NONE, Board, IntArray


class Cluster(NamedTuple):
    """Elements that hang together, sorted: pads, and the tracks, vias and fills.

    ``area`` is a fill that is no teardrop, ``part`` a fill of a teardrop that has
    more fills elsewhere; -1 where there is none.
    """

    pads: list[int]
    lines: list[int]
    area: int
    part: int


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
        self._known: dict[int, Cluster] = {}
        self._pins = pins

    @cached_property
    def _touches(self) -> IntArray:
        """Touching pairs of a pad of one of the pins and anything of its net."""
        pads = np.zeros(len(self.table), dtype=bool)
        pads[[pad for pin in self._pins for pad in self.board.pins[pin].pads]] = True
        return overlapping(self.board, self.table, pads)

    def of(self, pin: int) -> list[Cluster]:
        """The clusters that hold pads of ``pin``."""
        return [
            self._cluster(label)
            for label in sorted({int(self._label[pad]) for pad in self.board.pins[pin].pads})
        ]

    def _cluster(self, label: int) -> Cluster:
        if label not in self._known:
            members = _equal(self._sorted, self._order, label)
            pads = [element for element in members if element < self.table.tracks]
            fills = [element for element in members if element >= self.table.fills]
            area = next((fill for fill in fills if not self._teardrop(fill)), NONE)
            drops = [fill for fill in fills if self._teardrop(fill)]
            part = next((fill for fill in drops if not self._whole(fill, fills)), NONE)
            self._known[label] = Cluster(pads, members[len(pads) :], area, part)
        return self._known[label]

    def zone(self, fill: int) -> int:
        """The zone of a fill element."""
        return int(self.table.zone[fill - self.table.fills])

    def _teardrop(self, fill: int) -> bool:
        return self.board.zones[self.zone(fill)].teardrop

    def _whole(self, fill: int, fills: Collection[int]) -> bool:
        """Whether all fills of the zone of ``fill`` are among ``fills``."""
        mine = np.flatnonzero(self.table.zone == self.zone(fill)) + self.table.fills
        return all(one in fills for one in mine.tolist())

    def touched(self, pin: int) -> list[int]:
        """Elements of the pin's own net, or without net like itself, that touch its pads."""
        mine, other = self._touches[:, 0], self._touches[:, 1]
        return sorted({e for pad in self.board.pins[pin].pads for e in _equal(mine, other, pad)})

    def other_pad(self, pin: int, elements: Collection[int]) -> int:
        """The first pad among ``elements`` that does not belong to ``pin``, or -1."""
        pads = (element for element in elements if element < self.table.tracks)
        return next((pad for pad in pads if self.board.pads[pad].pin != pin), NONE)

    def reached(self, pin: int) -> int:
        """The element that keeps the pin's copper from going with it, or -1; pads come first."""
        clusters = self.of(pin)
        found = [self.other_pad(pin, cluster.pads) for cluster in clusters]
        found += [cluster.area for cluster in clusters] + [cluster.part for cluster in clusters]
        return next((element for element in found if element != NONE), NONE)

    def fan_out(self, pin: int) -> list[int]:
        """The tracks, vias and teardrop fills that go with the pin; none if they reach further."""
        if self.reached(pin) != NONE:
            return []
        return [element for cluster in self.of(pin) for element in cluster.lines]

    def describe(self, element: int) -> str:
        """A pad or a filled area in words."""
        if element >= self.table.fills:
            name = self.board.net_name(int(self.table.net[element]))
            kind = "teardrop" if self._teardrop(element) else "filled area"
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
