"""The engine in one function: start, improve, take back what does not pay, count, prove."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from renet.engine.bound import bound
from renet.engine.ground import lay_out
from renet.engine.improve import improve
from renet.engine.problem import Params, Problem, Result, Score
from renet.engine.score import score
from renet.engine.search import Search
from renet.engine.state import TOLERANCE_NM
from renet.engine.undo import paths, undo
from renet.model import IntArray


def reorder(problem: Problem, params: Params | None = None) -> Result:
    """The best nets for the free pins that the search finds; the input if there are none better.

    The same problem and parameters give the same result, unless ``seconds`` is set.
    """
    params = params or Params()
    before = score(problem, problem.pin_net)
    found, search = _search(problem, params)
    after = score(problem, found)
    if not better(after, before):
        found, after = problem.pin_net.copy(), before
    least = bound(problem, after)
    return Result(
        pin_net=found,
        before=before,
        after=after,
        bound=least,
        proved_optimal=least.weighted >= after.weighted[0],
        iterations=search.steps if search else 0,
        evaluations=search.evaluations if search else 0,
    )


def better(one: Score, two: Score) -> bool:
    """Whether one board is better than another in the order of aims."""
    if one.weighted != two.weighted:
        return one.weighted < two.weighted
    return one.length_nm + one.price_nm < two.length_nm + two.price_nm - TOLERANCE_NM


def _search(problem: Problem, params: Params) -> tuple[IntArray, Search | None]:
    if not problem.groups:
        return problem.pin_net.copy(), None
    state = lay_out(problem)
    steps = _steps(problem) if params.iterations is None else params.iterations
    search = Search(state, np.random.default_rng(params.seed), _clock(params, steps))
    improve(search, steps)
    search.settle(undo(state, params.split or paths(problem)))
    search.go_to(search.best_place)
    return state.pin_net.copy(), search


def _steps(problem: Problem) -> int:
    return 600 + 8 * len(problem.free_pins)


def _clock(params: Params, steps: int) -> Callable[[int], bool]:
    """Whether to stop after so many steps, by the clock only if asked to."""
    end = None if params.seconds is None else time.monotonic() + params.seconds

    def spent(done: int) -> bool:
        if params.progress is not None:
            params.progress(min(done / max(steps, 1), 1.0))
        return end is not None and time.monotonic() > end

    return spent
