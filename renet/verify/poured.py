"""Nets that are planes and so no part of the tangle, by the definition and nothing faster."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import numpy as np

from renet import geometry
from renet.model import Board, IntArray
from renet.verify.scope import SUPPLY_TYPES, supply_net
from renet.verify.seats import Seat
from renet.verify.touching import covers

_MANY_PADS = 12


def plane_nets(board: Board, seats: Iterable[Seat]) -> frozenset[str]:
    """Nets whose zones cover half of their pads, or that are supplies by type or by name."""
    return _covered(board) | _supplies(board, list(seats))


def _covered(board: Board) -> frozenset[str]:
    """Zones of the net that cover two of its pads or more (others are teardrops, marked or not)
    cover the centres of at least half of them.
    """
    areas: dict[int, list[IntArray]] = {}
    for zone in board.zones:
        if zone.net >= 0 and not zone.teardrop and not zone.rule_area:
            for text in zone.outline:
                areas.setdefault(zone.net, []).append(geometry.points(text))
    pads_of: dict[int, list[tuple[int, int]]] = {net: [] for net in areas}
    for pad in board.pads:
        if pad.net in areas and pad.pin >= 0:
            pads_of[pad.net].append((pad.x, pad.y))
    found = set()
    for net, polygons in areas.items():
        pads = pads_of[net]
        inside: set[int] = set()
        at = np.array(pads, dtype=np.int64).reshape(-1, 2)
        for area in filter(len, polygons):
            boxed = (at >= area.min(axis=0)) & (at <= area.max(axis=0))
            near, corners = boxed.all(axis=1).nonzero()[0].tolist(), area.tolist()
            here = {i for i in near if covers(corners, pads[i])}
            if len(here) > 1:
                inside |= here
        if pads and 2 * len(inside) >= len(pads):
            found.add(board.nets[net])
    return frozenset(found)


def _supplies(board: Board, seats: list[Seat]) -> frozenset[str]:
    count = Counter(seat.was for seat in seats if seat.was and seat.type in SUPPLY_TYPES)
    found = {net for net, pins in count.items() if pins >= 2}
    if not any(seat.type for seat in seats):
        pads = Counter(pad.net for pad in board.pads if pad.net >= 0)
        found |= {
            board.nets[net]
            for net, number in pads.items()
            if number > _MANY_PADS and supply_net(board.nets[net])
        }
    return frozenset(found)
