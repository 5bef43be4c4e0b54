"""The search: always the best exchange, not soon back, a kick when nothing helps.

A tabu search after E. Taillard, "Robust taboo search for the quadratic
assignment problem", Parallel Computing 17, 1991: every step takes the best move
of the whole neighbourhood that does not put a net back where it has just been.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from renet.engine.conditions import Watch
from renet.engine.counts import CROSSING
from renet.engine.moves import Moves
from renet.engine.state import NOTHING, Cost, State
from renet.engine.table import BANNED
from renet.model import BoolArray, IntArray

_BARRED = BANNED // 2
_HELD = _BARRED // 4
_LOOKS = 48
_SOFTER, _HARDER, _SOFTEST, _HARDEST = 0.97, 1.1, 1.0, 1e6


class Step(NamedTuple):
    """A move that has been chosen and what it changes."""

    move: int
    worth: Cost


class Search:
    """A state with its neighbourhood and the best places seen.

    The problem's ``max_moves`` is kept all the way.  Side conditions are not:
    breaking one costs a penalty that grows while the board is broken, and a
    broken board is never remembered.  ``spent`` is asked before every step
    whether to stop.
    """

    def __init__(
        self, state: State, rng: np.random.Generator, spent: Callable[[int], bool]
    ) -> None:
        self.state = state
        self.moves = Moves(state)
        self.steps = 0
        self._rng, self._spent = rng, spent
        self._most = state.ground.problem.max_moves
        self._watch = Watch(state.ground.problem)
        self._penalty = _SOFTEST
        self._unit = int(state.table.classes[-1]) * CROSSING
        self._held = _Held(state)
        self.best = state.total
        self.best_place = state.place.copy()

    @property
    def evaluations(self) -> int:
        """How many moves have been weighed."""
        return self.steps * len(self.moves)

    def settle(self, concerned: list[int]) -> None:
        """Catch up after these items have been moved by somebody else."""
        if concerned:
            self.moves.refresh(self.state, concerned)
            self._watch.settle(self.state.pin_net)
            self._note()

    def go_to(self, place: IntArray) -> None:
        """Put all items on these places."""
        changed = np.flatnonzero(self.state.place != place).tolist()
        if changed:
            change = self.state.trial({item: int(place[item]) for item in changed})
            self.settle(self.state.apply(change))

    def descend(self) -> None:
        """Take the best move as long as it makes the board better."""
        while not self._spent(self.steps):
            step = self._choose(self._changes(), None)
            if step is None or not step.worth.below(NOTHING):
                return
            self._take(step)

    def wander(self, steps: int, patience: int) -> None:
        """Take best moves that are not held, until nothing new is found for ``patience``."""
        last, end = self.steps, self.steps + steps
        while self.steps < end and self.steps - last <= patience and not self._spent(self.steps):
            change = self._changes()
            held = self._held.moves(self.moves, self.state, self.steps)
            held &= change >= self.best.meetings - self.state.total.meetings
            step = self._choose(change, held)
            if step is None:
                return
            self._held.hold(self.moves, self.state, step.move, self.steps, self._rng)
            best = self.best
            self._take(step)
            if self.best is not best:
                last = self.steps

    def kick(self, strength: int) -> None:
        """Make some moves at random."""
        for _ in range(strength):
            open_ = np.flatnonzero(self._changes() < _HELD)
            if len(open_):
                move = int(open_[self._rng.integers(len(open_))])
                self._take(Step(move, self.state.trial(self.moves.places(self.state, move)).cost))

    def _changes(self) -> IntArray:
        """What every move would change, out of reach for those that may not be made."""
        change = self.moves.changes(self.state, self.state.value())
        if self._most is not None:
            moved = self.moves.rest(self.state, np.arange(len(self.moves)))[0]
            change[(moved > 0) & (self.state.moved + moved > self._most)] = BANNED
        return change

    def _choose(self, change: IntArray, held: BoolArray | None) -> Step | None:
        """The least move in the order of aims, the first among equals."""
        if not len(change):
            return None
        order = change if held is None else change + held * _HELD
        if self._watch:
            return self._least_broken(change, order)
        for _ in range(_LOOKS):
            step = self._least(change, order)
            if step is None or not self.moves.tied[step.move]:
                return step
            exact = self.state.trial(self.moves.places(self.state, step.move)).cost
            more = exact.meetings - step.worth.meetings
            step = Step(step.move, exact)
            if more <= 0:
                return step
            change[step.move] += more
            order = change if held is None else change + held * _HELD
        return step

    def _least(self, change: IntArray, order: IntArray) -> Step | None:
        least = order.min()
        if least >= _BARRED:
            return None
        which = np.flatnonzero(order == least)
        _, over, length = self.moves.rest(self.state, which)
        best = np.flatnonzero(over == over.min())
        first = int(best[length[best].argmin()])
        move = int(which[first])
        return Step(move, Cost(int(change[move]), int(over[first]), float(length[first])))

    def _least_broken(self, change: IntArray, order: IntArray) -> Step | None:
        """The least move with what it breaks or mends at the price of the penalty."""
        which = self._candidates(order)
        if not len(which):
            return None
        _, over, length = self.moves.rest(self.state, which)
        broken = np.array([self._breaks(move) for move in which.tolist()], dtype=np.float64)
        key = order[which] + broken * self._penalty * self._unit
        first = int(np.lexsort((length, over, key))[0])
        move = int(which[first])
        worth = Cost(int(change[move]), int(over[first]), float(length[first]))
        if self.moves.tied[move]:
            worth = self.state.trial(self.moves.places(self.state, move)).cost
        return Step(move, worth)

    def _candidates(self, order: IntArray) -> IntArray:
        """The least moves, and the least of those that touch what is broken now."""
        which = _smallest(order, _LOOKS)
        pins = self._watch.broken_pins()
        if len(pins):
            touching = np.flatnonzero(self.moves.touching(self.state, pins))
            which = np.union1d(which, touching[_smallest(order[touching], 4 * _LOOKS)])
        return np.asarray(which[order[which] < _BARRED])

    def _breaks(self, move: int) -> int:
        pins, nets = self.state.nets_after(self.moves.places(self.state, move))
        return self._watch.change(self.state.pin_net, pins, nets)

    def _take(self, step: Step) -> None:
        places = self.moves.places(self.state, step.move)
        change = self.state.known(places, step.worth)
        self.moves.refresh(self.state, self.state.apply(change))
        self.steps += 1
        if self._watch:
            self._watch.settle(self.state.pin_net, self.state.nets_after(places)[0].tolist())
            factor = _HARDER if self._watch.excess else _SOFTER
            self._penalty = min(max(self._penalty * factor, _SOFTEST), _HARDEST)
        self._note()

    def _note(self) -> None:
        """Remember the board if it is legal and the best so far."""
        legal = self._most is None or self.state.moved <= self._most
        if legal and not self._watch.excess and self.state.total.below(self.best):
            self.best = self.state.total
            self.best_place = self.state.place.copy()


class _Held:
    """Which nets may not soon return to which sites."""

    def __init__(self, state: State) -> None:
        kind = np.array([item.kind for item in state.items], dtype=np.int64)
        groups = state.ground.problem.groups
        width = max((len(group) for group in groups), default=1)
        self._row = kind * width
        self._until = np.zeros((int(kind.max(initial=0)) + 1) * width, dtype=np.int64)
        ways = np.array([len(found) for found in state.ground.stock.ways], dtype=np.int64)
        self._ways = ways[[item.group for item in state.items]]
        size = np.array([len(group) for group in groups], dtype=np.int64)
        self._size = size[[item.group for item in state.items]]

    def moves(self, moves: Moves, state: State, now: int) -> BoolArray:
        """Moves that would put both nets back where they have been of late."""
        site = state.place // self._ways
        one = self._until[self._row[moves.i] + site[moves.j]]
        two = self._until[self._row[moves.j] + site[moves.i]]
        return np.asarray((one > now) & (two > now))

    def hold(
        self, moves: Moves, state: State, move: int, now: int, rng: np.random.Generator
    ) -> None:
        """Keep the nets of a move from returning for a while, by the size of their group."""
        for item in {int(moves.i[move]), int(moves.j[move])}:
            size = int(self._size[item])
            site = int(state.place[item] // self._ways[item])
            self._until[self._row[item] + site] = now + int(rng.integers(size // 2, size + 2))


def _smallest(order: IntArray, count: int) -> IntArray:
    """Where the ``count`` smallest entries are, in the order of their places."""
    if len(order) <= count:
        return np.arange(len(order))
    return np.sort(np.argpartition(order, count)[:count])
