"""Crossings counted the slow way on a whole board: all pairs, by the letter of the design.

Every net's tree is Kruskal's over all pairs of pads, in the order (squared length,
lower end, upper end); every pair of connections is tested with whole numbers.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from itertools import combinations
from typing import Any

import numpy as np

from renet.model import Board

Edge = tuple[int, int, int, int, int]


def spanning_edges(board: Board, label: Sequence[int], left_out: Collection[str]) -> list[Edge]:
    """(x1, y1, x2, y2, net) of all connections; pads of equal label are one node."""
    members: dict[int, list[int]] = {}
    for index, pad in enumerate(board.pads):
        if pad.net >= 0 and pad.pin >= 0 and pad.plated and board.nets[pad.net] not in left_out:
            members.setdefault(pad.net, []).append(index)
    return [edge for net, pads in members.items() for edge in _tree(board, net, pads, label)]


def _key(board: Board, index: int) -> tuple[Any, ...]:
    pad = board.pads[index]
    pieces = re.findall(r"\d+|\D+", board.pins[pad.pin].number)
    number = [(0, int(p), p) if p.isdecimal() else (1, 0, p) for p in pieces]
    return pad.x, pad.y, board.parts[pad.part].ref, number, index


def _tree(board: Board, net: int, pads: list[int], label: Sequence[int]) -> list[Edge]:
    keys = {index: _key(board, index) for index in pads}
    order = sorted(
        ((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2, min(a, b), max(a, b))
        for a, b in combinations(keys.values(), 2)
    )
    group = {index: label[index] for index in pads}
    edges = []
    for _, a, b in order:
        one, two = group[a[-1]], group[b[-1]]
        if one != two:
            edges.append((a[0], a[1], b[0], b[1], net))
            group = {index: one if name == two else name for index, name in group.items()}
    return edges


def crossings(edges: Sequence[Edge]) -> int:
    """Pairs of connections of different nets that cross, all pairs looked at.

    Exact in 64 bits for boards under a metre wide.
    """
    if not edges:
        return 0
    table = np.array(edges, dtype=np.int64)
    table[:, :4] -= np.tile(table[:, :2].min(axis=0), 2)
    ax, ay, bx, by, net = (column[:, None] for column in table.T)

    def side(x: Any, y: Any) -> Any:
        return np.sign((bx - ax) * (y - ay) - (by - ay) * (x - ax))

    apart = side(ax.T, ay.T) * side(bx.T, by.T) < 0
    return int((apart & apart.T & (net != net.T)).sum()) // 2
