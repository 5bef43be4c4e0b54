"""The whole board counted from nothing, by the same code that counts for everybody."""

from __future__ import annotations

import math

import numpy as np

from renet.engine.options import node_pads
from renet.engine.problem import Problem, Score
from renet.model import IntArray
from renet.spanning import span
from renet.tangle import Connections, crossing_pairs, lengths, over_pad_pairs, overlap_pairs


def connections(problem: Problem, pin_net: IntArray) -> Connections:
    """All connections of the active nets, when pins carry ``pin_net``."""
    pins: dict[int, list[int]] = {}
    for pin, net in enumerate(pin_net.tolist()):
        if problem.counted(net):
            pins.setdefault(net, []).append(pin)
    cols = problem.cols
    trees = {net: span(node_pads(problem, pins[net]), cols, problem.labels) for net in sorted(pins)}
    net = np.repeat(np.array(list(trees), dtype=np.int64), [len(tree) for tree in trees.values()])
    pads = np.concatenate([np.empty((0, 2), dtype=np.int64), *trees.values()])
    a, b = pads[:, 0], pads[:, 1]
    return Connections(net, a, b, np.stack([cols.x[a], cols.y[a], cols.x[b], cols.y[b]], axis=1))


def score(problem: Problem, pin_net: IntArray) -> Score:
    """The board in the engine's terms."""
    found = connections(problem, pin_net)
    weight = problem.weight[found.net]
    crossed = crossing_pairs(found.ends, found.net)
    overlapped = overlap_pairs(found.ends, found.net)
    over = over_pad_pairs(found, problem.cols, pin_net)
    moved = pin_net != problem.pin_net
    price = sum(
        int((moved[group.sites] * group.price_nm[:, None]).sum()) for group in problem.groups
    )
    return Score(
        len(crossed),
        len(overlapped),
        len(over),
        (
            int(weight[crossed].max(axis=1).sum()) if len(crossed) else 0,
            int(weight[overlapped].max(axis=1).sum()) if len(overlapped) else 0,
            int(weight[over[:, 0]].sum()),
        ),
        math.fsum(lengths(found.ends).tolist()),
        int(moved.sum()),
        price,
    )
