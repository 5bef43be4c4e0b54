"""Capacity and demand of channels."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from renet.channels.lattice import Lattice
from renet.channels.obstacles import Ground
from renet.orthogonal.cells import CELL_PITCHES, TRACK, Cells, cells_of, demand_of
from renet.orthogonal.links import Link, least_bends

points = st.tuples(st.integers(0, 59), st.integers(0, 39))
SIX_BY_FOUR = Cells(0, 0, 10, 6, 4, np.zeros(48, dtype=np.int64))


def ground(columns: int, rows: int, layers: int) -> Ground:
    free = np.zeros((layers, columns * rows), dtype=np.int64)
    by_row = free.reshape(layers, rows, columns)
    by_row[:, :, -1] = -1  # nothing leads off the grid
    down = np.zeros((layers, rows, columns), dtype=np.int64)
    down[:, -1] = -1
    lattice = Lattice(0, 0, 100, columns, rows)
    return Ground(
        lattice, tuple(range(layers)), free, down.reshape(layers, -1), free, free, free[0]
    )


def test_a_free_board_takes_a_track_per_pitch_and_layer() -> None:
    cells = cells_of(ground(30, 25, 3), "hvh")
    east, south = cells.room.reshape(2, 3, 3)
    assert east.tolist() == [[20 * TRACK, 20 * TRACK, 0]] * 2 + [[10 * TRACK, 10 * TRACK, 0]]
    assert south.tolist() == [[10 * TRACK] * 3, [10 * TRACK] * 3, [0] * 3]
    assert cells.size == 100 * CELL_PITCHES


def test_a_line_that_stands_for_one_net_or_none_is_no_room() -> None:
    bare = ground(20, 10, 1)
    bare.along.reshape(10, 20)[2:5, 9] = (-1, 3, 3)
    assert cells_of(bare, "h").room[0] == 7 * TRACK


@given(points, points, st.integers(0, 3), st.integers(0, 3))
def test_one_track_passes_every_cut_between_the_ends(
    p: tuple[int, int], q: tuple[int, int], out: int, back: int
) -> None:
    bends = least_bends(out, back, (q[0] - p[0], q[1] - p[1]), 4)
    edges, amount = demand_of(SIX_BY_FOUR, Link(p, q, out, back, bends, 0, 0, 0, 0, 0, 0))
    demand = np.zeros(48, dtype=np.int64)
    demand[edges] = amount
    east, south = demand.reshape(2, 4, 6)
    for found, low, high in (
        (east.sum(axis=0), p[0] // 10, q[0] // 10),
        (south.sum(axis=1), p[1] // 10, q[1] // 10),
    ):
        between = found[min(low, high) : max(low, high)]
        beyond = np.delete(found, range(min(low, high), max(low, high)))
        assert (between == TRACK).all()
        assert not beyond.any()
