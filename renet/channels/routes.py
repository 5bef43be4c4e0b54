"""Planned connections as the board has them: straight pieces on layers, and vias."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from renet.channels.access import Stubs
from renet.channels.obstacles import Ground
from renet.channels.ways import Way
from renet.model import NONE, IntArray
from renet.tangle import Connections


class Piece(NamedTuple):
    """A straight piece of a planned track; ``access`` marks stubs and steps against the layer."""

    layer: int
    x1: int
    y1: int
    x2: int
    y2: int
    access: bool


@dataclass(frozen=True, slots=True)
class Route:
    """One connection: ``a`` and ``b`` are pads; no pieces and no vias where it is blocked.

    ``corners`` are changes of direction, those of stubs not counted.  ``bound``: with its
    stubs as they are, no way is shorter; of a blocked one, its pads' distance over and up.
    """

    net: int
    a: int
    b: int
    routed: bool
    pieces: tuple[Piece, ...]
    vias: tuple[tuple[int, int], ...]
    corners: int
    bound: int

    @property
    def length(self) -> float:
        """Length of all pieces in nanometres."""
        return _length(self.pieces)


def route_of(
    found: Connections, index: int, way: Way | None, ground: Ground, stubs: Stubs, ways: str
) -> Route:
    """A way of connection ``index`` on the grid as pieces and vias of the board.

    ``ways`` says per layer of the ground whether it runs "h" or "v".
    """
    head = int(found.net[index]), int(found.a[index]), int(found.b[index])
    if way is None:
        x1, y1, x2, y2 = found.ends[index].tolist()
        return Route(*head, False, (), (), 0, abs(x2 - x1) + abs(y2 - y1))
    points = len(ground.lattice)
    layer, point = np.divmod(way.nodes, points)
    change = np.flatnonzero(np.diff(layer))
    vias = tuple(dict.fromkeys(ground.lattice.at(p) for p in point[change + 1].tolist()))
    pieces = _pieces(ground, ways, way.nodes)
    corners = sum(_turns(one, two) for one, two in pairwise(pieces))
    before = _stub_pieces(ground, stubs, way.first)
    after = [
        Piece(p.layer, p.x2, p.y2, p.x1, p.y1, True)
        for p in reversed(_stub_pieces(ground, stubs, way.last))
    ]
    least = int(_between_ends(pieces) + _length((*before, *after)))
    return Route(*head, True, (*before, *pieces, *after), vias, corners, least)


def _between_ends(pieces: list[Piece]) -> float:
    """The least length from end to end on the grid: over and up, or at 45 degrees if it runs so."""
    if not pieces:
        return 0.0
    across, down = abs(pieces[-1].x2 - pieces[0].x1), abs(pieces[-1].y2 - pieces[0].y1)
    if all(0 in _heading(piece) for piece in pieces):
        return across + down
    return float(max(across, down) + (np.sqrt(2) - 1) * min(across, down))


def _length(pieces: tuple[Piece, ...]) -> float:
    return float(sum(np.hypot(p.x2 - p.x1, p.y2 - p.y1) for p in pieces))


def _turns(one: Piece, two: Piece) -> bool:
    return _heading(one) != _heading(two)


def _heading(one: Piece) -> tuple[float, float]:
    return float(np.sign(one.x2 - one.x1)), float(np.sign(one.y2 - one.y1))


def _stub_pieces(ground: Ground, stubs: Stubs, stub: int) -> list[Piece]:
    if stub == NONE:
        return []
    corners: list[list[int]] = stubs.bends[stub].tolist()
    layer = ground.layers[int(stubs.layer[stub])]
    return [Piece(layer, a[0], a[1], b[0], b[1], True) for a, b in pairwise(corners) if a != b]


def _pieces(ground: Ground, ways: str, nodes: IntArray) -> list[Piece]:
    """Straight pieces along the nodes of a way."""
    points = len(ground.lattice)
    step = np.diff(nodes)
    layer = nodes // points
    found: list[Piece] = []
    start = 0
    for i in range(len(step)):
        if layer[i] != layer[i + 1]:
            start = i + 1
            continue
        goes_on = i + 1 < len(step) and step[i + 1] == step[i] and layer[i + 2] == layer[i]
        if not goes_on:
            k = int(layer[i])
            a = ground.lattice.at(int(nodes[start]) % points)
            b = ground.lattice.at(int(nodes[i + 1]) % points)
            right_way = a[1] == b[1] if ways[k] == "h" else a[0] == b[0]
            found.append(Piece(ground.layers[k], *a, *b, not right_way))
            start = i + 1
    return found
