"""For every item and every place it may take: what the board would then have.

An option is (item, place).  It lists the edges that depend on the place, given
where all other items are; edges of the item's nets that are there at every
place do not matter for a choice and are left out.  Items of one kind without
connections share their options.

Nets that reach one item only have options that never change; an item with a net
that others carry too is built again when one of those moves.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from renet.engine.edges import Edges
from renet.engine.insertion import Trees, insert, insert_sets
from renet.engine.items import Item, Stock
from renet.engine.orders import Opposed
from renet.engine.overpads import Outlines
from renet.engine.problem import Problem
from renet.model import NONE, BoolArray, IntArray

_DUMMY = 0


class Ground(NamedTuple):
    """What the options of all items stand on.

    ``joined``: whether some pads that an item may meet are one node by copper.
    Only then can two edges of one tree cross.  ``pad_of``: the pad of every pin
    with just one, ``NONE`` for all others.  ``weight``: weights of nets in lowest terms.
    ``opposed``: the one group as a row, where its order alone decides what crosses.
    """

    problem: Problem
    edges: Edges
    outlines: Outlines
    stock: Stock
    joined: bool
    pad_of: IntArray
    weight: IntArray
    opposed: Opposed | None = None


class Rows(NamedTuple):
    """(option, edge, net) rows of one item, sorted by option; every option has a row.

    ``common`` holds (edge, net) that are on the board at every place.
    """

    option: IntArray
    edge: IntArray
    net: IntArray
    common_edge: IntArray
    common_net: IntArray


class Worth(NamedTuple):
    """Per option: weighted over-pads, and length of its edges in nanometres."""

    over: IntArray
    length: np.ndarray


def places_of(ground: Ground, item: Item) -> int:
    """How many places an item of this group has."""
    group = ground.problem.groups[item.group]
    return len(group) * len(ground.stock.ways[item.group])


def pins_at(ground: Ground, item: Item) -> IntArray:
    """(places, w): the pin under each position of the item at each place."""
    sites, ways = ground.problem.groups[item.group].sites, ground.stock.ways[item.group]
    return np.asarray(sites[:, ways].reshape(-1, sites.shape[1]))


class Drawn(NamedTuple):
    """One net of an item: its pins elsewhere, and its trees for each set of pins it may stand on.

    ``which[option]`` is a row of ``sets``, the pins (n, m) under the item's positions.
    """

    net: int
    others: IntArray
    sets: IntArray
    which: IntArray
    trees: Trees


class _Part(NamedTuple):
    """One net of an item: its edges by option, and what over-pads it has there."""

    option: IntArray
    edge: IntArray
    common: IntArray
    over: IntArray


def draw(ground: Ground, item: Item, others: dict[int, list[int]]) -> list[Drawn]:
    """The trees of all nets of an item; ``others[net]`` are the net's pins outside the item."""
    pins = pins_at(ground, item)
    problem = ground.problem
    found = []
    for net in item.live:
        mine = [k for k, name in enumerate(item.nets) if name == net]
        sets, which = _sets(pins[:, mine])
        base = node_pads(problem, others[net])
        pads = ground.pad_of[sets[:, 0]]
        if len(mine) == 1 and (pads != NONE).all():
            trees = insert(base, pads, problem.cols, problem.labels)
        else:
            places = [node_pads(problem, own) for own in sets.tolist()]
            trees = insert_sets(base, places, problem.cols, problem.labels)
        found.append(Drawn(net, np.array(others[net], dtype=np.int64), sets, which, trees))
    return found


def _sets(pins: IntArray) -> tuple[IntArray, IntArray]:
    """The different sets of pins among the rows, and which one each row is."""
    if pins.shape[1] == 1:
        stand, which = np.unique(pins[:, 0], return_inverse=True)
        return stand[:, None], which.reshape(-1)
    sets, which = np.unique(np.sort(pins, axis=1), axis=0, return_inverse=True)
    return sets, which.reshape(-1)


