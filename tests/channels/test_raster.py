"""Which points and edges a grown segment blocks, against shapely, one by one."""

from __future__ import annotations

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from renet.channels.lattice import Lattice, lay
from renet.channels.raster import FREE, MANY, capsules, edges_under, insides, owners, points_under

GRID = Lattice(1000, -2000, 300_000, 12, 10)
coordinate = st.integers(-1_000_000, 5_000_000)
segments = st.tuples(coordinate, coordinate, coordinate, coordinate)
EDGE = 5.0


@given(segments, st.integers(1, 2_000_000))
def test_capsules_block_what_is_nearer_than_the_reach(
    ends: tuple[int, int, int, int], reach: int
) -> None:
    core = LineString([ends[:2], ends[2:]]) if ends[:2] != ends[2:] else Point(ends[:2])
    spans = capsules(GRID, np.array([ends]), np.array([float(reach)]))
    points = set(points_under(GRID, spans)[1].tolist())
    edges = set(edges_under(GRID, spans)[1].tolist())
    for point in range(len(GRID)):
        x, y = GRID.at(point)
        away = core.distance(Point(x, y))
        if abs(away - reach) > EDGE:
            assert (point in points) == (away < reach)
        if (point + 1) % GRID.columns:
            away = core.distance(LineString([(x, y), (x + GRID.pitch, y)]))
            if abs(away - reach) > EDGE:
                assert (point in edges) == (away < reach)


@given(st.lists(st.tuples(coordinate, coordinate), min_size=3, max_size=7))
def test_insides_are_even_odd(corners: list[tuple[int, int]]) -> None:
    polygon = Polygon(corners)
    assume(polygon.is_valid)
    ring = np.concatenate([np.array(corners), np.roll(corners, -1, axis=0)], axis=1)
    spans = insides(GRID, ring, np.zeros(len(ring), dtype=np.int64))
    found = set(points_under(GRID, spans)[1].tolist())
    for point in range(len(GRID)):
        at = Point(GRID.at(point))
        if polygon.exterior.distance(at) > EDGE:
            assert (point in found) == polygon.contains(at)


@given(st.lists(st.tuples(st.integers(-1, 4), st.integers(0, 9)), max_size=30))
def test_owners_by_hand(pairs: list[tuple[int, int]]) -> None:
    net = np.array([n for n, _ in pairs], dtype=np.int64)
    cell = np.array([c for _, c in pairs], dtype=np.int64)
    found = owners(10, net, cell)
    for c in range(10):
        on = {n for n, at in pairs if at == c}
        expected = FREE if not on else MANY if len(on) > 1 or -1 in on else on.pop() + 1
        assert found[c] == expected


@given(st.lists(st.tuples(st.integers(0, 9_000_000), st.integers(0, 9_000_000)), min_size=1))
def test_the_grid_lies_inside_the_box(pads: list[tuple[int, int]]) -> None:
    grid = lay((0, 0, 9_000_000, 9_000_000), 300_000, np.array(pads))
    assert 0 <= grid.x < 300_000 and 0 <= grid.y < 300_000
    x, y = grid.at(len(grid) - 1)
    assert 8_700_000 < x <= 9_000_000 and 8_700_000 < y <= 9_000_000
