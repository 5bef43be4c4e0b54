"""A grid over two signal layers: what blocks whom, and the cheapest way through.

A plain maze search (C. Y. Lee, "An algorithm for path connections and its
applications", 1961; with the distance estimate of Hart, Nilsson and Raphael,
1968).  Every grid node knows which net, if any, blocks it for a track of a
given width or for a via; obstacles are painted with exact distances.  A
diagonal step is taken only between nodes whose two common neighbours are free
as well, so the copper between nodes keeps the clearance that the nodes keep.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Iterable
from typing import NamedTuple

from corpus_maker.design import PadDef, Part, mm

STEP = mm(0.25)
CLEARANCE = mm(0.15)
EDGE = mm(0.4)
VIA_SIZE, VIA_DRILL = mm(0.6), mm(0.3)
WIDTHS = (mm(0.2), mm(0.4))

EVERYONE = -1
STRAIGHT, DIAGONAL, AGAINST, BEND, CHANGE = 10, 14, 2, 12, 90
FAR = 1 << 60


class Copper(NamedTuple):
    """A rectangle turned by ``angle`` and grown by ``radius``; half sizes may be 0."""

    x: float
    y: float
    half_w: float
    half_h: float
    angle: float
    radius: float

    def distance(self, x: int, y: int) -> float:
        """From a point to the copper, 0 inside."""
        dx, dy = x - self.x, y - self.y
        if self.angle:
            cos, sin = math.cos(self.angle), math.sin(self.angle)
            dx, dy = dx * cos - dy * sin, dx * sin + dy * cos
        away = math.hypot(max(abs(dx) - self.half_w, 0.0), max(abs(dy) - self.half_h, 0.0))
        return max(away - self.radius, 0.0)

    def reach(self) -> float:
        """Radius of a circle round (x, y) that holds the copper."""
        return math.hypot(self.half_w, self.half_h) + self.radius


def line_copper(x1: int, y1: int, x2: int, y2: int, width: int) -> Copper:
    """The copper of a straight track."""
    angle = -math.atan2(y2 - y1, x2 - x1)
    half = math.hypot(x2 - x1, y2 - y1) / 2
    return Copper((x1 + x2) / 2, (y1 + y2) / 2, half, 0.0, angle, width / 2)


def pad_copper(part: Part, pad: PadDef) -> Copper:
    """The copper (or the bare hole) of a pad; corners are taken as square."""
    x, y = part.place(pad)
    if pad.shape == "circle":
        return Copper(x, y, 0.0, 0.0, 0.0, pad.w / 2)
    return Copper(x, y, pad.w / 2, pad.h / 2, math.radians(part.angle), 0.0)


class Grid:
    """Who blocks which node.  Node = (layer * rows + row) * columns + column."""

    def __init__(self, width: int, height: int) -> None:
        self.columns, self.rows = width // STEP + 1, height // STEP + 1
        self.size = self.columns * self.rows
        self.track = {w: [0] * (2 * self.size) for w in WIDTHS}
        self.via = [0] * self.size
        self.numbers: dict[str, int] = {}
        self.vias: dict[int, str] = {}
        self._edge(width, height)

    def number(self, net: str) -> int:
        """A small number for a net; the nameless one blocks everybody."""
        return self.numbers.setdefault(net, len(self.numbers) + 1) if net else EVERYONE

    def place(self, node: int) -> tuple[int, int]:
        """Where a node is, in nanometres from the board's corner."""
        row, column = divmod(node % self.size, self.columns)
        return column * STEP, row * STEP

    def node(self, layer: int, x: int, y: int) -> int:
        """The node nearest to a point."""
        return (layer * self.rows + round(y / STEP)) * self.columns + round(x / STEP)

    def _edge(self, width: int, height: int) -> None:
        for node in range(self.size):
            x, y = self.place(node)
            room = min(x, y, width - x, height - y)
            if room < EDGE + VIA_SIZE // 2:
                self.via[node] = EVERYONE
            for w, blocked in self.track.items():
                if room < EDGE + w // 2:
                    blocked[node] = blocked[node + self.size] = EVERYONE

    def _near(self, copper: Copper, radius: float) -> Iterable[tuple[int, float]]:
        """Nodes of layer 0 within ``radius`` of the copper, with their distance."""
        reach = copper.reach() + radius
        left, right = (math.ceil((copper.x - reach) / STEP), math.floor((copper.x + reach) / STEP))
        top, low = (math.ceil((copper.y - reach) / STEP), math.floor((copper.y + reach) / STEP))
        for row in range(max(top, 0), min(low, self.rows - 1) + 1):
            for column in range(max(left, 0), min(right, self.columns - 1) + 1):
                away = copper.distance(column * STEP, row * STEP)
                if away < radius:
                    yield row * self.columns + column, away

    def block(
        self, copper: Copper, net: str, layers: Iterable[int], vias_too: bool = False
    ) -> None:
        """Keep everybody but ``net`` away from this copper (``vias_too``: no via of its own)."""
        owner, layers = self.number(net), tuple(layers)
        widest = CLEARANCE + VIA_SIZE // 2
        for node, away in self._near(copper, widest):
            _mark(self.via, node, EVERYONE if vias_too else owner)
            for w, blocked in self.track.items():
                if away < CLEARANCE + w // 2:
                    for layer in layers:
                        _mark(blocked, layer * self.size + node, owner)

    def may_via(self, node: int, net: str) -> bool:
        """Whether a via of the net may stand there."""
        return self.via[node % self.size] in (0, self.number(net))

    def search(
        self,
        net: str,
        width: int,
        starts: Iterable[int],
        goal: Callable[[int], bool],
        estimate: Callable[[int], int],
    ) -> list[int]:
        """Cheapest way from a start to a goal, both ends included; empty if there is none."""
        free, cost, came, queue = self._open(net, width, starts, estimate)
        done: set[int] = set()
        while queue:
            _, node = heapq.heappop(queue)
            if node in done:
                continue
            done.add(node)
            if goal(node):
                return _way_back(came, node)
            before = came[node]
            for after, price in self._steps(node, free, net):
                if after in done:
                    continue
                if before != FAR and after - node != node - before:
                    price += BEND
                price += cost[node]
                if price < cost.get(after, FAR):
                    cost[after], came[after] = price, node
                    heapq.heappush(queue, (price + estimate(after), after))
        return []

    def _open(
        self, net: str, width: int, starts: Iterable[int], estimate: Callable[[int], int]
    ) -> tuple[Callable[[int], bool], dict[int, int], dict[int, int], list[tuple[int, int]]]:
        blocked, number = self.track[width], self.number(net)
        first = sorted(set(starts))
        queue = [(estimate(node), node) for node in first]
        heapq.heapify(queue)

        def free(node: int) -> bool:
            return blocked[node] in (0, number)

        return free, dict.fromkeys(first, 0), dict.fromkeys(first, FAR), queue

    def _steps(self, node: int, free: Callable[[int], bool], net: str) -> Iterable[tuple[int, int]]:
        """Free neighbours and their price; the front prefers to run across, the back along."""
        n, back = self.columns, node >= self.size
        across, along = (STRAIGHT + AGAINST, STRAIGHT) if back else (STRAIGHT, STRAIGHT + AGAINST)
        east, west, south, north = (free(node + d) for d in (1, -1, n, -n))
        if east:
            yield node + 1, across
        if west:
            yield node - 1, across
        if south:
            yield node + n, along
        if north:
            yield node - n, along
        for side, up, step in (
            (east, south, n + 1), (east, north, 1 - n), (west, south, n - 1), (west, north, -n - 1)
        ):  # fmt: skip
            if side and up and free(node + step):
                yield node + step, DIAGONAL
        other = node - self.size if back else node + self.size
        if free(other) and (self.vias.get(node % self.size) == net or self.may_via(node, net)):
            yield other, CHANGE


def _mark(blocked: list[int], node: int, owner: int) -> None:
    if blocked[node] not in (0, owner):
        owner = EVERYONE
    blocked[node] = owner


def _way_back(came: dict[int, int], node: int) -> list[int]:
    way = [node]
    while came[node] != FAR:
        node = came[node]
        way.append(node)
    return way[::-1]
