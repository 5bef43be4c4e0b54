"""Lays tracks, net by net, without touching foreign copper, and hands them to the design."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from corpus_maker.design import Design, PadDef, Part, Track, Via
from corpus_maker.grid import (
    DIAGONAL,
    STRAIGHT,
    VIA_DRILL,
    VIA_SIZE,
    WIDTHS,
    Copper,
    Grid,
    line_copper,
    pad_copper,
)


class Router:
    """Routes the nets of one design, but for the pads of ``late`` parts."""

    def __init__(self, design: Design, late: frozenset[str] = frozenset()) -> None:
        self.design = design
        self.late = late
        self.grid = Grid(*design.size)
        self.trees: dict[str, set[int]] = {}
        self.steps: dict[tuple[str, int], set[tuple[int, int]]] = {}
        for part in design.parts:
            for pad in part.kind.outline.pads:
                net = private_net(design, part, pad) if pad.number else ""
                self.grid.block(pad_copper(part, pad), net, sides(part, pad), vias_too=True)
        for track in design.tracks:
            self.grid.block(line_copper(*track[2:]), track.net, (-track.layer,))

    def join(self, net: str, width: int = WIDTHS[0]) -> list[str]:
        """Route a net pad by pad, nearest first; the pads that could not be reached."""
        left = [one for one in self.design.pads_of(net) if one[0].ref not in self.late]
        tree = self.trees.setdefault(net, set())
        if not tree:
            tree.update(self._enter(*left.pop(0), width))
        lost: list[str] = []
        while left:
            left.sort(key=lambda one: self._away(tree, one))
            part, pad = left.pop(0)
            goals = set(self._nodes(part, pad))
            if goals & tree:
                continue
            way = self.grid.search(net, width, tree, goals.__contains__, self._estimate(goals))
            if way:
                self._enter(part, pad, width)
                self._keep(net, width, way)
            else:
                lost.append(f"{part.ref}.{pad.number}")
        return lost

    def drop(
        self, net: str, part: Part, pad: PadDef, width: int, where: Callable[[int, int], bool]
    ) -> bool:
        """A short track from a pad to a via of its net, new or old, in a permitted place."""

        def goal(node: int) -> bool:
            ours = self.grid.vias.get(node % self.grid.size) == net
            return (ours or self.grid.may_via(node, net)) and where(*self.grid.place(node))

        starts = self._nodes(part, pad)
        way = self.grid.search(net, width, starts, goal, lambda node: 0)
        if not way:
            return False
        self._enter(part, pad, width)
        self._keep(net, width, way)
        self._add_via(net, way[-1] % self.grid.size)
        return True

    def finish(self) -> None:
        """Hand over all tracks, straight runs joined into one."""
        for (net, width), steps in sorted(self.steps.items()):
            for a, b in _runs(steps, self._fixed(net)):
                layer = -(a // self.grid.size)
                ends = (*self.grid.place(a), *self.grid.place(b))
                self.design.tracks.append(Track(net, layer, *ends, width))

    def _fixed(self, net: str) -> set[int]:
        """Nodes where a run has to end: vias and pads of the net."""
        fixed = {node for node, owner in self.grid.vias.items() if owner == net}
        fixed |= {node + self.grid.size for node in fixed}
        for part, pad in self.design.pads_of(net):
            fixed.update(self._nodes(part, pad))
        return fixed

    def _nodes(self, part: Part, pad: PadDef) -> list[int]:
        return [self.grid.node(layer, *part.place(pad)) for layer in sides(part, pad)]

    def _away(self, tree: set[int], one: tuple[Part, PadDef]) -> tuple[int, str, str]:
        x, y = one[0].place(one[1])
        places = (self.grid.place(node) for node in tree)
        return min(abs(x - px) + abs(y - py) for px, py in places), one[0].ref, one[1].number

    def _estimate(self, goals: set[int]) -> Callable[[int], int]:
        columns, size = self.grid.columns, self.grid.size
        row, column = divmod(min(goals) % size, columns)

        def estimate(node: int) -> int:
            r, c = divmod(node % size, columns)
            short, long = sorted((abs(r - row), abs(c - column)))
            return DIAGONAL * short + STRAIGHT * (long - short)

        return estimate

    def _enter(self, part: Part, pad: PadDef, width: int) -> list[int]:
        """Stubs between a pad's centre and its nodes, where they differ; the nodes."""
        net = private_net(self.design, part, pad)
        nodes = self._nodes(part, pad)
        place = part.place(pad)
        at = self.grid.place(nodes[0])
        if at != place:
            for node in nodes:
                stub = Track(net, -(node // self.grid.size), *place, *at, min(width, pad.w, pad.h))
                if stub not in self.design.tracks:
                    self.design.tracks.append(stub)
        return nodes

    def _keep(self, net: str, width: int, way: list[int]) -> None:
        self.trees.setdefault(net, set()).update(way)
        size = self.grid.size
        for a, b in pairwise(way):
            if abs(a - b) == size:
                self._add_via(net, a % size)
                continue
            self.steps.setdefault((net, width), set()).add((min(a, b), max(a, b)))
            copper = line_copper(*self.grid.place(a), *self.grid.place(b), width)
            self.grid.block(copper, net, (a // size,))

    def _add_via(self, net: str, node: int) -> None:
        if self.grid.vias.setdefault(node, net) == net:
            x, y = self.grid.place(node)
            via = Via(net, x, y, VIA_SIZE, VIA_DRILL)
            if via in self.design.vias:
                return
            self.design.vias.append(via)
            copper = Copper(x, y, 0.0, 0.0, 0.0, VIA_SIZE / 2)
            self.grid.block(copper, net, (0, 1), vias_too=True)


def sides(part: Part, pad: PadDef) -> tuple[int, ...]:
    """Signal layers a pad (or hole) is on: 0 the front, 1 the back."""
    if pad.kind != "smd":
        return (0, 1)
    return (1,) if part.back else (0,)


def private_net(design: Design, part: Part, pad: PadDef) -> str:
    """The net of a pad, or the name that stands for an open pin's own net."""
    return design.net_of(part, pad.number) or f"?{part.ref}.{pad.number}"


def _runs(steps: set[tuple[int, int]], fixed: set[int]) -> list[tuple[int, int]]:
    """Unit steps joined into the longest straight pieces that pass no junction."""
    ways: dict[int, list[int]] = {}
    for a, b in sorted(steps):
        ways.setdefault(a, []).append(b)
        ways.setdefault(b, []).append(a)

    def through(node: int) -> bool:
        ends = ways[node]
        return len(ends) == 2 and node not in fixed and ends[0] - node == node - ends[1]

    runs: list[tuple[int, int]] = []
    for start in sorted(ways):
        if through(start):
            continue
        for after in ways[start]:
            before, end = start, after
            while through(end):
                before, end = end, 2 * end - before
            if start < end:
                runs.append((start, end))
    return runs
