"""The compiled search and its helpers against slow twins that share no code with them."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise, product

import networkx as nx
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.random import Generator

from renet.channels.compiled import compiled, halo, most
from renet.channels.maze import Terrain, Toll, cheapest, scratch_for
from renet.channels.search import ALL, FEW
from renet.channels.ways import Window

ROWS, COLUMNS = 5, 6
POINTS = ROWS * COLUMNS
MINE = 2
EDGES = ((0, 0, 1), (1, 1, 0), (2, 1, 1), (3, 1, -1))
"""Kind of owner, rows down and columns to the right of each edge, downwards or to the right."""


def terrain_of(rng: Generator, layers: int) -> Terrain:
    owners = rng.choice([0, 0, 0, MINE, 1, -1], (4, layers * POINTS)).astype(np.int32)
    via = rng.choice([0, 0, MINE, 1, -1], POINTS).astype(np.int32)
    return Terrain(ROWS, COLUMNS, rng.random(layers) < 0.5, via, owners)


def toll_of(rng: Generator, layers: int, loose: bool, present: float) -> Toll:
    loads = [rng.integers(0, 2, n * POINTS).astype(np.int32) for n in (layers, layers, 1)]
    past = [np.round(rng.random(n * POINTS) * 3, 1) for n in (layers, layers, 1)]
    wrong, slant, via = (1.2, 2.2, 5.0) if loose else (2.5, np.inf, 4.0)
    return Toll(present, *loads, *past, 1.0, wrong, slant, via, min(wrong - 1, slant - 2))


def as_graph(terrain: Terrain, toll: Toll, window: Window, close: np.ndarray) -> nx.DiGraph:
    """All steps that are allowed, priced with the node that they lead to."""
    graph = nx.DiGraph()
    layers = len(terrain.across)
    pairs = (
        (toll.node_load, toll.nodes),
        (toll.cell_load, toll.cells),
        (toll.via_load, toll.vias),
    )
    fee, cells, holes = (
        [past + (count * toll.present if count else 0.0) for count, past in zip(*pair, strict=True)]
        for pair in pairs
    )

    def node(layer: int, row: int, column: int) -> int:
        return layer * POINTS + row * COLUMNS + column

    def both(one: int, two: int, price: float) -> None:
        graph.add_edge(one, two, weight=price + fee[two])
        graph.add_edge(two, one, weight=price + fee[one])

    rows, columns = range(window.top, window.bottom), range(window.left, window.right)
    for layer, row, column in product(range(layers), rows, columns):
        for kind, down, right in EDGES:
            y, x = row + down, column + right
            if y not in rows or x not in columns:
                continue
            number = node(layer, row, min(column, x))
            if terrain.owners[kind, number] not in (0, MINE):
                continue
            near = close[row - window.top, column - window.left]
            if kind >= 2:
                price = toll.slant + cells[number]
            elif (kind == 0) == terrain.across[layer]:
                price = toll.step
            else:
                price = toll.wrong if near else np.inf
            both(node(layer, row, column), node(layer, y, x), price)
    for row, column in product(rows, columns):
        if terrain.via[row * COLUMNS + column] in (0, MINE):
            for one, two in product(range(layers), repeat=2):
                if one < two:
                    price = toll.via + holes[row * COLUMNS + column]
                    both(node(one, row, column), node(two, row, column), price)
    return graph


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 2**32), st.integers(1, 4), st.booleans(), st.sampled_from([0.0, 4.0, np.inf]))
def test_the_way_found_is_a_cheapest_one(
    seed: int, layers: int, loose: bool, present: float
) -> None:
    rng = np.random.default_rng(seed)
    terrain, toll = terrain_of(rng, layers), toll_of(rng, layers, loose, present)
    window = Window(
        int(rng.integers(2)), int(rng.integers(2)), ROWS, COLUMNS - int(rng.integers(2))
    )
    high, wide = window.bottom - window.top, window.right - window.left
    close = np.ones((high, wide), dtype=bool) if loose else rng.random((high, wide)) < 0.4
    inside = [
        layer * POINTS + row * COLUMNS + column
        for layer in range(layers)
        for row in range(window.top, window.bottom)
        for column in range(window.left, window.right)
    ]
    ends = [np.sort(rng.choice(inside, 2, replace=False)) for _ in range(2)]
    costs = [np.round(rng.random(2) * 5, 1) for _ in range(2)]
    if np.isinf(present):
        toll.node_load[np.concatenate(ends)] = 0
    graph = as_graph(terrain, toll, window, close)
    for start, cost in zip(ends[0], costs[0], strict=True):
        graph.add_edge("start", int(start), weight=cost)
    for stop, cost in zip(ends[1], costs[1], strict=True):
        graph.add_edge(int(stop), "stop", weight=cost)
    least = nx.single_source_dijkstra_path_length(graph, "start").get("stop", np.inf)

    room = scratch_for(layers * POINTS)
    for _ in range(2):
        question = terrain, toll, MINE, window, close, *zip(ends, costs, strict=True), room
        way, left = cheapest(*question, ALL)
        assert left == (np.inf if np.isinf(least) else 0.0)
        if np.isinf(least):
            assert not len(way)
            continue
        for few in range(3):
            some, left = cheapest(*question, few)
            assert left < np.inf
            if len(some):
                assert (some.tolist(), left) == (way.tolist(), 0.0)
        path = ["start", *way.tolist(), "stop"]
        paid = sum(graph[a][b]["weight"] for a, b in pairwise(path))
        assert abs(paid - least) < 1e-9
    assert np.isinf(room.goal).all()


def test_what_is_shut_in_at_either_end_is_found_out_from_there() -> None:
    """On a grid with more nodes than are looked at: from the far end the answer stays open."""
    size, inner = 70, 3
    points = size * size
    assert points > FEW
    walled = [
        row * size + column
        for row, column in product(range(inner + 1), repeat=2)
        if inner in (row, column)
    ]
    window = Window(0, 0, size, size)
    close = np.ones((size, size), dtype=bool)
    owners = np.zeros((4, points), dtype=np.int32)
    terrain = Terrain(size, size, np.array([True]), np.zeros(points, dtype=np.int32), owners)
    inside, outside = ((np.array([at]), np.zeros(1)) for at in (0, points - 1))
    room = scratch_for(points)
    for gap in (False, True):
        load = np.zeros(points, dtype=np.int32)
        load[walled[1:] if gap else walled] = 1
        bare, none = np.zeros(points), np.zeros(points, dtype=np.int32)
        toll = Toll(
            np.inf, load, none, none, bare, bare, bare, 1.0, 1.0, np.inf, 1.0, 0.0
        )  # fmt: skip
        question = terrain, toll, MINE, window, close
        for starts, stops in ((inside, outside), (outside, inside)):
            way, _ = cheapest(*question, starts, stops, room, ALL)
            assert len(way) == (2 * (size - 1) + 1 if gap else 0)
            assert not load[way].any()
        _, from_inside = cheapest(*question, inside, outside, room, FEW)
        _, from_outside = cheapest(*question, outside, inside, room, FEW)
        if gap:
            assert from_inside == 0
        else:
            assert from_inside == np.inf
            assert 0 < from_outside <= 2 * inner


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(0, 2 * POINTS - 1), max_size=6), st.integers(0, 2**32))
def test_a_halo_holds_every_node_near_by_once(nodes: list[int], seed: int) -> None:
    rng = np.random.default_rng(seed)
    disc = np.unique(rng.integers(-2, 3, (5, 2)), axis=0)
    near = {
        layer * POINTS + (row + down) * COLUMNS + column + right
        for layer, row, column in (
            (node // POINTS, node % POINTS // COLUMNS, node % COLUMNS) for node in nodes
        )
        for down, right in disc.tolist()
        if 0 <= row + down < ROWS and 0 <= column + right < COLUMNS
    }
    marks = np.zeros(2 * POINTS, dtype=np.int32)
    found = halo(np.array(nodes, dtype=np.int64), disc, (ROWS, COLUMNS), marks, 1).tolist()
    assert sorted(found) == sorted(near)
    again = halo(np.array(nodes, dtype=np.int64), disc, (ROWS, COLUMNS), marks, 1)
    assert not len(again)
    assert len(halo(np.array(nodes, dtype=np.int64), disc, (ROWS, COLUMNS), marks, 2)) == len(near)


@given(st.lists(st.lists(st.integers(0, 9)), min_size=1), st.lists(st.integers(-3, 9), min_size=10))
def test_most_is_the_greatest_of_a_row(rows: list[list[int]], values: list[int]) -> None:
    start = np.cumsum([0, *map(len, rows)])
    items = np.array([item for row in rows for item in row], dtype=np.int64)
    which = np.arange(len(rows))[::-1].copy()
    found = most(start, items, which, np.array(values[:10], dtype=np.int32))
    wanted = [max(0, *(values[item] for item in rows[i]), 0) for i in which.tolist()]
    assert found.tolist() == wanted


def test_what_cannot_be_kept_is_compiled_all_the_same() -> None:
    """A function of no file has no place for its machine code, as in a read-only installation."""
    space: dict[str, Callable[[int], int]] = {}
    exec("def twice(n):\n    return 2 * n\n", space)
    fast = compiled(space["twice"])
    assert fast(21) == 42
    assert fast is not space["twice"]
