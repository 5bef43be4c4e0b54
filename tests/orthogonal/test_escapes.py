"""Where pads leave their part: by the nearest edge, at a fan-out's end, by depth in a grid."""

from __future__ import annotations

import numpy as np
from cases.orthogonal import Row, board_of

from renet.channels.sizes import CLEARANCE_NM, VIA_NM, Sizes
from renet.channels.stackup import Directions
from renet.columns import pad_columns
from renet.copper import join
from renet.orthogonal.escapes import ANY, BOTH, HORIZONTAL, Escape, escapes_of
from renet.read.board import read_board

MM = 1_000_000
SIZES = Sizes(150_000, CLEARANCE_NM, VIA_NM, 300_000, "test")
WAYS = Directions("hv", "test", {})
EAST, WEST, SOUTH, NORTH = range(4)


def escapes(data: bytes) -> tuple[Escape, ...]:
    board, _ = read_board(data)
    cols = pad_columns(board)
    joined = join(board, cols, np.ones(len(board.nets), dtype=bool))
    return escapes_of(board, cols, joined, WAYS, SIZES)


def sides(one: Escape) -> list[int]:
    return [side for side, _ in one.exits]


def test_two_rows_leave_outwards() -> None:
    pads = [(x, y, 1 + i) for i, (x, y) in enumerate((x, y) for x in (-2, 2) for y in (-2, 0, 2))]
    found = escapes(board_of([Row("U1", 10, 10, pads)], 20, 20))
    assert sides(found[1]) == [WEST] and sides(found[4]) == [EAST]
    room = (CLEARANCE_NM + VIA_NM) / MM
    assert found[4].exits[0][1] == (round((12 + 0.25 + room) * MM), 10 * MM)
    assert sides(found[0]) == [WEST, NORTH]  # a corner is as near to both: the partner decides
    assert found[1][2:5] == (0, 0, HORIZONTAL)


def test_one_row_leaves_to_both_sides_and_pins_with_holes_on_any_layer() -> None:
    found = escapes(board_of([Row("J1", 10, 10, [(x, 0, 0) for x in range(6)], 0.5, True)], 30, 20))
    assert sides(found[3]) == [SOUTH, NORTH]
    assert found[3][2:5] == (ANY, 0, BOTH)


def test_inner_pads_of_a_grid_leave_by_depth() -> None:
    """Gap 0.5 mm lets one track of 0.15 with clearance through: each ring goes a layer deeper."""
    pads = [(x, y, 0) for y in range(6) for x in range(6)]
    found = escapes(board_of([Row("U1", 5, 5, pads)], 20, 20))
    layers = np.array([one.layer for one in found]).reshape(6, 6)
    assert layers[0].tolist() == [0] * 6
    assert layers[2].tolist() == [0, 1, 1, 1, 1, 0]  # two planned layers, so no deeper than 1
    assert [found[7].drop, found[0].drop] == [1, 0]
    wide = escapes(board_of([Row("U1", 5, 5, pads, 0.25)], 20, 20))
    depth = np.array([one.layer for one in wide]).reshape(6, 6)
    assert depth[2].tolist() == [0, 0, 1, 1, 0, 0]  # 0.75 mm: two tracks, so two rings a layer


def test_parts_on_the_back_count_layers_from_there() -> None:
    found = escapes(board_of([Row("U1", 5, 5, [(0, 0, 1), (0, 1, 2)], back=True)], 20, 20))
    assert [one.layer for one in found] == [1, 1]


def test_a_fan_out_leaves_at_its_free_end() -> None:
    track = '(segment (start 10 10) (end 13 10) (width 0.15) (layer "F.Cu") (net 1))'
    track += '(segment (start 13 10) (end 14 12) (width 0.15) (layer "F.Cu") (net 1))'
    via = '(via (at 14 12) (size 0.6) (drill 0.3) (layers "F.Cu" "B.Cu") (net 1))'
    part = Row("U1", 10, 10, [(0, 0, 1), (0, 2, 2)])
    plain, *_ = escapes(board_of([part], 20, 20, track))
    assert plain.exits == ((SOUTH, (14 * MM, 12 * MM)),)
    assert plain[2:5] == (0, 0, HORIZONTAL)
    ended, *_ = escapes(board_of([part], 20, 20, track + via))
    assert ended.exits == plain.exits and ended[2:5] == (ANY, 0, BOTH)


def test_copper_that_reaches_another_pad_is_no_fan_out() -> None:
    track = '(segment (start 10 10) (end 10 12) (width 0.15) (layer "F.Cu") (net 1))'
    found = escapes(board_of([Row("U1", 10, 10, [(0, 0, 1), (0, 2, 1)])], 20, 20, track))
    assert (10 * MM, 12 * MM) not in [point for _, point in found[0].exits]