def build(ground: Ground, item: Item, drawn: list[Drawn]) -> tuple[Rows, Worth]:
    """Options of one item."""
    count = places_of(ground, item)
    parts = [_part(ground, found) for found in drawn]
    option = np.concatenate([np.arange(count), *(part.option for part in parts)])
    edge = np.concatenate([np.full(count, _DUMMY), *(part.edge for part in parts)])
    size = [count, *(len(part.edge) for part in parts)]
    net = np.repeat(np.array([NONE, *item.live], dtype=np.int64), size)
    length = np.bincount(option, weights=ground.edges.length[edge], minlength=count)
    over = sum((part.over for part in parts), np.zeros(count, dtype=np.int64))
    keep = np.bincount(option, minlength=count)[option] == 1
    keep[count:] = True
    order = np.flatnonzero(keep)
    order = order[np.argsort(option[order], kind="stable")]
    common = [part.common for part in parts]
    rows = Rows(
        option[order],
        edge[order],
        net[order],
        np.concatenate([np.empty(0, dtype=np.int64), *common]),
        np.repeat(np.array(item.live, dtype=np.int64), [len(edges) for edges in common]),
    )
    return rows, Worth(over, length)


def _part(ground: Ground, drawn: Drawn) -> _Part:
    """The edges of one net for all options, with over-pads."""
    edges, trees, sets = ground.edges, drawn.trees, drawn.sets
    edge = edges.add(trees.a, trees.b)
    common = edges.add(trees.common[:, 0], trees.common[:, 1])
    hits = ground.outlines.counts(edges, edge)
    over = np.bincount(trees.place, weights=hits, minlength=len(sets)).astype(np.int64)
    pins = np.concatenate([drawn.others, sets.reshape(-1)])
    if len(drawn.others) + sets.shape[1] > 2 or (ground.pad_of[pins] == NONE).any():
        over -= _own(ground, (trees.place, edge, common), drawn.others, sets)
    part = _Part(trees.place, edge, common, over * ground.weight[drawn.net])
    return _spread(part, drawn.which)


def _own(
    ground: Ground, rows: tuple[IntArray, IntArray, IntArray], others: IntArray, sets: IntArray
) -> IntArray:
    """Per set of pins: how often the net's edges run over pins of the net itself."""
    place, edge, common = rows
    count, width = sets.shape
    edge_of = [np.repeat(edge, len(others)), np.repeat(edge, width)]
    pin_of = [np.tile(others, len(edge)), sets[place].reshape(-1)]
    place_of = [np.repeat(place, len(others)), np.repeat(place, width)]
    edge_of.append(np.tile(common, count * width))
    pin_of.append(np.repeat(sets.reshape(-1), len(common)))
    place_of.append(np.repeat(np.repeat(np.arange(count), width), len(common)))
    hit = ground.outlines.over(ground.edges, np.concatenate(edge_of), np.concatenate(pin_of))
    return np.bincount(np.concatenate(place_of)[hit], minlength=count).astype(np.int64)


def _spread(part: _Part, which: IntArray) -> _Part:
    """A part by sets of pins as a part by options; option ``i`` stands on set ``which[i]``."""
    start = np.searchsorted(part.option, np.arange(len(part.over) + 1))
    size = (start[1:] - start[:-1])[which]
    option = np.repeat(np.arange(len(which)), size)
    shift = start[which] - (np.cumsum(size) - size)
    row = np.arange(len(option)) + shift[option]
    return _Part(option, part.edge[row], part.common, part.over[which])


def node_pads(problem: Problem, pins: list[int]) -> IntArray:
    """The pads of pins that take part in connections."""
    pads = np.array([pad for pin in pins for pad in problem.pin_pads[pin]], dtype=np.int64)
    return np.asarray(pads[problem.cols.node[pads]])


def moved_pins(ground: Ground, item: Item) -> IntArray:
    """(places,): how many pins would carry another net than in the input."""
    before = ground.problem.pin_net[pins_at(ground, item)]
    return np.asarray((before != np.array(item.nets)).sum(axis=1), dtype=np.int64)


def forbidden(ground: Ground, item: Item) -> BoolArray:
    """(places,): where the item may not go."""
    group = ground.problem.groups[item.group]
    count = len(ground.stock.ways[item.group])
    if group.allowed is None:
        return np.zeros(len(group) * count, dtype=bool)
    allowed = group.allowed[item.home].copy()
    allowed[item.home] = True
    return np.asarray(np.repeat(~allowed, count))
