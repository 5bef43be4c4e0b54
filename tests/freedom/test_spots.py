"""Pitch, distance and neighbours against all pairs."""

from __future__ import annotations

import itertools
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st
from strategies.rules import Spec, pinned_board

from renet.freedom.spots import Spots
from renet.geometry import NM_PER_MM

PLACES = st.tuples(st.integers(0, 4), st.integers(0, 9))


def spots_of(places: list[tuple[int, int]], pads_of: int) -> tuple[Spots, dict[int, list]]:
    """One part; every ``pads_of`` places make one pin."""
    board = pinned_board({"U1": [Spec(str(i), at=at) for i, at in enumerate(places)]})
    if pads_of > 1:
        count = len(places) // pads_of
        pins = tuple(
            pin._replace(pads=tuple(range(i * pads_of, (i + 1) * pads_of)))
            for i, pin in enumerate(board.pins[:count])
        )
        part = board.parts[0]._replace(pins=range(count))
        board = replace(board, pins=pins, parts=(part,))
    at = {
        i: [(board.pads[pad].x, board.pads[pad].y) for pad in pin.pads]
        for i, pin in enumerate(board.pins)
    }
    return Spots(board, [0]), at


def squares(at: dict[int, list]) -> dict[tuple[int, int], int]:
    return {
        (a, b): min((px - qx) ** 2 + (py - qy) ** 2 for px, py in at[a] for qx, qy in at[b])
        for a, b in itertools.permutations(at, 2)
    }


@given(st.lists(PLACES, max_size=14), st.sampled_from([1, 1, 2]), st.integers(1, 12))
def test_against_all_pairs(places: list[tuple[int, int]], pads_of: int, reach: int) -> None:
    places = places[: len(places) // pads_of * pads_of]
    spots, at = spots_of(places, pads_of)
    every = squares(at)
    spread = {
        (px - qx) ** 2 + (py - qy) ** 2
        for a, b in itertools.permutations(at, 2)
        for px, py in at[a]
        for qx, qy in at[b]
    }
    assert spots.pitch2 == min(spread - {0}, default=0)
    for (a, b), square in every.items():
        assert spots.distance2(a, b) == square
        assert (b in spots.neighbours[a]) == (16 * square <= 25 * spots.pitch2)
        limit = reach * NM_PER_MM * NM_PER_MM
        assert (b in spots.within(limit, strictly=True)[a]) == (square < limit)
        assert (b in spots.within(limit, strictly=False)[a]) == (square <= limit)


def test_a_row_has_two_neighbours_a_grid_four() -> None:
    row, _ = spots_of([(0, i) for i in range(9)], 1)
    assert row.neighbours[4] == {3, 5}
    grid, _ = spots_of([(x, y) for x in range(5) for y in range(5)], 1)
    assert grid.neighbours[12] == {7, 11, 13, 17}


def test_many_pins_at_one_point_have_no_pitch() -> None:
    spots, _ = spots_of([(1, 1)] * 500, 1)
    assert spots.pitch2 == 0
    assert len(spots.neighbours[0]) == 499
