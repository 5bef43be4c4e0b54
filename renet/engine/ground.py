"""Lay out what a search stands on: nets that move, nets that do not, the table of edges."""

from __future__ import annotations

import numpy as np

from renet.engine.edges import Edges
from renet.engine.facing import opposed
from renet.engine.items import stock
from renet.engine.options import Ground, node_pads
from renet.engine.overpads import Outlines
from renet.engine.problem import Problem
from renet.model import NONE, IntArray
from renet.spanning import span


def lay_out(problem: Problem) -> tuple[Ground, dict[int, IntArray]]:
    """What stands ready for a search, and the trees (pad pairs) of all nets that cannot move."""
    items = stock(problem, problem.pin_net)
    nets = {net for item in items.items for net in item.live}
    pins: dict[int, list[int]] = {}
    for pin, net in enumerate(problem.pin_net.tolist()):
        if problem.counted(net):
            pins.setdefault(net, []).append(pin)
    pads = _end_pads(problem, pins, nets)
    ground = Ground(
        problem,
        Edges(problem.cols, pads),
        Outlines(problem.cols, problem.pin_pads),
        items,
        len(np.unique(problem.labels[pads])) < len(pads),
        _only_pads(problem),
        problem.weight // max(int(np.gcd.reduce(problem.weight)), 1),
    )
    facing = opposed(ground)
    if facing is not None:
        ground.edges.face(facing[0])
        ground = ground._replace(opposed=facing[1])
    background = {
        net: span(node_pads(problem, pins[net]), problem.cols, problem.labels)
        for net in sorted(pins.keys() - nets)
    }
    return ground, background


def _end_pads(problem: Problem, pins: dict[int, list[int]], nets: set[int]) -> IntArray:
    """Pads at which connections of movable nets may end: theirs, and those of all sites."""
    sites = problem.free_pins.tolist()
    carriers = [pin for net in sorted(nets) for pin in pins[net]]
    return np.unique(node_pads(problem, sites + carriers))


def _only_pads(problem: Problem) -> IntArray:
    """The pad of every pin that has just one, if it takes part in connections."""
    pads = [own[0] if len(own) == 1 else NONE for own in problem.pin_pads]
    found = np.array(pads, dtype=np.int64)
    return np.where((found != NONE) & problem.cols.node[found], found, NONE)
