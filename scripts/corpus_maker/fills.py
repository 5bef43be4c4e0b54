"""Fills of copper areas, on the router's grid: what stays clear of foreign copper.

A cell of the grid is filled when its four corners keep their distance.  Filled
cells that hang together make one polygon; holes are joined to the rim by a slit
without width, as board files want it.
"""

from __future__ import annotations

from collections.abc import Iterable

from corpus_maker.design import Design, Zone, mm
from corpus_maker.grid import STEP, Copper, line_copper, pad_copper

GAP = mm(0.2)
STROKE = mm(0.25)
"""Older versions draw a fill with a pen of this width; newer ones do not.  The
clearance below leaves room for the pen in both."""

Node = tuple[int, int]
Cell = tuple[int, int]


def pour(design: Design, net: str, layer: int, name: str, inset: int = mm(0.5)) -> Zone:
    """A zone over the whole board on a copper layer (0 front, -1 back), filled."""
    width, height = design.size
    rim = ((inset, inset), (width - inset, inset), (width - inset, height - inset))
    outline = (*rim, (inset, height - inset))
    columns, rows = range(2, width // STEP - 2), range(2, height // STEP - 2)
    cells = {(c, r) for c in columns for r in rows}
    for copper, grow in _foreign(design, net, layer):
        cells -= _covered(copper, grow)
    pins = _anchors(design, net, layer)
    fills = [
        tuple((c * STEP, r * STEP) for c, r in _ring(island))
        for island in _islands(cells)
        if island & pins
    ]
    return Zone(name, net, layer, outline, tuple(sorted(fills)))


def _foreign(design: Design, net: str, layer: int) -> Iterable[tuple[Copper, int]]:
    """All copper on the layer that is not the net's, with the distance to keep."""
    grow = GAP + STROKE // 2
    outer = layer in (0, -1)
    for part in design.parts:
        for pad in part.kind.outline.pads:
            on = pad.kind != "smd" or (outer and part.back == (layer == -1))
            if on and (design.net_of(part, pad.number) != net or not pad.number):
                yield pad_copper(part, pad), grow
    for via in design.vias:
        if via.net != net:
            yield Copper(via.x, via.y, 0, 0, 0, via.size / 2), grow
    for track in design.tracks:
        if track.layer == layer and track.net != net:
            yield line_copper(*track[2:]), grow
    for zone in design.zones:
        if zone.kind == "keepout" and zone.layer == layer:
            (x0, y0), (x1, y1) = zone.outline[0], zone.outline[2]
            yield Copper((x0 + x1) / 2, (y0 + y1) / 2, (x1 - x0) / 2, (y1 - y0) / 2, 0, 0), grow


def _covered(copper: Copper, grow: int) -> set[Cell]:
    """Cells with a corner nearer than ``grow`` to the copper."""
    reach = copper.reach() + grow
    left, right = int((copper.x - reach) // STEP), int((copper.x + reach) // STEP) + 1
    top, low = int((copper.y - reach) // STEP), int((copper.y + reach) // STEP) + 1
    return {
        cell
        for c in range(left, right + 1)
        for r in range(top, low + 1)
        if copper.distance(c * STEP, r * STEP) < grow
        for cell in ((c, r), (c - 1, r), (c, r - 1), (c - 1, r - 1))
    }


def _anchors(design: Design, net: str, layer: int) -> set[Cell]:
    """Cells under the net's own vias and pads: an island without one is not kept."""
    places = [(v.x, v.y) for v in design.vias if v.net == net]
    for part, pad in design.pads_of(net):
        if pad.kind != "smd" or (layer in (0, -1) and part.back == (layer == -1)):
            places.append(part.place(pad))
    return {(x // STEP, y // STEP) for x, y in places}


def _islands(cells: set[Cell]) -> list[set[Cell]]:
    """Cells that hang together by their sides."""
    left, islands = set(cells), []
    for first in sorted(cells):
        if first not in left:
            continue
        left.remove(first)
        island, edge = {first}, [first]
        while edge:
            c, r = edge.pop()
            for near in ((c + 1, r), (c - 1, r), (c, r + 1), (c, r - 1)):
                if near in left:
                    left.remove(near)
                    island.add(near)
                    edge.append(near)
        islands.append(island)
    return islands


def _loops(cells: set[Cell]) -> list[list[Node]]:
    """Boundary loops, filled cells on the right of the way; corners only."""
    ways: dict[Node, list[Node]] = {}
    for c, r in cells:
        for a, b, beyond in (
            ((c, r), (c + 1, r), (c, r - 1)),
            ((c + 1, r), (c + 1, r + 1), (c + 1, r)),
            ((c + 1, r + 1), (c, r + 1), (c, r + 1)),
            ((c, r + 1), (c, r), (c - 1, r)),
        ):
            if beyond not in cells:
                ways.setdefault(a, []).append(b)
    loops = []
    for start in sorted(ways):
        while ways[start]:
            loops.append(_follow(ways, start))
    return loops


def _follow(ways: dict[Node, list[Node]], start: Node) -> list[Node]:
    """One loop; where two meet in a corner, turn towards the filled side."""
    loop, at, heading = [start], start, (0, 0)
    while True:
        choices = ways[at]
        turn = (-heading[1], heading[0])
        wanted = (at[0] + turn[0], at[1] + turn[1])
        after = wanted if len(choices) > 1 and wanted in choices else min(choices)
        choices.remove(after)
        new = (after[0] - at[0], after[1] - at[1])
        if new == heading:
            loop.pop()
        loop.append(after)
        at, heading = after, new
        if at == start:
            return loop[:-1]


def _ring(cells: set[Cell]) -> list[Node]:
    """The outline of an island, its holes joined to it from the left."""
    loops = sorted(_loops(cells), key=min)
    ring = loops[0]
    for hole in loops[1:]:
        first = hole.index(min(hole))
        hole = [*hole[first:], *hole[: first + 1]]
        index, mouth = _mouth(ring, hole[0])
        ring[index:index] = [mouth, *hole, mouth]
    return _tidy(ring)


def _mouth(ring: list[Node], tip: Node) -> tuple[int, Node]:
    """Where the slit from a hole's leftmost corner meets the ring."""
    best, found = -1, (0, tip)
    for i, (a, b) in enumerate(zip(ring, [*ring[1:], ring[0]], strict=True)):
        low, high = sorted((a[1], b[1]))
        if a[0] == b[0] and best < a[0] <= tip[0] and low <= tip[1] <= high:
            best, found = a[0], (i + 1, (a[0], tip[1]))
    return found


def _tidy(ring: list[Node]) -> list[Node]:
    """Without repeated points."""
    return [node for i, node in enumerate(ring) if node != ring[i - 1]]
