"""How a search spends its steps: starts, rounds on a slope, rounds in the order of aims.

Wandering is a tabu search after E. Taillard, "Robust taboo search for the
quadratic assignment problem", Parallel Computing 17, 1991; rounds of it that
begin from a kicked board follow H. Lourenco, O. Martin and T. Stuetzle,
"Iterated local search", Handbook of Metaheuristics, 2003.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from renet.engine.breed import breed, worth_breeding
from renet.engine.counts import CROSSING
from renet.engine.facing import Facing
from renet.engine.search import Search, Slope
from renet.engine.start import in_order, shorten
from renet.engine.state import Cost
from renet.model import IntArray

_PATIENCE = 10
_PATIENCE_PER_ITEM = 0.5
_SLOPES = (0.5, 1.0, 1.0, 2.0)
_LAST = 0.2
_LAST_OF_MANY = 0.1
_SETTLED = 0.25
_RETURN = 0.1
_LENGTHS_PER_CROSSING = 0.6
_OVERS_PER_CROSSING = 16


def improve(
    search: Search, steps: int, facings: Sequence[Facing], least: int | None = None
) -> None:
    """Spend about ``steps`` steps; the best board is remembered in ``search``.

    ``least``: no board has fewer weighted crossings, counted from the input.  A
    row that faces all others and has come to it has the shortest board of its
    order; only a share of the steps looks on.
    """
    _start(search, facings)
    if not len(search.moves):
        return
    end = max(steps, search.steps)
    crossings = (search.best.meetings + CROSSING // 2) // CROSSING
    if search.state.orders is not None and least is not None and crossings <= least:
        end = search.steps + int((end - search.steps) * _SETTLED)
    slope, left = _slope(search), end - search.steps
    if worth_breeding(search):
        breed(search, int(left * (1 - _LAST_OF_MANY)), slope)
    else:
        rounds(search, int(left * (1 - _LAST)), slope)
    rounds(search, end - search.steps, None)


def _start(search: Search, facings: Sequence[Facing]) -> None:
    """Go downhill from the input, the shortest assignments, and rows in order."""
    home = search.state.place.copy()
    search.descend()
    if search.state.ground.problem.max_moves is not None:
        return
    for priced in (True, False):
        search.go_to(home)
        search.settle(shorten(search.state, priced=priced))
        search.descend()
    search.go_to(search.best_place)
    for facing in facings:
        search.settle(in_order(search.state, facing))
    search.descend()


def _slope(search: Search) -> Slope:
    """A crossing against over-pads, and against a share of the mean connection's length."""
    state = search.state
    edges = [edge for item in range(len(state.place)) for edge in state.edges_of(item)]
    length = state.ground.edges.length[np.array(edges, dtype=np.int64)]
    mean = float(length.mean()) if len(length) and length.any() else 1.0
    per_over = search.unit / (_OVERS_PER_CROSSING * int(state.table.classes[-1]))
    return Slope(per_over, search.unit / (mean / _LENGTHS_PER_CROSSING))


def rounds(search: Search, steps: int, slope: Slope | None) -> None:
    """Wander from the best board and, whenever that yields nothing new, from a kicked one."""
    size = len(search.state.place)
    patience = int(_PATIENCE + _PATIENCE_PER_ITEM * size)
    end = search.steps + steps
    search.go_to(search.best_place)
    search.wander(steps, 4 * patience, slope)
    base = search.best, search.best_place
    while search.steps < end and not search.spent(search.steps):
        done = search.steps
        search.go_to(base[1])
        search.kick(int(search.rng.integers(2, 3 + max(size // 4, 1))))
        found = _round(search, (end - search.steps, patience), _tilted(search, slope))
        if found[0].meetings <= base[0].meetings + search.rng.random() * search.unit:
            base = found
        elif search.rng.random() < _RETURN:
            base = search.best, search.best_place
        if search.steps == done:
            break  # every move is barred: with few moves allowed there may be none
    search.go_to(search.best_place)


def _round(search: Search, limits: tuple[int, int], slope: Slope | None) -> tuple[Cost, IntArray]:
    """The best board of one round; the best of all stays remembered."""
    best = search.best, search.best_place
    search.forget(search.state.total, search.state.place.copy())
    search.wander(*limits, slope)
    found = search.best, search.best_place
    if not found[0].below(best[0]):
        search.forget(*best)
    return found


def _tilted(search: Search, slope: Slope | None) -> Slope | None:
    if slope is None:
        return None
    factor = _SLOPES[int(search.rng.integers(len(_SLOPES)))]
    return Slope(slope.over * factor, slope.length * factor)
