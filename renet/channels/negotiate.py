"""Every connection its way, without conflicts: rip-up and re-price until all agree.

First each connection, short ones before long, takes the cheapest way that is
free, or, where there is none, one through others.  Then, round by round, those in
conflict are laid anew while what they fight over gets dearer, now and for good
(negotiated congestion: McMurchie and Ebeling 1995, from memory).  At the end the
rest of the conflicts is dissolved: the worst leave, and come back where everything
is free, or are pushed in where those they push out find another way (rip-up and
reroute, common practice).  What finds no way is blocked.  Last, each is laid once more
where all is free, as many a detour is no longer needed.

Who still fights after ``ROUNDS`` or has no way at all may from then on run
against the direction of a layer, at a price, anywhere, and so may whoever then
gets into a fight with them.  With restarts they all may from the start, and all are
laid anew in every round, the more freely as prices start low: slower, and less over
and up, but it finds ways where all is dense.  Most is gained there by pushing, as long as
it takes; :mod:`renet.channels.refine` says how that goes on with room between the tracks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from functools import partial
from typing import NamedTuple

import numpy as np

from renet.channels.occupancy import UNUSED, Occupancy, Use, together
from renet.channels.search import DENSE, LOOSE, STRICT, Fares, Search
from renet.channels.simple import plain_way
from renet.channels.slants import cells_between
from renet.channels.ways import Ends, Prices, Way, Window
from renet.model import NONE

ROUNDS = 7
LOOSE_ROUNDS = 20
FIRST_PRICE, LOOSE_PRICE = 4.0, 10.0
DEARER, LOOSE_DEARER = 1.4, 1.15
RESTART_ROUNDS, RESTART_PRICE, RESTART_DEARER = 30, 0.5, 1.15
MOST_PRICE = 200.0
PAST = 1.0
PATIENCE, LOOSE_PATIENCE = 3, 8
MARGIN = 48
FEW = 50
PUSH_PRICE = 8.0
FADING, FADED = 25, 0.9


class Task(NamedTuple):
    """One connection on the grid."""

    net: int
    ends: tuple[Ends, Ends]
    box: Window


class Pushes(NamedTuple):
    """How many pushes at most, of how many grid points in all, and for nothing per blocked one."""

    most: int
    work: int
    patience: int


SHORT = Pushes(250, 10_000_000, 20)
MIDDLE = Pushes(250, 10_000_000, 20)
LONG = Pushes(10_000, 600_000_000, 40)
"""After the plan over and up; after a restart; to go on with the best plan of all."""


class Laid(NamedTuple):
    """The ways of all tasks (None: blocked), and how many rounds it took."""

    ways: list[Way | None]
    rounds: int


def use_of(way: Way, columns: int, points: int) -> Use:
    """What a way uses; a via stands where it changes layers."""
    cells = np.unique(cells_between(way.nodes, columns, points))
    layer, point = np.divmod(way.nodes, points)
    vias = point[1:][np.diff(layer) != 0]
    stubs = [stub for stub in (way.first, way.last) if stub != NONE]
    kept = np.unique(np.array(stubs, dtype=np.int64))
    return Use(np.unique(way.nodes), cells, np.unique(vias), kept)


class Negotiation:
    """The state of one plan in the making."""

    def __init__(self, search: Search, tasks: list[Task]) -> None:
        self.search, self.tasks = search, tasks
        self.occupancy: Occupancy = search.occupancy
        self.ways: list[Way | None] = [None] * len(tasks)
        self._uses: list[Use] = [UNUSED] * len(tasks)
        self._of_net: dict[int, list[int]] = {}
        for index, task in enumerate(tasks):
            self._of_net.setdefault(task.net, []).append(index)
        self._loose: set[int] = set()
        self._fares = LOOSE
        self._walled: set[tuple[int, bool]] = set()
        self._fights = [0] * len(tasks)
        self._points = len(search.ground.lattice)
        self._past = Prices(
            0.0,
            np.zeros(len(self.occupancy.node_load)),
            np.zeros(len(self.occupancy.cell_load)),
            np.zeros(len(self.occupancy.via_load)),
        )

    def run(self, restarts: int = 0) -> Laid:
        """Lay all tasks; the result is free of conflicts.

        Over and up first, others only where that leaves conflicts; with ``restarts``
        everybody as it comes (:meth:`_restart`), the best of so many times.
        """
        order = self._order()
        done = self._best_restart(order, restarts) if restarts else self._over_and_up(order)
        self._tidy(order)
        return Laid(self.ways, done)

    def go_on(self, laid: Laid) -> Laid:
        """Take up ways that are free of conflicts, and push in what is blocked; never more is."""
        order = self._order()
        self._start_from(laid.ways)
        self._loose.update(order)
        self._fares = DENSE[0]
        self._mend(order, LONG)
        self._tidy(order)
        return Laid(self.ways, laid.rounds)

    def _order(self) -> list[int]:
        """Short ones first."""
        return sorted(range(len(self.tasks)), key=lambda i: (_extent(self.tasks[i].box), i))

    def _over_and_up(self, order: list[int]) -> int:
        for index in order:
            self._with_net_taken(index, self._lay_first)
        done = self._settle(order, ROUNDS)
        stuck = [i for i in order if self._fights[i] or self.ways[i] is None]
        if stuck:
            self._loose.update(stuck)
            for index in stuck:
                if self.ways[index] is None:
                    self._with_net_taken(index, partial(self._lay, price=FIRST_PRICE))
            done += self._settle(order, LOOSE_ROUNDS, loosen=True)
            self._dissolve(order)
            self._mend(order, SHORT)
        return done

    def _best_restart(self, order: list[int], times: int) -> int:
        """Start so many times, who was blocked before the others; the fewest blocked win."""
        done, best, least = 0, self.ways, len(order) + 1
        for turn in range(times):
            done += self._restart(order, DENSE[turn % len(DENSE)])
            out = [i for i in order if self.ways[i] is None]
            if len(out) < least:
                best, least = list(self.ways), len(out)
            if not out:
                break
            order = out + [i for i in order if self.ways[i] is not None]
        self._start_from(best)
        return done

    def _start_from(self, all_: list[Way | None]) -> None:
        for ways in ([None] * len(all_), all_):
            for index, way in enumerate(ways):
                self._with_net_taken(index, partial(self._set, way=way))

    def _restart(self, order: list[int], fares: Fares) -> int:
        """Lay all anew in every round, at prices that start low; how many rounds it took.

        All may run against directions.  Those who are in nobody's way move too, which is what
        :meth:`_settle` lacks where all is dense.
        """
        self._loose.update(order)
        self._fares = fares
        self._forget()
        for index in order:
            self._with_net_taken(index, partial(self._set, way=None))
        price, done = RESTART_PRICE, 0
        while done < RESTART_ROUNDS and (done == 0 or self._fighting(order)):
            for index in order:
                self._with_net_taken(index, partial(self._lay, price=price))
            price = min(price * RESTART_DEARER, MOST_PRICE)
            done += 1
        self._dissolve(order)
        self._mend(order, MIDDLE)
        return done

    def _settle(self, order: list[int], rounds: int, loosen: bool = False) -> int:
        """Lay anew what is in conflict, dearer every round; how many rounds it took.

        One in ``FEW`` may be left over: pushing them in is quicker.
        ``loosen``: whoever is in conflict may run against directions from then on; prices
        then rise more slowly, as what is left over needs many small steps aside.
        """
        price = LOOSE_PRICE if loosen else FIRST_PRICE
        patience, dearer = (LOOSE_PATIENCE, LOOSE_DEARER) if loosen else (PATIENCE, DEARER)
        fighting = self._fighting(order)
        least, since = len(fighting), 0
        for done in range(rounds):
            least, since = min(least, len(fighting)), since + 1 if len(fighting) >= least else 0
            if len(fighting) <= len(order) // FEW or since > patience:
                return done
            if loosen:
                self._loose.update(fighting)
            for index in fighting:
                if self._in_conflict(index):
                    self._with_net_taken(index, partial(self._lay, price=price))
            price = min(price * dearer, MOST_PRICE)
            fighting = self._fighting(order)
        return rounds

    def _forget(self) -> None:
        """What somebody who is gone made dear costs no more than the rest again."""
        for kind in (self._past.nodes, self._past.cells, self._past.vias):
            kind[:] = 0.0

    def _lay_first(self, index: int) -> None:
        task = self.tasks[index]
        way = plain_way(self.search, task.net, task.ends)
        if way is None:
            way = self._find(index, FIRST_PRICE)
        self._set(index, way)

    def _lay(self, index: int, price: float) -> None:
        """A new way for a connection in conflict, or one that had none."""
        self._set(index, self._find(index, price))

    def _find(self, index: int, price: float) -> Way | None:
        """The cheapest way in a window round the connection, else on the whole grid."""
        task = self.tasks[index]
        lattice = self.search.ground.lattice
        prices = self._past._replace(present=price)
        loose = index in self._loose
        self.search.fares = self._fares if loose else STRICT
        if (index, loose) in self._walled:
            return None
        for margin in (MARGIN * self.search.fine, max(lattice.rows, lattice.columns)):
            window = Window(
                max(task.box.top - margin, 0),
                max(task.box.left - margin, 0),
                min(task.box.bottom + margin, lattice.rows),
                min(task.box.right + margin, lattice.columns),
            )
            way = self.search.find(task.net, task.ends, window, prices)
            if way is not None:
                return way
        if np.isfinite(price):
            self._walled.add((index, loose))
        return None

    def _set(self, index: int, way: Way | None) -> None:
        self.ways[index] = way
        columns = self.search.ground.lattice.columns
        self._uses[index] = UNUSED if way is None else use_of(way, columns, self._points)

    def _with_net_taken(self, index: int, act: Callable[[int], None]) -> None:
        """Do something while the occupancy holds all nets but that of the task."""
        net = self.tasks[index].net
        self.occupancy.take(net)
        act(index)
        self.occupancy.put(net, together([self._uses[i] for i in self._of_net[net]]))

    def _fighting(self, among: list[int]) -> list[int]:
        """Which of these are in conflict, in their order; what they fight over is remembered."""
        for index in among:
            net, use = self.tasks[index].net, self._uses[index]
            self.occupancy.lift(net, -1)
            self._fights[index] = self.occupancy.conflicts(use)
            if self._fights[index]:
                self._remember(use)
            self.occupancy.lift(net, 1)
        return [index for index in among if self._fights[index]]

    def _in_conflict(self, index: int) -> bool:
        """Whether a connection still fights: others may have gone out of its way meanwhile."""
        net = self.tasks[index].net
        self.occupancy.lift(net, -1)
        found = self.occupancy.conflicts(self._uses[index]) > 0
        self.occupancy.lift(net, 1)
        return found

    def _remember(self, use: Use) -> None:
        """Nodes and vias in conflict, and ends of stubs in conflict, are dearer from now on."""
        load = self.occupancy
        self._past.nodes[use.nodes[load.node_load[use.nodes] > 0]] += PAST
        self._past.cells[use.cells[load.cell_load[use.cells] > 0]] += PAST
        self._past.vias[use.vias[load.via_load[use.vias] > 0]] += PAST
        hit = use.stubs[load.stub_loads(use.stubs) > 0]
        self._past.nodes[load.stubs.node[hit]] += PAST

    def _dissolve(self, order: list[int]) -> None:
        """Take out the worst until no conflict is left; then lay what is out where it is free."""
        fighting = self._fighting(order)
        while fighting:
            worst = max(fighting, key=lambda i: (self._fights[i], i))
            self._with_net_taken(worst, partial(self._set, way=None))
            self._fights[worst] = 0
            fighting = self._fighting(fighting)
        for index in order:
            if self.ways[index] is None:
                self._with_net_taken(index, partial(self._lay, price=np.inf))

    def _mend(self, order: list[int], pushes: Pushes) -> None:
        """Push blocked connections in, one by one, in favour of those that find another way.

        Who was tried least often comes first; who is out instead of another is tried next, so
        that room is handed on until somebody needs none.  Prices of old fights fade meanwhile.
        """
        tries: Counter[int] = Counter()
        hopeless: set[int] = set()
        least, since = len(order), 0
        for turn in range(min(pushes.most, pushes.work // self._points)):
            out = [i for i in order if self.ways[i] is None and i not in hopeless]
            least, since = (len(out), 0) if len(out) < least else (least, since + 1)
            if not out or since > pushes.patience * len(out):
                return
            index = min(out, key=lambda i: tries[i])
            tries[index] += 1
            if not self._push(index, order):
                hopeless.add(index)
            if turn % FADING == 0:
                for kind in (self._past.nodes, self._past.cells, self._past.vias):
                    kind *= FADED

    def _tidy(self, order: list[int]) -> None:
        """Lay each anew where everything is free, for fewer vias, then for fewer steps."""
        self._forget()
        for index in reversed(order):
            before = self.ways[index]
            if before is not None:
                self._with_net_taken(index, partial(self._lay, price=np.inf))
                after = self.ways[index]
                if after is None or self._size(after) > self._size(before):
                    self._with_net_taken(index, partial(self._set, way=before))

    def _size(self, way: Way) -> tuple[int, int]:
        """(vias, nodes) of a way."""
        return int((np.diff(way.nodes // self._points) != 0).sum()), len(way.nodes)

    def _push(self, index: int, order: list[int]) -> bool:
        """Lay a blocked connection through others and those anew; False where there is no way.

        Undone where more than one of the others finds none; where just one does not, it is
        out instead, and what was fought over is dearer for the next try.
        """
        self._loose.add(index)
        self._with_net_taken(index, partial(self._lay, price=PUSH_PRICE))
        if self.ways[index] is None:
            return False
        victims = [i for i in self._fighting(order) if self.tasks[i].net != self.tasks[index].net]
        before = {i: self.ways[i] for i in victims}
        self._loose.update(victims)
        lost = self._laid_again(victims)
        if len(lost) > 1:
            for i, way in (*dict.fromkeys(victims).items(), (index, None), *before.items()):
                self._with_net_taken(i, partial(self._set, way=way))
        return True

    def _laid_again(self, those: list[int]) -> list[int]:
        """Lay some anew where everything is free, one after the other, until two find no way.

        Those who found none.
        """
        for index in those:
            self._with_net_taken(index, partial(self._set, way=None))
        lost: list[int] = []
        for index in those:
            self._with_net_taken(index, partial(self._lay, price=np.inf))
            if self.ways[index] is None:
                lost.append(index)
            if len(lost) > 1:
                break
        return lost


def _extent(box: Window) -> int:
    return box.bottom - box.top + box.right - box.left
