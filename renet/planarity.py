"""Could the open connections be drawn on one layer at all, with the pins where they are?

Every part is a wheel: its connected pins in order round its rim, tied to a hub.
A wheel keeps the order of its rim but not the sense of rotation, so "planar" is
a necessary condition and no promise, while "not planar" is certain: some net
has to leave the layer or pass through a part.

Method: planarity by networkx (left-right test), the conflict by bisection over
the connections; longest increasing subsequence for two rows that face each other;
largest set of chords that do not cross for one rim (K. Supowit, "Finding a
maximum planar subset of a set of nets in a channel", IEEE Trans. CAD 6(1), 1987,
from memory); layers by greedy colouring, most saturated first.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from typing import NamedTuple

import networkx as nx

from renet.model import Board
from renet.tangle import Tangle

MAX_CHORDS = 400

Edge = tuple[int, int, int]


class Planarity(NamedTuple):
    """``conflict``: nets of a subgraph that cannot be drawn flat (sorted; empty if planar).

    ``layers``: so many layers are enough for straight connections without a
    crossing (an upper bound; 0 without connections).
    """

    planar: bool
    conflict: tuple[str, ...]
    layers: int


class Facing(NamedTuple):
    """Two parts with connections between them: ``leave`` of ``nets`` must change layer."""

    a: str
    b: str
    nets: int
    leave: int


def planarity(board: Board, tangle: Tangle) -> Planarity:
    """The verdict for all open connections together."""
    edges = _edges(board, tangle)
    conflict = _conflict(_wheels(board, edges), edges)
    nets = sorted({board.nets[net] for net, _, _ in conflict})
    return Planarity(not conflict, tuple(nets), _layers(tangle))


def _conflict(wheels: nx.Graph, edges: Sequence[Edge]) -> list[Edge]:
    """Connections that cannot be drawn together, none of which can be spared; [] if all can.

    The last connection of the shortest prefix that is not planar belongs to the
    conflict; with it kept, the search goes on in what stands before it.
    """
    kept: list[Edge] = []
    rest = list(edges)
    if _flat(wheels, rest):
        return []
    while _flat(wheels, kept):
        low, high = 1, len(rest)
        while low < high:
            middle = (low + high) // 2
            if _flat(wheels, kept + rest[:middle]):
                low = middle + 1
            else:
                high = middle
        kept.append(rest[low - 1])
        rest = rest[: low - 1]
    return kept


def _flat(wheels: nx.Graph, edges: Sequence[Edge]) -> bool:
    graph = wheels.copy()
    graph.add_edges_from((one, two) for _, one, two in edges)
    return bool(nx.check_planarity(graph)[0])


def facing(board: Board, tangle: Tangle) -> list[Facing]:
    """Pairs of parts joined by two connections or more, those with most to leave first.

    Both rows are read along the direction across the line between the parts'
    centres; the nets that keep their order are a longest increasing
    subsequence, the others must leave the layer.  A part joined to itself is one
    rim, and a largest set of chords that do not cross stays.
    """
    pairs: dict[tuple[int, int], list[tuple[int, int]]] = {}
    found = tangle.connections
    for a, b in zip(found.a.tolist(), found.b.tolist(), strict=True):
        one, two = board.pads[a].part, board.pads[b].part
        ends = (a, b) if one <= two else (b, a)
        pairs.setdefault((min(one, two), max(one, two)), []).append(ends)
    result = []
    for (one, two), joined in pairs.items():
        if 1 < len(joined) <= MAX_CHORDS:
            rows = one != two
            stay = (
                increasing(_crosswise(board, one, two, joined)) if rows else _chords(board, joined)
            )
            leave = len(joined) - stay
            result.append(Facing(board.parts[one].ref, board.parts[two].ref, len(joined), leave))
    return sorted(result, key=lambda pair: (-pair.leave, -pair.nets, pair.a, pair.b))


def increasing(values: Sequence[int]) -> int:
    """The length of a longest strictly increasing subsequence."""
    tails: list[int] = []
    for value in values:
        place = bisect_left(tails, value)
        tails[place : place + 1] = [value]
    return len(tails)


def flat_chords(chords: Sequence[tuple[int, int]]) -> int:
    """The size of a largest set of chords of one circle that do not cross.

    Ends are places round the circle, all different.
    """
    if len(chords) > MAX_CHORDS:
        raise ValueError(f"more than {MAX_CHORDS} chords")
    order = {place: index for index, place in enumerate(sorted(p for c in chords for p in c))}
    count = len(order)
    mate = [0] * count
    for one, two in chords:
        mate[order[one]], mate[order[two]] = order[two], order[one]
    best = [[0] * (count + 1) for _ in range(count + 2)]
    for last in range(count):
        other = mate[last]
        for first in range(last - 1, -1, -1):
            without = best[first][last - 1] if last else 0
            taken = 0
            if first <= other < last:
                before = best[first][other - 1] if other > first else 0
                within = best[other + 1][last - 1] if other + 1 < last else 0
                taken = before + within + 1
            best[first][last] = max(without, taken)
    return best[0][count - 1] if count else 0


def _edges(board: Board, tangle: Tangle) -> list[Edge]:
    """(net, pin, pin) of every open connection between two pins."""
    found = tangle.connections
    rows = zip(found.net.tolist(), found.a.tolist(), found.b.tolist(), strict=True)
    edges = [(net, board.pads[a].pin, board.pads[b].pin) for net, a, b in rows]
    return [edge for edge in edges if edge[1] != edge[2]]


def _wheels(board: Board, edges: Sequence[Edge]) -> nx.Graph:
    """Every part with open connections: a hub, and its connected pins in a ring round it."""
    graph = nx.Graph()
    rims: dict[int, set[int]] = {}
    for _, *pins in edges:
        for pin in pins:
            rims.setdefault(board.pins[pin].part, set()).add(pin)
    for part, members in sorted(rims.items()):
        rim = _rim(board, part, members)
        ring = zip(rim, rim[1:] + rim[:1], strict=True)
        graph.add_edges_from((pin, following) for pin, following in ring if pin != following)
        graph.add_edges_from((("hub", part), pin) for pin in rim)
    return graph


def _rim(board: Board, part: int, pins: set[int]) -> list[int]:
    """Pins in order round the part: each goes out through the nearest side of the pad box.

    So an inner ball of a grid stands where its net leaves the grid.
    """
    x0, y0, x1, y1 = _pad_box(board, part)
    centre = (x0 + x1) / 2, (y0 + y1) / 2

    def place(pin: int) -> tuple[float, int]:
        pad = board.pads[board.pins[pin].pads[0]]
        _, x, y = min(
            (pad.x - x0, x0, pad.y),
            (x1 - pad.x, x1, pad.y),
            (pad.y - y0, pad.x, y0),
            (y1 - pad.y, pad.x, y1),
        )
        return math.atan2(y - centre[1], x - centre[0]), pin

    return [pin for _, pin in sorted(place(pin) for pin in pins)]


def _chords(board: Board, joined: Sequence[tuple[int, int]]) -> int:
    """How many connections of one part to itself can be drawn round or inside its rim, flat."""
    pins = [(board.pads[a].pin, board.pads[b].pin) for a, b in joined]
    part = board.pads[joined[0][0]].part
    place = {
        pin: index for index, pin in enumerate(_rim(board, part, {p for c in pins for p in c}))
    }
    ends = sorted((place[pin], chord) for chord, both in enumerate(pins) for pin in both)
    taken: dict[int, list[int]] = {}
    for index, (_, chord) in enumerate(ends):  # several ends at one pin stand side by side
        taken.setdefault(chord, []).append(index)
    return flat_chords([(first, last) for first, last in taken.values()])


def _pad_box(board: Board, part: int) -> tuple[int, int, int, int]:
    """x0, y0, x1, y1 of the pads' positions."""
    pads = [board.pads[pad] for pad in board.parts[part].pads]
    xs, ys = [pad.x for pad in pads], [pad.y for pad in pads]
    return min(xs), min(ys), max(xs), max(ys)


def _crosswise(board: Board, one: int, two: int, ends: Sequence[tuple[int, int]]) -> list[int]:
    """The order of the ends on part ``two`` when those on ``one`` are read in order."""
    a, b = _pad_box(board, one), _pad_box(board, two)
    dx, dy = b[0] + b[2] - a[0] - a[2], b[1] + b[3] - a[1] - a[3]

    def across(pad: int) -> tuple[int, int]:
        entry = board.pads[pad]
        return entry.y * dx - entry.x * dy, pad

    first = sorted(ends, key=lambda pair: across(pair[0]))
    rank = {pad: index for index, pad in enumerate(sorted({e[1] for e in ends}, key=across))}
    return [rank[pair[1]] for pair in first]


def _layers(tangle: Tangle) -> int:
    if not len(tangle.connections):
        return 0
    graph = nx.Graph()
    graph.add_nodes_from(range(len(tangle.connections)))
    graph.add_edges_from(tangle.crossings.tolist())
    graph.add_edges_from(tangle.overlaps.tolist())
    colours = nx.greedy_color(graph, strategy="saturation_largest_first")
    return 1 + max(int(colour) for colour in colours.values())
