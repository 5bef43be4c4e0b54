"""What the copper at a pin joins, found by walking from its pads, touch by touch.

Only copper of the pin's own net is walked (of no net, for a spare pin).  The
walk ends at the first pad of anything else and at the first filled zone: the
pin is routed then.  Copper that ends before is the pin's fan-out.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from renet import geometry
from renet.model import Board, Fill, IntArray, Tracks, Vias
from renet.verify.facts import Facts
from renet.verify.touching import Box, Copper, Point, arc_chain, copper, pad_copper, piece, touches

PAD, TRACK, VIA, FILL, TEARDROP = "pad", "track", "via", "fill", "teardrop"
_MANY = 24


class Item(NamedTuple):
    """One bit of copper: its kind and its number among pads, tracks, vias or zones."""

    kind: str
    number: int
    locked: bool
    copper: Copper


class Fan(NamedTuple):
    """The copper walked from a pin, and what it reached beyond (None: nothing)."""

    items: tuple[Item, ...]
    reached: Item | None


class Rows(NamedTuple):
    """The copper of one net: numbers of pads, zones, tracks and vias."""

    pads: list[int]
    zones: list[int]
    tracks: list[int]
    vias: list[int]


class NetCopper:
    """All copper of one net; where it is much, its boxes in a table that serves as a sieve."""

    def __init__(self, board: Board, rows: Rows) -> None:
        self.items = [*_pads(board, rows.pads), *_fills(board, rows.zones)]
        self.items += [*_tracks(board.tracks, rows.tracks), *_vias(board.vias, rows.vias)]
        self._own = {item.number: i for i, item in enumerate(self.items) if item.kind == PAD}
        self._beside: dict[int, list[int]] = {}
        self._boxes: IntArray | None = None
        if len(self.items) > _MANY:
            self._boxes = np.array([item.copper.box for item in self.items], dtype=np.int64)

    def touching(self, one: Copper) -> list[int]:
        """Numbers of the items that touch ``one``, itself left out, pads and fills first."""
        table = self._boxes
        near = range(len(self.items)) if table is None else _near(table, one.box)
        others = [i for i in near if self.items[i].copper is not one]
        return [i for i in others if touches(one, self.items[i].copper)]

    def _touching(self, item: int) -> list[int]:
        if item not in self._beside:
            self._beside[item] = self.touching(self.items[item].copper)
        return self._beside[item]

    def walk(self, pads: list[int]) -> Fan:
        """From a pin's pads as far as the copper goes, or to the first thing that is routed to."""
        seen = {self._own[pad] for pad in pads if pad in self._own}
        queue = sorted(seen)
        found: list[Item] = []
        for at in queue:
            for i in self._touching(at):
                if i in seen:
                    continue
                if self.items[i].kind in (PAD, FILL):
                    return Fan(tuple(found), self.items[i])
                seen.add(i)
                queue.append(i)
                found.append(self.items[i])
        return Fan(tuple(found), None)

    def at_pads(self, board: Board, pads: list[int]) -> list[Item]:
        """Everything that touches one of these pads, other than the pads themselves."""
        found: set[int] = set()
        for pad in pads:
            one = self._own.get(pad)
            found.update(
                self.touching(pad_copper(board.pads[pad])) if one is None else self._touching(one)
            )
        items = [self.items[i] for i in sorted(found)]
        return [item for item in items if not (item.kind == PAD and item.number in pads)]


def _near(table: IntArray, box: Box) -> list[int]:
    """Which boxes of a table meet this one."""
    near = (
        (table[:, 0] <= box[2])
        & (table[:, 2] >= box[0])
        & (table[:, 1] <= box[3])
        & (table[:, 3] >= box[1])
    )
    found: list[int] = near.nonzero()[0].tolist()
    return found


def rows_by_net(board: Board, facts: Facts, nets: set[int]) -> dict[int, Rows]:
    """The copper of each of these nets."""
    found = {net: Rows([], [], [], []) for net in nets}
    wanted = np.zeros(len(board.nets) + 1, dtype=bool)  # the last one is that of no net, -1
    wanted[list(nets)] = True
    columns = facts.net, [zone.net for zone in board.zones], board.tracks.net, board.vias.net
    for kind, column in enumerate(np.asarray(column, dtype=np.int64) for column in columns):
        rows = wanted[column].nonzero()[0]
        for row, net in zip(rows.tolist(), column[rows].tolist(), strict=True):
            found[net][kind].append(row)
    return found


def _pads(board: Board, pads: list[int]) -> list[Item]:
    return [Item(PAD, index, False, pad_copper(board.pads[index])) for index in pads]


def _fills(board: Board, rows: list[int]) -> list[Item]:
    """Filled zones, one item for each filled area; teardrops are fan-out like tracks."""
    return [
        Item(TEARDROP if zone.teardrop else FILL, index, zone.locked, _area(fill))
        for index, zone in ((index, board.zones[index]) for index in rows)
        if not zone.rule_area
        for fill in zone.fills
    ]


def _area(fill: Fill) -> Copper:
    points = tuple((x, y) for x, y in geometry.points(fill.text).tolist())
    if fill.layer < 0 or not points:
        return copper(0, ())
    return copper(1 << fill.layer, (piece(points, 2 * fill.grow, True),))


def _tracks(tracks: Tracks, rows: list[int]) -> list[Item]:
    return [Item(TRACK, i, bool(tracks.locked[i]), _track(tracks, i)) for i in rows]


def _track(tracks: Tracks, index: int) -> Copper:
    layer = int(tracks.layer[index])
    if layer < 0:
        return copper(0, ())
    x0, y0, x1, y1 = tracks.ends[index].tolist()
    chain: tuple[Point, ...] = ((x0, y0), (x1, y1))
    if tracks.curved[index]:
        mx, my = tracks.mid[index].tolist()
        chain = arc_chain((x0, y0), (mx, my), (x1, y1))
    return copper(1 << layer, (piece(chain, int(tracks.width[index]), False),))


def _vias(vias: Vias, rows: list[int]) -> list[Item]:
    return [
        Item(
            VIA,
            i,
            bool(vias.locked[i]),
            copper(
                int(vias.layers[i]),
                (piece(((int(vias.at[i, 0]), int(vias.at[i, 1])),), int(vias.size[i]), False),),
            ),
        )
        for i in rows
    ]
