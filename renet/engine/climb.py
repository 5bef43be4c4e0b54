"""Searches with a rising limit on moved pins, each from the best board of the limit below."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import count
from typing import NamedTuple

import numpy as np

from renet.engine.improve import improve
from renet.engine.options import Ground
from renet.engine.problem import Split
from renet.engine.search import Search
from renet.engine.state import State
from renet.engine.undo import undo
from renet.model import IntArray

_STEPS, _SHARE = 50, 0.05


class Rung(NamedTuple):
    """The best board with at most ``most`` moved pins: places of all items, nets of all pins."""

    most: int
    place: IntArray
    pin_net: IntArray


class Pace(NamedTuple):
    """How to search on every rung; ``spent`` is asked whether time is up.

    ``steps`` are those of a search of its own; a rung gets a small share of them.
    """

    seed: int
    steps: int
    split: Split
    spent: Callable[[int], bool]


def rungs(most: int) -> list[int]:
    """2, 3, 4, 6, 8, 12, 16, 24 ... below ``most``; a single pin never moves."""
    found: list[int] = []
    for power in count(1):
        for limit in (2**power, 3 * 2 ** (power - 1)):
            if limit >= most:
                return found
            found.append(limit)
    return found


def climb(
    ground: Ground, background: Mapping[int, IntArray], limits: Sequence[int], pace: Pace
) -> list[Rung]:
    """One rung per limit, the limits rising; none is worse than one before.

    Every rung is searched twice, from the board below it and from the input.
    """
    state = State(ground, background)
    home = place = state.place.copy()
    found = []
    for most in limits:
        state.ground = ground._replace(problem=replace(ground.problem, max_moves=most))
        below, afresh = (_searched(state, start, pace) for start in (place, home))
        place = (afresh if afresh.best.below(below.best) else below).best_place
        _put(state, place)
        found.append(Rung(most, place, state.pin_net.copy()))
    return found


def _searched(state: State, start: IntArray, pace: Pace) -> Search:
    """A short search from a board that keeps to the limit."""
    _put(state, start)
    search = Search(state, np.random.default_rng(pace.seed), pace.spent)
    improve(search, min(pace.steps, _STEPS + int(_SHARE * pace.steps)), ())
    search.settle(undo(state, pace.split))
    search.go_to(search.best_place)
    return search


def _put(state: State, place: IntArray) -> None:
    """Bring all items to these places."""
    changed = np.flatnonzero(state.place != place).tolist()
    if changed:
        state.apply(state.trial({item: int(place[item]) for item in changed}))
