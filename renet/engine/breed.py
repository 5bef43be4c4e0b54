"""Large boards: search from boards of all kinds, and go on from what pairs of them have in common.

Far more boards are near the best than rounds from one start come by: on boards
of hundreds of pins these stay in the region that the shortest assignment leads
to.  Boards made by chance and searched for a little differ in their regions;
what two of them share is mostly right, and a child keeps it.

After C. Fleurent and J. A. Ferland, "Genetic hybrids for the quadratic
assignment problem", DIMACS Series in Discrete Mathematics 16, 1994 (from memory).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from renet.engine.problem import Problem
from renet.engine.search import Search, Slope
from renet.engine.state import Cost
from renet.model import IntArray

MANY = 200
_FAMILY = 4
_PATIENCE_PER_ITEM = 0.06
_ALIKE = 0.02


class Member(NamedTuple):
    """A board that has been searched for a while."""

    cost: Cost
    place: IntArray


def is_large(problem: Problem) -> bool:
    """Whether a problem has ``MANY`` sites, and neither side conditions nor a limit on moves.

    Boards by chance would break these more than a search can mend.
    """
    tied = problem.conditions or problem.max_moves is not None
    return sum(map(len, problem.groups)) >= MANY and not tied


def worth_breeding(search: Search) -> bool:
    """Whether a board is large, and every item may stand on every site of its group.

    A row that faces all its other ends has an order to search for, which is quicker.
    """
    state = search.state
    whole = state.orders is None and not state.table.banned.any()
    return is_large(state.ground.problem) and whole


def breed(search: Search, steps: int, slope: Slope) -> None:
    """Spend about ``steps`` steps; the best board is remembered in ``search``, which stands there.

    A family of boards: two of it, taken by chance, make a child that takes the
    place of the worst.  Once parents are alike only the best stays, and the
    others are made anew.
    """
    end = search.steps + steps
    family = [_grown(search, search.best_place, end, slope)]
    while search.steps < end and not search.spent(search.steps):
        done = search.steps
        if len(family) < _FAMILY:
            family.append(_grown(search, _shuffled(search), end, slope))
        else:
            one, two = (family[k].place for k in search.rng.choice(_FAMILY, 2, replace=False))
            child = _grown(search, crossed(search, one, two), end, slope)
            family.append(child)
            if np.mean(one != two) < _ALIKE:
                family = [min(family, key=lambda member: member.cost)]
        family = sorted(family, key=lambda member: member.cost)[:_FAMILY]
        if search.steps == done:
            break  # nothing can move
    search.go_to(search.best_place)


def _grown(search: Search, place: IntArray, end: int, slope: Slope) -> Member:
    """The best board of a short search from these places; the best of all stays remembered."""
    best = search.best, search.best_place
    search.go_to(place)
    search.forget(search.state.total, search.state.place.copy())
    patience = int(_PATIENCE_PER_ITEM * len(place))
    search.wander(max(end - search.steps, 0), patience, slope)
    found = Member(search.best, search.best_place)
    if not found.cost.below(best[0]):
        search.forget(*best)
    return found


def _shuffled(search: Search) -> IntArray:
    """Every item anywhere in its group."""
    place = search.best_place.copy()
    for items in _groups(search):
        place[items] = search.rng.permutation(place[items])
    return place


def crossed(search: Search, one: IntArray, two: IntArray) -> IntArray:
    """Each item where one of two boards has it, as far as sites are left; the others by chance."""
    place = one.copy()
    stock = search.state.ground.stock
    for group, items in enumerate(_groups(search)):
        ways, mine, theirs = len(stock.ways[group]), one[items], two[items]
        open_ = np.flatnonzero(mine // ways != theirs // ways)
        left = dict.fromkeys((mine[open_] // ways).tolist())
        rest = []
        for k in search.rng.permutation(open_).tolist():
            pair = (int(mine[k]), int(theirs[k]))
            wanted = pair if search.rng.random() < 0.5 else pair[::-1]
            taken = next((at for at in wanted if at // ways in left), None)
            if taken is None:
                rest.append(k)
                continue
            del left[taken // ways]
            place[items[k]] = taken
        for k, site in zip(rest, search.rng.permutation(list(left)).tolist(), strict=True):
            place[items[k]] = site * ways + int(mine[k]) % ways
    return place


def _groups(search: Search) -> list[IntArray]:
    stock = search.state.ground.stock
    return [np.array(stock.of_group(group)) for group in range(len(stock.ways))]
