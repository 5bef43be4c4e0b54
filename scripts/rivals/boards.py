"""Random engine problems by seed."""

from __future__ import annotations

import random

import numpy as np
from strategies.problems import MM, Sketch, group

from renet.engine.facing import carried, row_of
from renet.engine.ground import lay_out
from renet.engine.problem import Problem
from renet.model import IntArray

LANE = 2


def rows(pins: int, seed: int) -> Problem:
    """Lanes of two pins in a row, all their nets' other ends in a row opposite, at random."""
    rng, sketch = random.Random(seed), Sketch()
    ends = rng.sample(range(2 * pins), pins)
    sites = []
    for lane in range(pins // LANE):
        own = range(lane * LANE, (lane + 1) * LANE)
        sites.append(tuple(sketch.pin(net * MM, 0, net, half=1000) for net in own))
    for net, at in enumerate(ends):
        sketch.pin(at * MM // 2, 40 * MM, net, half=1000)
    sketch.groups.append(group(sites, price=0))
    return sketch.problem()


def scattered(pins: int, seed: int) -> Problem:
    """A square part, each side of it a pool of its own, every net's other pin anywhere around it.

    One pool for all would end without a crossing by its shortest assignment.
    """
    rng, sketch = random.Random(seed), Sketch()
    side, pitch = pins // 4, MM // 2
    half = (side + 1) * pitch // 2
    steps = [i * pitch - half for i in range(1, side + 1)]
    nets = list(range(4 * side))
    rng.shuffle(nets)
    for sign in (-half, half):
        for line in ([(x, sign) for x in steps], [(sign, y) for y in steps]):
            sketch.groups.append(
                group([(sketch.pin(x, y, nets[len(sketch.net)], half=1000),) for x, y in line])
            )
    for net in range(len(nets)):
        x, y = 0, 0
        while max(abs(x), abs(y)) < half + 2 * MM:
            x, y = (rng.randrange(-3 * half - 4 * MM, 3 * half + 4 * MM) for _ in range(2))
        sketch.pin(x, y, net, half=1000)
    return sketch.problem()


def pair_costs(problem: Problem) -> IntArray:
    """(n, n): what a row's items cross, in pairs, when the first stands before the second."""
    ground, _ = lay_out(problem)
    row = row_of(ground, 0, carried(ground))
    if row is None:
        raise ValueError("the group does not stand in a row")
    return row.cost


def crossings(cost: IntArray, order: IntArray) -> int:
    """What an order of a row's items crosses."""
    return int(np.triu(cost[np.ix_(order, order)], 1).sum())
