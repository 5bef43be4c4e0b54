from __future__ import annotations

from cases.buoys import NEWEST
from hypothesis import given
from hypothesis import strategies as st

from renet.geometry import place
from renet.read.board import read_board

coordinates = st.integers(-200_000_000, 200_000_000)
angles = st.integers(-4, 8).map(lambda quarter: quarter * 90_000_000) | st.integers(
    -400_000_000, 400_000_000
)


@given(coordinates, coordinates, angles, coordinates, coordinates)
def test_pads_are_placed_as_geometry_places_points(
    x: int, y: int, angle: int, u: int, v: int
) -> None:
    head = b"(at %.6f %.6f %.6f)" % (x / 1e6, y / 1e6, angle / 1e6)
    pad = b"(at %.6f %.6f 90)" % (u / 1e6, v / 1e6)
    data = NEWEST.replace(b"(at 20 10 90)", head).replace(b"(at -3 -1 90)", pad)
    board, _ = read_board(data)
    found = board.pads[0]
    assert board.parts[0].angle == angle / 1e6
    assert ((found.x, found.y),) == place([(u, v)], x, y, angle / 1e6)
