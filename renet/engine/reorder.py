"""The engine in one function: start, improve, take back what does not pay, count, prove."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from renet.engine import bound as bounds
from renet.engine.bound import bound, settled
from renet.engine.breed import is_large
from renet.engine.climb import Pace, climb, rungs
from renet.engine.exhaust import best_board
from renet.engine.facing import facings
from renet.engine.ground import lay_out
from renet.engine.improve import improve
from renet.engine.problem import Bound, Params, Problem, Result, Score
from renet.engine.score import score
from renet.engine.search import Search
from renet.engine.state import TOLERANCE_NM, State
from renet.engine.undo import paths, undo
from renet.model import IntArray

_MOST_EXTRA = 8000


class _Found(NamedTuple):
    """Nets for all pins; the bound, if it is known without looking at them."""

    pin_net: IntArray
    bound: Bound | None
    steps: int
    evaluations: int


def reorder(problem: Problem, params: Params | None = None) -> Result:
    """The best nets for the free pins that the search finds; the input if there are none better.

    The same problem and parameters give the same result, unless ``seconds`` is set.
    """
    params = params or Params()
    before = score(problem, problem.pin_net)
    found = _find(problem, params, before)
    after = score(problem, found.pin_net)
    pin_net = found.pin_net
    if not better(after, before):
        pin_net, after = problem.pin_net.copy(), before
    least = found.bound or settled(problem, after.weighted[0], bounds.ALL_COUNTED)
    if not after.weighted[0]:
        least = settled(problem, 0, bounds.NONE_LEFT)
    return Result(
        pin_net=pin_net,
        before=before,
        after=after,
        bound=least,
        proved_optimal=least.weighted >= after.weighted[0],
        iterations=found.steps,
        evaluations=found.evaluations,
    )


def better(one: Score, two: Score) -> bool:
    """Whether one board is better than another in the order of aims."""
    if one.weighted != two.weighted:
        return one.weighted < two.weighted
    return one.length_nm + one.price_nm < two.length_nm + two.price_nm - TOLERANCE_NM


def _find(problem: Problem, params: Params, before: Score) -> _Found:
    """Try everything where that is little, else search."""
    if not problem.groups:
        return _Found(problem.pin_net, None, 0, 0)
    ground, background = lay_out(problem)
    best = best_board(ground, background)
    if best is not None:
        return _Found(best, None, 0, 0)
    pace = pace_of(problem, params)
    state = State(ground, background)
    search = Search(state, np.random.default_rng(params.seed), pace.spent)
    rows = facings(ground)
    least = bound(state, background, rows)
    unit = int(np.gcd.reduce(problem.weight))
    improve(search, pace.steps, rows, (least.weighted - before.weighted[0]) // unit)
    search.settle(undo(state, pace.split))
    if problem.max_moves is not None:
        limits = [*rungs(problem.max_moves), problem.max_moves]
        search.go_to(climb(ground, background, limits, pace)[-1].place)
    search.go_to(search.best_place)
    return _Found(state.pin_net, least, search.steps, search.evaluations)


def pace_of(problem: Problem, params: Params) -> Pace:
    """How long to search for this problem, and how to take moves back."""
    steps = _steps(problem) if params.iterations is None else params.iterations
    return Pace(params.seed, steps, params.split or paths(problem), _clock(params, steps))


def _steps(problem: Problem) -> int:
    """More for more sites; on large boards enough to search from several starts."""
    sites = sum(map(len, problem.groups))
    return 600 + 8 * sites + (min(20 * sites, _MOST_EXTRA) if is_large(problem) else 0)


def _clock(params: Params, steps: int) -> Callable[[int], bool]:
    """Whether to stop after so many steps, by the clock only if asked to."""
    end = None if params.seconds is None else time.monotonic() + params.seconds

    def spent(done: int) -> bool:
        if params.progress is not None:
            params.progress(min(done / max(steps, 1), 1.0))
        return end is not None and time.monotonic() > end

    return spent
