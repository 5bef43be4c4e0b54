"""A plan in the making: the way of every connection, who is in whose way, and what that costs."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from renet.channels.occupancy import UNUSED, Occupancy, Use, together
from renet.channels.search import LOOSE, STRICT, Search
from renet.channels.simple import plain_way
from renet.channels.slants import cells_between
from renet.channels.ways import Ends, Prices, Way, Window
from renet.model import NONE

PAST = 1.0
MARGIN = 48


class Task(NamedTuple):
    """One connection on the grid."""

    net: int
    ends: tuple[Ends, Ends]
    box: Window


def use_of(way: Way, columns: int, points: int) -> Use:
    """What a way uses; a via stands where it changes layers."""
    cells = np.unique(cells_between(way.nodes, columns, points))
    layer, point = np.divmod(way.nodes, points)
    vias = point[1:][np.diff(layer) != 0]
    stubs = [stub for stub in (way.first, way.last) if stub != NONE]
    kept = np.unique(np.array(stubs, dtype=np.int64))
    return Use(np.unique(way.nodes), cells, np.unique(vias), kept)


class Draft:
    """The ways of all tasks, none at first; those of different nets may be in conflict.

    The occupancy of the search is that of the draft from then on.  ``ways`` holds None where a
    task has none; ``fights`` says in how many places each was in conflict when
    :meth:`fighting` was last asked.  ``order`` is that in which they are laid, at first short
    ones before long; ``looked`` counts the ways looked for.  Loose tasks may run against
    directions, at ``fares``.
    """

    def __init__(self, search: Search, tasks: list[Task]) -> None:
        self.tasks = tasks
        self.ways: list[Way | None] = [None] * len(tasks)
        self.fights = [0] * len(tasks)
        self.order = sorted(range(len(tasks)), key=lambda i: (_extent(tasks[i].box), i))
        self.looked, self.fares = 0, LOOSE
        self._search = search
        self._occupancy: Occupancy = search.occupancy
        self._uses: list[Use] = [UNUSED] * len(tasks)
        self._of_net: dict[int, list[int]] = {}
        for index, task in enumerate(tasks):
            self._occupancy.take(task.net)
            self._of_net.setdefault(task.net, []).append(index)
        self._loose: set[int] = set()
        self._walled: set[tuple[int, bool]] = set()
        self._past = Prices(
            0.0,
            np.zeros(len(self._occupancy.node_load)),
            np.zeros(len(self._occupancy.cell_load)),
            np.zeros(len(self._occupancy.via_load)),
        )

    @property
    def points(self) -> int:
        """How many points the grid has."""
        return len(self._search.ground.lattice)

    def blocked(self) -> list[int]:
        """Which have no way, in their order."""
        return [index for index in self.order if self.ways[index] is None]

    def size(self, way: Way) -> tuple[int, int]:
        """(vias, nodes) of a way."""
        return int((np.diff(way.nodes // self.points) != 0).sum()), len(way.nodes)

    def loosen(self, those: list[int]) -> None:
        """These may run against directions from now on."""
        self._loose.update(those)

    def lay(self, index: int, price: float) -> None:
        """A new way at so much for whatever is in the way of others; infinite: through none."""
        self._occupancy.take(self.tasks[index].net)
        self.put(index, self._find(index, price))

    def lay_first(self, index: int, price: float) -> None:
        """A way with at most two corners where one is free; else as :meth:`lay`."""
        task = self.tasks[index]
        self._occupancy.take(task.net)
        way = plain_way(self._search, task.net, task.ends)
        self.put(index, self._find(index, price) if way is None else way)

    def put(self, index: int, way: Way | None) -> None:
        """Take up a way, or none."""
        self.ways[index] = way
        columns, net = self._search.ground.lattice.columns, self.tasks[index].net
        self._uses[index] = UNUSED if way is None else use_of(way, columns, self.points)
        self._occupancy.put(net, together([self._uses[i] for i in self._of_net[net]]))

    def take_up(self, ways: list[Way | None]) -> None:
        """All ways become these."""
        changed = [index for index, way in enumerate(ways) if way is not self.ways[index]]
        for index in changed:
            self.put(index, None)
        for index in changed:
            self.put(index, ways[index])

    def fighting(self, among: list[int]) -> list[int]:
        """Which of these are in conflict, in their order; what they fight over is dearer then."""
        for index in among:
            self.fights[index] = self._conflicts(index, remember=True)
        return [index for index in among if self.fights[index]]

    def in_conflict(self, index: int) -> bool:
        """Whether one is in conflict now."""
        return self._conflicts(index, remember=False) > 0

    def lay_anew(self, fighting: list[int], price: float) -> None:
        """Lay these, but for those out of whose way others have gone meanwhile."""
        for index in fighting:
            if self.in_conflict(index):
                self.lay(index, price)

    def fade(self, left: float) -> None:
        """What old fights made dear costs only so much of it more than the rest."""
        for kind in (self._past.nodes, self._past.cells, self._past.vias):
            kind *= left

    def _find(self, index: int, price: float) -> Way | None:
        """The cheapest way in a window round the connection, else on the whole grid."""
        self.looked += 1
        task = self.tasks[index]
        lattice = self._search.ground.lattice
        prices = self._past._replace(present=price)
        loose = index in self._loose
        self._search.fares = self.fares if loose else STRICT
        if (index, loose) in self._walled:
            return None
        for margin in (MARGIN * self._search.fine, max(lattice.rows, lattice.columns)):
            window = Window(
                max(task.box.top - margin, 0),
                max(task.box.left - margin, 0),
                min(task.box.bottom + margin, lattice.rows),
                min(task.box.right + margin, lattice.columns),
            )
            way = self._search.find(task.net, task.ends, window, prices)
            if way is not None:
                return way
        if np.isfinite(price):
            self._walled.add((index, loose))
        return None

    def _conflicts(self, index: int, remember: bool) -> int:
        net, use = self.tasks[index].net, self._uses[index]
        self._occupancy.lift(net, -1)
        found = self._occupancy.conflicts(use)
        if found and remember:
            self._remember(use)
        self._occupancy.lift(net, 1)
        return found

    def _remember(self, use: Use) -> None:
        """Nodes and vias in conflict, and ends of stubs in conflict, are dearer from now on."""
        load = self._occupancy
        self._past.nodes[use.nodes[load.node_load[use.nodes] > 0]] += PAST
        self._past.cells[use.cells[load.cell_load[use.cells] > 0]] += PAST
        self._past.vias[use.vias[load.via_load[use.vias] > 0]] += PAST
        hit = use.stubs[load.stub_loads(use.stubs) > 0]
        self._past.nodes[load.stubs.node[hit]] += PAST


def _extent(box: Window) -> int:
    return box.bottom - box.top + box.right - box.left
