"""One step of the search: weigh the whole neighbourhood, choose a move, make it."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from renet.engine.conditions import Watch
from renet.engine.counts import CROSSING
from renet.engine.held import Held
from renet.engine.moves import Column, Moves
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


class Slope(NamedTuple):
    """What an over-pad (per thousandth) and a nanometre are worth in meetings.

    The aims are ordered, but a search that looks at nothing but crossings until
    they are even runs into dead ends; on a slope it comes by more good boards.
    """

    over: float
    length: float


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
        self.state, self.rng, self.spent = state, rng, spent
        self.moves = Moves(state)
        self.steps = 0
        self.unit = int(state.table.classes[-1]) * CROSSING
        self._most = state.ground.problem.max_moves
        self._watch = Watch(state.ground.problem)
        self._penalty = _SOFTEST
        self._held = Held(state)
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

    def forget(self, best: Cost, place: IntArray) -> None:
        """Remember these places as the best instead of what is remembered now."""
        self.best, self.best_place = best, place

    def descend(self) -> None:
        """Take the best move as long as it makes the board better."""
        while not self.spent(self.steps):
            step = self._choose(self._changes(None), None)
            if step is None or not step.worth.below(NOTHING):
                return
            self._take(step)

    def wander(self, steps: int, patience: int, slope: Slope | None) -> None:
        """Take best moves that are not held, until nothing new is found for ``patience``.

        On a ``slope`` the best move is the one that goes down most; without, it
        is the first in the order of aims.
        """
        last, end = self.steps, self.steps + steps
        while self.steps < end and self.steps - last <= patience and not self.spent(self.steps):
            change = self._changes(slope)
            held = self._held.moves(self.moves, self.state, self.steps)
            step = self._choose(change, held)
            if step is None:
                return
            self._held.hold(self.moves, self.state, step.move, self.steps, self.rng)
            best = self.best
            self._take(step)
            if self.best is not best:
                last = self.steps

    def kick(self, strength: int) -> None:
        """Make some moves at random."""
        for _ in range(strength):
            open_ = np.flatnonzero(self._changes(None) < _HELD)
            if len(open_):
                move = int(open_[self.rng.integers(len(open_))])
                self._take(Step(move, self.state.trial(self.moves.places(self.state, move)).cost))

    def _changes(self, slope: Slope | None) -> Column:
        """What every move would change, out of reach for those that may not be made."""
        state = self.state
        self._value = state.value()
        if slope is None:
            change = self.moves.changes(state, self._value)
        else:
            table = state.table
            value = self._value + slope.over * table.over + slope.length * table.length
            change = self.moves.changes(state, value)
        if self._most is not None:
            moved = self.moves.moved(state)
            change[(moved > 0) & (state.moved + moved > self._most)] = BANNED
        return change

    def _choose(self, change: Column, held: BoolArray | None) -> Step | None:
        """The least move, by the later aims and then the first among equals."""
        if not len(change):
            return None
        if self._watch:
            return self._least_broken(change if held is None else change + held * _HELD)
        step = self._least(change)
        if step is None or held is None or not held[step.move]:
            return step
        if self.state.total.plus(step.worth).below(self.best):
            return step
        return self._least(change + held * _HELD)

    def _least(self, change: Column) -> Step | None:
        for _ in range(_LOOKS):
            least = change.min()
            if least >= _BARRED:
                return None
            which = np.flatnonzero(change == least)
            over, length = self.moves.rest(self.state, which)
            best = np.flatnonzero(over == over.min())
            first = int(best[length[best].argmin()])
            move = int(which[first])
            worth = self._worth(move, over[first], length[first])
            if not self.moves.tied[move]:
                return Step(move, worth)
            exact = self.state.trial(self.moves.places(self.state, move)).cost
            if exact.meetings <= worth.meetings:
                return Step(move, exact)
            change[move] += exact.meetings - worth.meetings
        return Step(move, exact)

    def _worth(self, move: int, over: np.int64, length: np.float64) -> Cost:
        meetings = self.moves.change(self.state, self._value, move)
        return Cost(meetings, int(over), float(length))

    def _least_broken(self, change: Column) -> Step | None:
        """The least move with what it breaks or mends at the price of the penalty."""
        which = self._candidates(change)
        if not len(which):
            return None
        over, length = self.moves.rest(self.state, which)
        broken = np.array([self._breaks(move) for move in which.tolist()], dtype=np.float64)
        key = change[which] + broken * self._penalty * self.unit
        first = int(np.lexsort((length, over, key))[0])
        move = int(which[first])
        if self.moves.tied[move]:
            return Step(move, self.state.trial(self.moves.places(self.state, move)).cost)
        return Step(move, self._worth(move, over[first], length[first]))

    def _candidates(self, change: Column) -> IntArray:
        """The least moves, and the least of those that touch what is broken now."""
        which = _smallest(change, _LOOKS)
        pins = self._watch.broken_pins()
        if len(pins):
            touching = np.flatnonzero(self.moves.touching(self.state, pins))
            which = np.union1d(which, touching[_smallest(change[touching], 4 * _LOOKS)])
        return np.asarray(which[change[which] < _BARRED])

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


def _smallest(change: Column, count: int) -> IntArray:
    """Where the ``count`` smallest entries are, in the order of their places."""
    if len(change) <= count:
        return np.arange(len(change))
    return np.sort(np.argpartition(change, count)[:count])
