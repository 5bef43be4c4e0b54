"""Single exchanges on a finished board, and what each would do to two nets and to all.

An **exchange** is one of :mod:`renet.engine.moves`: the nets of two sites of a
group trade places, each in any of its ways, or the nets of one site are laid
another way.  It **parts** two nets when they then cross less often than now.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from renet.engine.counts import CROSSING
from renet.engine.ground import lay_out
from renet.engine.moves import Moves
from renet.engine.overpads import Outlines
from renet.engine.problem import Problem
from renet.engine.seats import Seats, seats_of
from renet.engine.state import State
from renet.engine.table import BANNED
from renet.geometry import crosses
from renet.grid import blocks
from renet.model import BoolArray, IntArray


class Exchange(NamedTuple):
    """Moved pins with their new nets; ``saves`` weighted crossings of the board, in thousandths.

    ``number`` tells exchanges of one board apart.
    """

    number: int
    pins: IntArray
    nets: IntArray
    saves: int


class _Met(NamedTuple):
    """How often a net crosses others, each with a ``column``, while these stay.

    ``now`` (columns,) as all stands; ``fewer`` (seats of the net, columns): less often.
    """

    column: dict[int, int]
    now: IntArray
    fewer: BoolArray


class _Both(NamedTuple):
    """Exchanges that move two nets, by place among those of either, and which part the two."""

    mine: IntArray
    theirs: IntArray
    parted: BoolArray


class Partings:
    """All exchanges on the board ``problem.pin_net``, those that save most first.

    ``pairs`` are the pairs of nets that will be asked for: all of a net's are
    answered at once.  What stands in ``problem`` about prices and limits does
    not matter.
    """

    def __init__(self, problem: Problem, pairs: Iterable[tuple[int, int]]) -> None:
        self._problem = problem
        ground, self._fixed = lay_out(problem)
        nothing = Outlines(problem.cols, ((),) * len(problem.pin_pads))  # no over-pad counts here
        self._state = State(ground._replace(outlines=nothing), self._fixed)
        self._moves = Moves(self._state)
        self._unit = max(int(np.gcd.reduce(problem.weight)), 1)
        self._change = self._crossings()
        self._order = np.argsort(self._change, kind="stable")
        self._rank = np.argsort(self._order)
        self._crossed: dict[int, set[int]] = {}
        for one, two in pairs:
            self._crossed.setdefault(one, set()).add(two)
            self._crossed.setdefault(two, set()).add(one)
        self._ranks: dict[int, IntArray] = {}
        self._seats: dict[int, Seats] = {}
        self._ends: dict[int, IntArray] = {}
        self._met: dict[int, _Met] = {}
        self._both: dict[int, dict[int, _Both]] = {}

    def of(self, one: int, two: int) -> Iterator[Exchange]:
        """The exchanges that part the two nets of a pair, those that save most first."""
        one, two = min(one, two), max(one, two)
        mine, theirs = self._parted(one, two), self._parted(two, one)
        both = self._together(one).get(two)
        if both is not None:
            mine[both.mine], theirs[both.theirs] = both.parted, False
        ranks = np.concatenate([self._ranked(one)[mine], self._ranked(two)[theirs]])
        for move in self._order[np.sort(ranks)].tolist():
            pins, nets = self._state.nets_after(self._moves.places(self._state, move))
            moved = nets != self._problem.pin_net[pins]
            yield Exchange(move, pins[moved], nets[moved], -int(self._change[move]) * self._unit)

    def _crossings(self) -> IntArray:
        """By how many weighted crossings (lowest terms) every exchange changes the board."""
        state, moves = self._state, self._moves
        found = np.asarray(moves.changes(state, state.value()))
        for move in np.flatnonzero(moves.tied & (found < BANNED // 2)).tolist():
            found[move] = state.trial(moves.places(state, move)).cost.meetings
        return (found + CROSSING // 2) // CROSSING

    def _ranked(self, net: int) -> IntArray:
        """Where in the order the exchanges of a net's items stand, sorted."""
        if net not in self._ranks:
            moves = [self._moves.of(item) for item in self._state.holders.get(net, [])]
            found = np.unique(np.concatenate([np.empty(0, dtype=np.int64), *moves]))
            self._ranks[net] = np.sort(self._rank[found])
        return self._ranks[net]

    def _seated(self, net: int) -> Seats:
        """The seats of a net that items hold, by its exchanges as they are ranked."""
        if net not in self._seats:
            given = self._order[self._ranked(net)]
            self._seats[net] = seats_of(self._state, self._moves, net, given)
        return self._seats[net]

    def _standing(self, net: int) -> IntArray:
        """(n, 4): the connections of a net as it stands."""
        if net not in self._ends:
            if net in self._state.holders:
                self._ends[net] = self._segments(self._seated(net).still)
            else:
                cols, (a, b) = self._problem.cols, self._fixed[net].T
                self._ends[net] = np.stack([cols.x[a], cols.y[a], cols.x[b], cols.y[b]], axis=1)
        return self._ends[net]

    def _segments(self, edges: IntArray) -> IntArray:
        return self._state.ground.edges.ends(edges)

    def _parted(self, one: int, two: int) -> BoolArray:
        """Which exchanges of the first net part the two if the second stays where it is."""
        if not len(self._ranked(one)):
            return np.zeros(0, dtype=bool)
        met = self._meets(one)
        return np.asarray(met.fewer[self._seated(one).at, met.column[two]])

    def _meets(self, net: int) -> _Met:
        if net not in self._met:
            seats, others = self._seated(net), sorted(self._crossed[net])
            edges, which = np.unique(seats.whole(np.arange(len(seats.loose))), return_inverse=True)
            crossed = self._counted(edges, [self._standing(other) for other in others])
            which = which.reshape(len(seats.loose), -1)
            parts = blocks(np.full(len(which), which.shape[1] * len(others)))
            counts = np.concatenate([crossed[which[part]].sum(axis=1) for part in parts])
            column = {other: number for number, other in enumerate(others)}
            self._met[net] = _Met(column, counts[seats.now], counts < counts[seats.now])
        return self._met[net]

    def _counted(self, edges: IntArray, trees: Sequence[IntArray]) -> IntArray:
        """(edges, trees): how often each edge crosses each tree; no tree is empty."""
        first, segments = np.cumsum([0, *map(len, trees[:-1])]), np.concatenate(trees)
        found = np.empty((len(edges), len(trees)), dtype=np.int64)
        for part in blocks(np.full(len(edges), len(segments))):
            crossed = crosses(self._segments(edges[part])[:, None], segments)
            found[part] = np.add.reduceat(crossed, first, axis=1, dtype=np.int64)
        return found

    def _together(self, net: int) -> dict[int, _Both]:
        """For nets of a higher number that a net crosses: the exchanges that move both."""
        if net not in self._both:
            ranks = self._ranked(net)
            others = [n for n in self._crossed[net] if n > net and len(self._ranked(n))]
            places = [_common(ranks, self._ranked(other)) for other in others]
            found = [pair for pair in zip(others, places, strict=True) if len(pair[1][0])]
            self._both[net] = dict(self._joint(net, found)) if found else {}
        return self._both[net]

    def _joint(
        self, net: int, found: Sequence[tuple[int, tuple[IntArray, IntArray]]]
    ) -> Iterator[tuple[int, _Both]]:
        """Other nets, each with the exchanges it has in common with a net: how often both cross."""
        met, seats = self._meets(net), self._seated(net)
        mine = np.concatenate([seats.at[places] for _, (places, _) in found])
        others = [self._seated(other) for other, _ in found]
        theirs = [
            seated.whole(seated.at[places])
            for seated, (_, (_, places)) in zip(others, found, strict=True)
        ]
        counts = self._matched(seats.whole(mine), theirs)
        first = 0
        for other, (places, there) in found:
            last = first + len(places)
            yield other, _Both(places, there, counts[first:last] < met.now[met.column[other]])
            first = last

    def _matched(self, trees: IntArray, others: Sequence[IntArray]) -> IntArray:
        """How often trees (n, k) cross their counterparts, given as stacks (m, l) that follow."""
        against = np.zeros((len(trees), max(stack.shape[1] for stack in others)), dtype=np.int64)
        first = 0
        for stack in others:
            against[first : first + len(stack), : stack.shape[1]] = stack
            first += len(stack)
        found = np.empty(len(trees), dtype=np.int64)
        for part in blocks(np.full(len(trees), trees.shape[1] * against.shape[1])):
            one, two = self._segments(trees[part]), self._segments(against[part])
            found[part] = crosses(one[:, :, None], two[:, None, :]).sum(axis=(1, 2))
        return found


def _common(one: IntArray, two: IntArray) -> tuple[IntArray, IntArray]:
    """Where the numbers that two sorted columns have in common stand in either."""
    place = np.minimum(np.searchsorted(two, one), len(two) - 1)
    at = np.flatnonzero(two[place] == one)
    return at, place[at]
