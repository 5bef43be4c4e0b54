"""What each swap is worth alone, and what is lost without it.

Both are differences of whole tangles.  Only connections of the nets that a
swap touches can differ, so only those are spanned and counted again.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from renet.changes import Figures
from renet.columns import PadColumns
from renet.geometry import crosses, overlaps
from renet.model import NONE, BoolArray, IntArray
from renet.tangle import Connections, over_pad_pairs, span


@dataclass(frozen=True, slots=True)
class Ground:
    """What stays the same while nets move: pads, copper-joined labels, counted nets."""

    cols: PadColumns
    labels: IntArray
    counted: BoolArray
    pin_pads: tuple[tuple[int, ...], ...]


class Worth:
    """Differences of tangle against one fixed assignment of nets to pins."""

    def __init__(self, ground: Ground, pin_net: IntArray) -> None:
        self._ground = ground
        self._pin_net = pin_net
        self._all = self._spanned(np.unique(pin_net).tolist(), pin_net)

    def change(self, moves: Mapping[int, int]) -> Figures:
        """Tangle with ``moves`` (pin -> net) done, minus the tangle without them."""
        nets = {int(self._pin_net[pin]) for pin in moves} | set(moves.values())
        touched = sorted(net for net in nets if net != NONE)
        moved = self._pin_net.copy()
        moved[list(moves)] = list(moves.values())
        mine = np.isin(self._all.net, touched)
        rest = _pick(self._all, ~mine)
        gone = _tally(_pick(self._all, mine), rest, self._ground.cols, self._pin_net)
        come = _tally(self._spanned(touched, moved), rest, self._ground.cols, moved)
        return Figures(
            come.crossings - gone.crossings,
            come.overlaps - gone.overlaps,
            come.over_pads - gone.over_pads,
            round(come.length_mm - gone.length_mm, 6),
        )

    def _spanned(self, nets: Iterable[int], pin_net: IntArray) -> Connections:
        """The connections of these nets, in their order."""
        ground = self._ground
        edges: list[IntArray] = [np.zeros((0, 2), dtype=np.int64)]
        owners: list[int] = []
        for net in nets:
            if net == NONE or not ground.counted[net]:
                continue
            pins = np.flatnonzero(pin_net == net).tolist()
            pads = [pad for pin in pins for pad in ground.pin_pads[pin] if ground.cols.node[pad]]
            found = span(np.array(pads, dtype=np.int64), ground.cols, ground.labels)
            edges.append(found)
            owners += [net] * len(found)
        return _connections(np.array(owners, dtype=np.int64), np.concatenate(edges), ground.cols)


def worth(
    ground: Ground, before: IntArray, after: IntArray, swaps: Sequence[Sequence[int]]
) -> list[tuple[Figures, Figures]]:
    """(alone, lost_without) for each swap, a swap being the pins that it moves."""
    start, end = Worth(ground, before), Worth(ground, after)
    found = []
    for pins in swaps:
        alone = start.change({pin: int(after[pin]) for pin in pins})
        lost = end.change({pin: int(before[pin]) for pin in pins})
        found.append((alone, lost))
    return found


def _connections(net: IntArray, pads: IntArray, cols: PadColumns) -> Connections:
    a, b = pads[:, 0], pads[:, 1]
    ends = np.stack([cols.x[a], cols.y[a], cols.x[b], cols.y[b]], axis=1)
    return Connections(net=net, a=a, b=b, ends=ends)


def _pick(connections: Connections, rows: BoolArray) -> Connections:
    return Connections(
        net=connections.net[rows],
        a=connections.a[rows],
        b=connections.b[rows],
        ends=connections.ends[rows],
    )


def _tally(some: Connections, rest: Connections, cols: PadColumns, pin_net: IntArray) -> Figures:
    """Everything that ``some`` takes part in, among themselves and with ``rest``."""
    counts = []
    for test in (crosses, overlaps):
        outer = test(some.ends[:, None], rest.ends[None, :])
        inner = test(some.ends[:, None], some.ends[None, :])
        inner &= some.net[:, None] != some.net[None, :]
        counts.append(int(outer.sum()) + int(np.triu(inner, 1).sum()))
    steps = some.ends[:, 2:] - some.ends[:, :2]
    squares = (steps * steps).sum(axis=1)
    length = math.fsum(math.sqrt(square) for square in squares.tolist()) / 1e6
    return Figures(counts[0], counts[1], len(over_pad_pairs(some, cols, pin_net)), length)
