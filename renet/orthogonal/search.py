"""A search that lowers the channel objective over legal exchanges.

Simulated annealing after S. Kirkpatrick, C. Gelatt and M. Vecchi, "Optimization
by simulated annealing", Science 220, 1983 (from memory), then every exchange in
turn as long as one helps, then every swap taken back that does not pay.  Stops by
counts, so the same seed gives the same board.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from renet.engine.problem import Problem, Split
from renet.model import IntArray
from renet.orthogonal.field import Field
from renet.orthogonal.places import Exchange, Places
from renet.orthogonal.seating import Seating, Step
from renet.orthogonal.terms import STARTING, UNIT, Weights, total

SWEEPS = 100
_SAMPLES = 60
_COOLED = 200.0
_PASSES = 12
_PENALTY = 50 * UNIT


@dataclass(frozen=True, slots=True)
class Params:
    """``sweeps``: so many proposals per item.  ``spent`` is asked whether to stop early."""

    seed: int = 0
    sweeps: int = SWEEPS
    weights: Weights = STARTING
    spent: Callable[[], bool] = lambda: False


def lower(
    problem: Problem, field: Field, start: IntArray, split: Split, params: Params
) -> IntArray:
    """Nets for all pins, never worse by the objective than ``start``, which must be legal."""
    search = _Search(Seating(problem, field, start), start, params)
    if len(search.seating.stock):
        search.anneal()
        search.descend()
        search.take_back(split)
    return search.seating.pin_net.copy()


class _Search:
    def __init__(self, seating: Seating, start: IntArray, params: Params) -> None:
        self.seating, self.params = seating, params
        self.places = Places(seating.problem, seating.stock, start)
        self.rng = np.random.default_rng(params.seed)
        self.best = self._now()
        self._keep()

    def anneal(self) -> None:
        """Wander from warm to cold and end at the best legal board that was met."""
        count = self.params.sweeps * len(self.seating.stock)
        warm = self._warmth()
        for number in range(count):
            if self.params.spent():
                break
            heat = warm * _COOLED ** -(number / count)
            one = self.places.draw(self.rng)
            step = self._trial(one) if one is not None else None
            if one is None or step is None:
                continue
            worse = self._worth(step)
            if worse <= 0 or self.rng.random() < math.exp(-worse / heat):
                self._make(one, step)
        self._return()

    def descend(self) -> None:
        """Make every exchange that helps, in order, until none does."""
        for _ in range(_PASSES):
            before = self.best
            for one in self.places.all():
                if self.params.spent():
                    break
                step = self._trial(one)
                if step is not None and step.broken <= 0 and self._worth(step) < 0:
                    self._make(one, step)
            if self.best == before:
                break
        self._return()

    def take_back(self, split: Split) -> None:
        """Undo every swap without which the board is no worse."""
        again = True
        while again:
            again = False
            seating = self.seating
            for pins in split(seating.problem.pin_net, seating.pin_net.copy()):
                step = seating.back(pins)
                if step.moved < 0 and step.broken <= 0 and self._worth(step) <= 0:
                    seating.apply(step)
                    again = True

    def _now(self) -> int:
        return total(self.seating.terms, self.params.weights)

    def _worth(self, step: Step) -> int:
        """What a step changes, with what it breaks or mends at a price."""
        return total(step.terms, self.params.weights) + step.broken * _PENALTY

    def _warmth(self) -> float:
        """Half of what a middling exchange makes worse."""
        worse = []
        for _ in range(_SAMPLES):
            one = self.places.draw(self.rng)
            step = self._trial(one) if one is not None else None
            if step is not None and self._worth(step) > 0:
                worse.append(self._worth(step))
        return 0.5 * float(np.median(worse)) if worse else float(UNIT)

    def _trial(self, one: Exchange) -> Step | None:
        """What an exchange changes; None if it moves too many pins."""
        step = self.seating.trial(self.places.nets(one))
        most = self.seating.problem.max_moves
        too_many = most is not None and step.moved > 0 and self.seating.moved + step.moved > most
        return None if too_many else step

    def _make(self, one: Exchange, step: Step) -> None:
        self.seating.apply(step)
        self.places.make(one)
        if not self.seating.broken and self._now() < self.best:
            self.best = self._now()
            self._keep()

    def _keep(self) -> None:
        self._kept = self.seating.pin_net.copy(), self.places.site.copy(), self.places.way.copy()

    def _return(self) -> None:
        """Go to the best board met."""
        nets, site, way = self._kept
        pins = np.flatnonzero(nets != self.seating.pin_net).tolist()
        if pins:
            self.seating.apply(self.seating.trial({pin: int(nets[pin]) for pin in pins}))
        self.places.site[:], self.places.way[:] = site, way
