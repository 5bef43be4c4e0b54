"""Small engine problems: pads on a coarse grid, so that ties, overlaps and over-pads abound."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

import numpy as np
from hypothesis import strategies as st

from renet.columns import PadColumns
from renet.engine.problem import Group, Problem

MM = 1_000_000
FRONT, BACK, BOTH = 1, 2, 3


@dataclass
class Sketch:
    """A board under construction; ``pin`` gives back the new pin's id."""

    net: list[int] = field(default_factory=list)
    pads: list[tuple[int, int, int, int, int]] = field(default_factory=list)
    groups: list[Group] = field(default_factory=list)
    labels: dict[int, int] = field(default_factory=dict)

    def pin(self, x: int, y: int, net: int, *, half: int = MM // 4, side: int = BOTH) -> int:
        """A pin with one square pad."""
        pin = len(self.net)
        self.net.append(net)
        self.pads.append((x, y, pin, half, side))
        return pin

    def pad(self, pin: int, x: int, y: int, *, half: int = MM // 4, side: int = BOTH) -> None:
        """One more pad of a pin."""
        self.pads.append((x, y, pin, half, side))

    def problem(
        self, weight: dict[int, int] | None = None, inactive: frozenset[int] = frozenset()
    ) -> Problem:
        """The engine's view of it."""
        nets = max([*self.net, *(weight or {}), 0]) + 1
        weights = np.full(nets, 1000, dtype=np.int64)
        for net, factor in (weight or {}).items():
            weights[net] = factor
        labels = np.array([self.labels.get(i, i) for i in range(len(self.pads))], dtype=np.int64)
        pads: list[list[int]] = [[] for _ in self.net]
        for i, (_, _, pin, _, _) in enumerate(self.pads):
            pads[pin].append(i)
        return Problem(
            columns(self.pads),
            np.array(self.net, dtype=np.int64),
            tuple(map(tuple, pads)),
            labels,
            np.array([net not in inactive for net in range(nets)], dtype=bool),
            weights,
            tuple(self.groups),
        )


def columns(pads: list[tuple[int, int, int, int, int]]) -> PadColumns:
    """Columns of square pads (x, y, pin, half a side, board sides)."""
    x, y, pin, half, side = (np.array(c, dtype=np.int64) for c in zip(*pads, strict=True))
    count = len(pads)
    rank = np.empty(count, dtype=np.int64)
    rank[np.lexsort((np.arange(count), y, x))] = np.arange(count)
    corners = [np.stack([x + u * half, y + v * half], axis=1) for u, v in CORNERS]
    every = np.ones(count, dtype=bool)
    return PadColumns(x, y, pin, rank, every, side == BOTH, side, np.stack(corners, axis=1))


CORNERS = ((-1, -1), (1, -1), (1, 1), (-1, 1))


def group(sites: list[tuple[int, ...]], price: int = 5 * MM, **more: object) -> Group:
    """A group with one price for all its sites."""
    table = np.array(sites, dtype=np.int64).reshape(len(sites), -1)
    return Group(table, np.full(len(sites), price, dtype=np.int64), **more)  # type: ignore[arg-type]


@st.composite
def problems(draw: st.DrawFn, most_sites: int = 5) -> Problem:
    """One or two pools with spare pins, fixed pins, nets of two pins and of more, weights."""
    sketch = Sketch()
    nets = draw(st.integers(1, 6))
    spots = [(x * MM, y * MM) for x in range(6) for y in range(6)]
    places = iter(draw(st.permutations(spots)))
    some_net = st.integers(-1, nets - 1)
    for number in range(draw(st.integers(1, 2))):
        sites = []
        for _ in range(draw(st.integers(2, most_sites if number == 0 else 3))):
            sites.append((sketch.pin(*next(places), draw(some_net)),))
        sketch.groups.append(group(sites, price=draw(st.sampled_from([0, MM, 5 * MM]))))
    for net in range(nets):
        for _ in range(draw(st.integers(1, 2))):
            sketch.pin(*next(places), net, side=draw(st.sampled_from([FRONT, BACK, BOTH])))
    weight = draw(st.dictionaries(st.integers(0, nets - 1), st.sampled_from([1, 500, 4000])))
    inactive = draw(st.sets(st.integers(0, nets - 1), max_size=1))
    return sketch.problem({0: 1000} | weight, frozenset(inactive))


@st.composite
def facing_rows(draw: st.DrawFn) -> Problem:
    """Units in a row, spare ones among them, and all their nets' other pins in a row opposite."""
    sketch = Sketch()
    width, count = draw(st.integers(1, 3)), draw(st.integers(2, 6))
    carried = draw(st.lists(st.booleans(), min_size=width * count, max_size=width * count))
    nets = itertools.count()
    stacked = draw(st.booleans())
    sites = []
    for place in range(count):
        x = [place * width + (0 if stacked else k) for k in range(width)]
        live = carried[place * width : (place + 1) * width]
        sites.append(
            tuple(
                sketch.pin(at * MM, 0, next(nets) if has else -1)
                for at, has in zip(x, live, strict=True)
            )
        )
    for net in range(next(nets)):
        sketch.pin(draw(st.integers(0, width * count)) * MM, 9 * MM, net)
    if draw(st.booleans()):
        sketch.pin(0, 5 * MM, next(nets))
        sketch.pin(9 * MM, 5 * MM, max(sketch.net))
    sketch.groups.append(group(sites, price=draw(st.sampled_from([0, MM])), reversible=stacked))
    return sketch.problem(draw(st.sampled_from([None, {0: 4000}, {1: 500, 2: 3000}])))
