"""How few crossings any board within the same freedom must have.

Three parts that count different pairs, so they add up: connections that cannot
move cross each other as they do; each item crosses these and itself where it
stands, and no two items stand on one site (an assignment); the items of a row
cross each other by their order (:mod:`renet.engine.facing`).  All else is taken
as nought.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from renet.engine.assign import assign
from renet.engine.counts import CROSSING, segments
from renet.engine.facing import Facing
from renet.engine.problem import Bound, Problem
from renet.engine.state import State
from renet.model import IntArray
from renet.tangle import crossing_pairs

ALL_COUNTED = "every board was counted"
NONE_LEFT = "no crossings are left"
FIXED = "connections that cannot move, and the least that others cross of them"
ROWS = "the best order of a row"


def settled(problem: Problem, weighted: int, why: str) -> Bound:
    """The bound where the least weight of crossings is known for sure."""
    heaviest = int(problem.weight[problem.active].max(initial=1))
    return Bound(-(-weighted // heaviest), weighted, why)


def bound(state: State, background: Mapping[int, IntArray], facings: Sequence[Facing]) -> Bound:
    """A lower bound for boards that the state can reach."""
    problem = state.ground.problem
    unit = int(np.gcd.reduce(problem.weight))
    rows = sum(facing.ordering.bound for facing in facings)
    groups = range(len(state.ground.stock.ways))
    least = rows + _fixed(state, background) + sum(_against_fixed(state, g) for g in groups)
    return settled(problem, least * unit, ROWS if rows else FIXED)


def _fixed(state: State, background: Mapping[int, IntArray]) -> int:
    """Weighted crossings among connections that are there wherever items stand."""
    ground = state.ground
    ends, _ = segments(background, ground.problem.cols, ground.weight)
    nets = [net for net, tree in background.items() for _ in range(len(tree))]
    kept, owners = state.kept_edges()
    every = np.concatenate([ends, ground.edges.ends(kept)])
    net = np.concatenate([np.array(nets, dtype=np.int64), owners])
    pairs = crossing_pairs(every, net)
    return int(ground.weight[net[pairs]].max(axis=1, initial=0).sum())


def _against_fixed(state: State, group: int) -> int:
    """The least that a group's items cross of what cannot move, each on a site of its own.

    What an item crosses of itself is added where nothing else can change that.
    """
    items = state.ground.stock.of_group(group)
    ways = len(state.ground.stock.ways[group])
    if not len(items):
        return 0
    crossed = state.against_fixed() // CROSSING
    if not state.ground.joined:
        inside = state.table.inner // CROSSING
        for item in items:
            if not state.dynamic[item] and state.items[item].live:
                crossed[state.table.region(item)] += inside[state.table.region(item)]
    cost = np.stack(
        [crossed[state.table.region(item)].reshape(-1, ways).min(axis=1) for item in items]
    )
    return int(cost[np.arange(len(items)), assign(cost.astype(np.float64))].sum())
