"""Steps at 45 degrees, against distances that shapely measures."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from renet.channels.access import Stubs, table_of
from renet.channels.draft import use_of
from renet.channels.lattice import Lattice
from renet.channels.obstacles import Obstacles, ground_of
from renet.channels.occupancy import Occupancy
from renet.channels.raster import FREE, MANY
from renet.channels.sizes import Sizes
from renet.channels.ways import Way

LATTICE = Lattice(-700, 400, 100, 9, 7)
POINTS = len(LATTICE)
NEAR = 2
"""Nanometres within which the plan may go either way."""

_place = st.tuples(st.integers(-900, 300), st.integers(200, 1200))
_segments = st.lists(
    st.tuples(_place, _place, st.integers(1, 60), st.integers(0, 2)), min_size=1, max_size=5
)


def obstacles(rows: list[tuple[tuple[int, int], tuple[int, int], int, int]]) -> Obstacles:
    """Segments of copper: two ends, radius, net."""
    nobody = np.full(len(rows), -1)
    return Obstacles(
        np.array([(*a, *b) for a, b, _, _ in rows], dtype=np.int64),
        np.array([float(radius) for _, _, radius, _ in rows]),
        np.array([net for _, _, _, net in rows]),
        np.ones(len(rows), dtype=np.int64),
        nobody,
        np.arange(len(rows)),
        np.zeros(len(rows), dtype=bool),
        np.empty((0, 4), dtype=np.int64),
    )


def diagonal(cell: int, falls: bool) -> LineString:
    row, column = divmod(cell, LATTICE.columns)
    ends = ((row, column), (row + 1, column + 1))
    ends = ends if falls else ((row + 1, column), (row, column + 1))
    return LineString([LATTICE.at(r * LATTICE.columns + c) for r, c in ends])


@settings(max_examples=40)
@given(_segments)
def test_owners_of_diagonals_follow_distances(
    rows: list[tuple[tuple[int, int], tuple[int, int], int, int]],
) -> None:
    sizes = Sizes(60, 40, 100, 50, "made")
    ground = ground_of(LATTICE, (0,), sizes, obstacles(rows))
    for owners, falls in ((ground.falls[0], True), (ground.rises[0], False)):
        for cell in range(POINTS):
            row, column = divmod(cell, LATTICE.columns)
            if row == LATTICE.rows - 1 or column == LATTICE.columns - 1:
                assert owners[cell] == MANY
                continue
            gaps = [
                (diagonal(cell, falls).distance(LineString([a, b])) - radius - 70, net)
                for a, b, radius, net in rows
            ]
            if any(abs(gap) < NEAR for gap, _ in gaps):
                continue
            nets = {net for gap, net in gaps if gap < 0}
            want = FREE if not nets else nets.pop() + 1 if len(nets) == 1 else MANY
            assert owners[cell] == want


_steps = st.lists(
    st.sampled_from([(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1) if i or j]),
    min_size=1, max_size=6,
)  # fmt: skip
_start = st.tuples(st.integers(0, LATTICE.rows - 1), st.integers(0, LATTICE.columns - 1))


def walked(start: tuple[int, int], steps: list[tuple[int, int]]) -> list[int]:
    """Nodes of a way on layer 0 that stays on the grid."""
    row, column = start
    found = [row * LATTICE.columns + column]
    for i, j in steps:
        if 0 <= row + i < LATTICE.rows and 0 <= column + j < LATTICE.columns:
            row, column = row + i, column + j
            found.append(row * LATTICE.columns + column)
    return found


def drawn(nodes: list[int]) -> BaseGeometry:
    at = [LATTICE.at(node) for node in nodes]
    return LineString(at) if len(at) > 1 else Point(at[0])


@settings(max_examples=150)
@given(_start, _steps, _start, _steps, st.sampled_from([70, 100, 130, 190, 240]))
def test_two_ways_conflict_where_they_are_too_close(
    a: tuple[int, int],
    steps: list[tuple[int, int]],
    b: tuple[int, int],
    others: list[tuple[int, int]],
    pitch: int,
) -> None:
    """Symmetric, and as shapely measures the distance: also where only middles come close."""
    sizes = Sizes(pitch // 2, pitch - pitch // 2, 2 * pitch, pitch, "made")
    none = np.empty(0, dtype=np.int64)
    bends = np.empty((0, 4, 2), dtype=np.int64)
    stubs = Stubs(none, none, none, none, bends, none, *[table_of(0, none, none)] * 4)
    ways = [walked(a, steps), walked(b, others)]
    uses = [use_of(Way(np.array(way), -1, -1), LATTICE.columns, POINTS) for way in ways]
    found = []
    for mine, other in (uses, uses[::-1]):
        occupancy = Occupancy(LATTICE, 1, sizes, stubs)
        occupancy.put(1, other)
        found.append(occupancy.conflicts(mine) > 0)
    close = drawn(ways[0]).distance(drawn(ways[1])) < pitch - 1e-6
    assert any(found) == close


@given(_start, _steps, _start, st.sampled_from([150, 210, 330]))
def test_a_via_keeps_its_distance_from_diagonals(
    a: tuple[int, int], steps: list[tuple[int, int]], at: tuple[int, int], via: int
) -> None:
    sizes = Sizes(60, 40, via, 50, "made")
    none = np.empty(0, dtype=np.int64)
    bends = np.empty((0, 4, 2), dtype=np.int64)
    stubs = Stubs(none, none, none, none, bends, none, *[table_of(0, none, none)] * 4)
    way, point = walked(a, steps), at[0] * LATTICE.columns + at[1]
    track = use_of(Way(np.array(way), -1, -1), LATTICE.columns, POINTS)
    hole = use_of(Way(np.array([point, point + POINTS]), -1, -1), LATTICE.columns, POINTS)
    occupancy = Occupancy(LATTICE, 2, sizes, stubs)
    occupancy.put(1, hole)
    close = drawn(way).distance(Point(LATTICE.at(point))) < sizes.beside_via
    assert (occupancy.conflicts(track) > 0) == close
    occupancy.put(1, track)
    assert bool(occupancy.via_load[point]) == close
