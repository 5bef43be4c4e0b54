"""Connections, crossings, overlaps, over-pads and length against their slow twins."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from renet.changes import Figures
from renet.columns import pad_columns
from renet.copper import join
from renet.model import Board
from renet.tangle import (
    Tangle,
    connections,
    crossing_pairs,
    length_mm,
    lengths,
    measure,
    overlap_pairs,
    span,
)
from tests.strategies.boards import (
    BACK,
    BOTH,
    PadSpec,
    TrackSpec,
    block,
    boards,
    build,
    mirrored,
    translated,
    turned,
)
from tests.twins import tangle as twin


def taken(board: Board, left_out: tuple[int, ...] = (), copper: bool = True) -> Tangle:
    cols = pad_columns(board)
    labels = join(board, cols, np.full(len(board.nets), copper)).pads
    return measure(board, cols, labels, left_out)


@given(boards(), st.sets(st.integers(0, 2)), st.booleans())
@settings(max_examples=300)
def test_measure_is_what_the_definitions_say(board: Board, out: set[int], copper: bool) -> None:
    out &= set(range(len(board.nets)))
    cols = pad_columns(board)
    labels = join(board, cols, np.full(len(board.nets), copper)).pads
    tangle = measure(board, cols, labels, out)
    found = twin.connections(board, labels.tolist(), out)
    rows = tangle.connections
    assert list(zip(rows.net.tolist(), rows.a.tolist(), rows.b.tolist(), strict=True)) == found
    segments = [tuple(end) for end in rows.ends.tolist()]
    net = [entry[0] for entry in found]
    assert [tuple(p) for p in tangle.crossings.tolist()] == twin.pairs(segments, net, twin.cross)
    assert [tuple(p) for p in tangle.overlaps.tolist()] == twin.pairs(segments, net, twin.overlap)
    over = twin.over_pads(board, found, cols.corners.tolist())
    assert [tuple(p) for p in tangle.over_pads.tolist()] == over
    assert tangle.figures.length_mm == twin.length_mm(segments)


COORDINATE = st.one_of(st.integers(-4, 4), st.integers(-(10**9), 10**9))
SEGMENTS = st.lists(
    st.tuples(COORDINATE, COORDINATE, COORDINATE, COORDINATE, st.integers(0, 3)), max_size=25
)
LATTICE = st.lists(st.tuples(*[st.integers(0, 5)] * 4, st.integers(0, 9)), max_size=40)


@given(st.one_of(SEGMENTS, LATTICE))
@settings(max_examples=400)
def test_pairs_are_those_of_all_pairs(rows: list[tuple[int, ...]]) -> None:
    table = np.array(rows, dtype=np.int64).reshape(-1, 5)
    ends, net = table[:, :4], table[:, 4]
    segments = [row[:4] for row in rows]
    crossed = twin.pairs(segments, net.tolist(), twin.cross)
    assert [tuple(p) for p in crossing_pairs(ends, net).tolist()] == crossed
    overlapped = twin.pairs(segments, net.tolist(), twin.overlap)
    assert [tuple(p) for p in overlap_pairs(ends, net).tolist()] == overlapped


@given(LATTICE, st.integers(-(10**8), 10**8), st.integers(-(10**8), 10**8), st.integers(1, 10**7))
def test_pairs_survive_moving_scaling_turning_and_mirroring(
    rows: list[tuple[int, ...]], dx: int, dy: int, scale: int
) -> None:
    table = np.array(rows, dtype=np.int64).reshape(-1, 5)
    ends, net = table[:, :4], table[:, 4]
    moved = ends * scale + np.array([dx, dy, dx, dy])
    quarter = ends[:, [1, 0, 3, 2]] * np.array([1, -1, 1, -1])
    mirror = ends * np.array([1, -1, 1, -1])
    reversed_ = ends[:, [2, 3, 0, 1]]
    for pairs in (crossing_pairs, overlap_pairs):
        expected = pairs(ends, net)
        for other in (moved, quarter, mirror, reversed_):
            assert np.array_equal(pairs(other, net), expected)


@given(boards(), st.integers(-9, 9), st.integers(-9, 9))
@settings(max_examples=100)
def test_moving_a_board_changes_nothing(board: Board, dx: int, dy: int) -> None:
    one, two = taken(board), taken(translated(board, dx * 1_000_003, dy * 999_999))
    assert np.array_equal(one.connections.a, two.connections.a)
    assert np.array_equal(one.connections.b, two.connections.b)
    assert one.figures == two.figures


@given(boards(angles=(0.0, 90.0, 180.0, 270.0)))
@settings(max_examples=100)
def test_turning_and_mirroring_keep_the_length(board: Board) -> None:
    expected = taken(board)
    for other in (turned(board), mirrored(board)):
        found = taken(other)
        assert found.figures.length_mm == expected.figures.length_mm
        assert np.array_equal(found.connections.net, expected.connections.net)


@given(boards())
@settings(max_examples=100)
def test_names_of_nets_do_not_matter(board: Board) -> None:
    renamed = replace(board, nets=tuple(f"/z{len(board.nets) - i}" for i in range(len(board.nets))))
    assert taken(renamed).figures == taken(board).figures


@given(boards(), st.randoms(use_true_random=False))
@settings(max_examples=100)
def test_numbering_of_nets_does_not_matter(board: Board, random) -> None:  # type: ignore[no-untyped-def]
    order = list(range(len(board.nets)))
    random.shuffle(order)
    new = np.array([*order, -1])
    other = replace(
        board,
        nets=tuple(board.nets[order.index(i)] for i in range(len(order))),
        pads=tuple(pad._replace(net=int(new[pad.net])) for pad in board.pads),
        pins=tuple(pin._replace(net=int(new[pin.net])) for pin in board.pins),
        tracks=replace(board.tracks, net=new[board.tracks.net]),
        vias=replace(board.vias, net=new[board.vias.net]),
        zones=tuple(zone._replace(net=int(new[zone.net])) for zone in board.zones),
    )
    assert taken(other).figures == taken(board).figures


@given(boards())
@settings(max_examples=100)
def test_copper_never_adds_a_connection(board: Board) -> None:
    with_copper, without = taken(board), taken(board, copper=False)
    assert len(with_copper.connections) <= len(without.connections)
    assert with_copper.figures.length_mm <= without.figures.length_mm


@given(st.lists(st.tuples(*[st.integers(-(10**9), 10**9)] * 4), max_size=12))
def test_lengths_are_correctly_rounded_and_sum_in_any_order(rows: list[tuple[int, ...]]) -> None:
    ends = np.array(rows, dtype=np.int64).reshape(-1, 4)
    for row, length in zip(rows, lengths(ends).tolist(), strict=True):
        square = (row[2] - row[0]) ** 2 + (row[3] - row[1]) ** 2
        below = twin.Fraction(np.nextafter(length, 0)) if length else twin.Fraction(0)
        above = twin.Fraction(np.nextafter(length, np.inf))
        middle = twin.Fraction(length)
        assert ((below + middle) / 2) ** 2 <= square <= ((middle + above) / 2) ** 2
    assert length_mm(ends) == twin.length_mm(rows)
    assert length_mm(ends[::-1]) == length_mm(ends)


def cross_board(*more: PadSpec) -> Board:
    return build(
        [
            PadSpec("U1", "1", 0, 0, "A"),
            PadSpec("U2", "1", 10, 10, "A"),
            PadSpec("U1", "2", 0, 10, "B"),
            PadSpec("U2", "2", 10, 0, "B"),
            *more,
        ]
    )


def test_two_diagonals_cross_once() -> None:
    assert taken(cross_board()).figures == Figures(1, 0, 0, 28.284271)
    assert taken(cross_board(), left_out=(1,)).figures == Figures(0, 0, 0, 14.142136)


def test_a_pad_under_the_crossing_counts_for_both() -> None:
    assert taken(cross_board(PadSpec("U9", "7", 5, 5))).figures.over_pads == 2
    assert taken(cross_board(PadSpec("U9", "7", 5, 5, "A"))).figures.over_pads == 1


def test_pads_of_the_other_side_are_passed_unless_they_go_through() -> None:
    assert taken(cross_board(PadSpec("U9", "7", 5, 5, layers=BACK))).figures.over_pads == 0
    through = PadSpec("U9", "7", 5, 5, layers=BOTH, through=True)
    assert taken(cross_board(through)).figures.over_pads == 2
    pads = [PadSpec("U1", "1", 0, 0, "A"), PadSpec("J1", "1", 9, 0, "A", layers=BOTH, through=True)]
    for layers in (BACK, BOTH):
        under = PadSpec("U9", "7", 5, 0, layers=layers)
        assert taken(build([*pads, under])).figures.over_pads == 1


def test_through_holes_are_in_the_way_of_connections_on_no_outer_side() -> None:
    inner = [PadSpec("U1", str(i), x, 0, "A", layers=0b0010) for i, x in enumerate([0, 9])]
    for through, expected in ((True, 1), (False, 0)):
        under = PadSpec("U9", "7", 5, 0, layers=0b1111, through=through)
        assert taken(build([*inner, under], copper_layers=4)).figures.over_pads == expected


def test_unnumbered_and_unplated_pads_are_no_over_pads() -> None:
    assert taken(cross_board(PadSpec("U9", "", 5, 5))).figures.over_pads == 0
    assert taken(cross_board(PadSpec("U9", "7", 5, 5, plated=False))).figures.over_pads == 0


def test_a_pin_with_two_pads_counts_once_and_not_at_an_end() -> None:
    pads = [PadSpec("U1", "1", 0, 0, "A"), PadSpec("U2", "1", 9, 0, "A")]
    twice = [PadSpec("U9", "7", 3, 0), PadSpec("U9", "7", 6, 0)]
    assert taken(build([*pads, *twice])).figures.over_pads == 1
    stacked = [*twice, PadSpec("U9", "7", 0, 0)]
    assert taken(build([*pads, *stacked])).figures.over_pads == 0


def test_running_along_an_edge_is_not_running_over() -> None:
    pads = [PadSpec("U1", "1", 0, 0, "A"), PadSpec("U2", "1", 9, 0, "A")]
    for y, expected in ((0.5, 0), (0.499999, 1), (-0.5, 0)):
        beside = PadSpec("U9", "7", 5, y, shape=block(1, 1))
        assert taken(build([*pads, beside])).figures.over_pads == expected


def test_overlaps_of_connections_in_one_line() -> None:
    pads = [
        PadSpec("U1", "1", 0, 0, "A"),
        PadSpec("U2", "1", 6, 0, "A"),
        PadSpec("U1", "2", 4, 0, "B"),
        PadSpec("U2", "2", 9, 0, "B"),
    ]
    found = taken(build(pads)).figures
    assert (found.crossings, found.overlaps, found.over_pads) == (0, 1, 2)


def test_unnumbered_unplated_and_netless_pads_are_not_nodes() -> None:
    pads = [
        PadSpec("U1", "1", 0, 0, "A"),
        PadSpec("U1", "", 1, 0, "A"),
        PadSpec("U1", "3", 2, 0, "A", plated=False),
        PadSpec("U1", "4", 3, 0),
    ]
    assert len(taken(build(pads)).connections) == 0


def test_a_pin_on_two_nets_counts_where_its_pin_says() -> None:
    pads = [
        PadSpec("U1", "1", 0, 0, "A"),
        PadSpec("U1", "1", 5, 0, "B"),
        PadSpec("U2", "1", 9, 0, "A"),
        PadSpec("U2", "2", 9, 5, "B"),
    ]
    found = taken(build(pads)).connections
    assert list(zip(found.a.tolist(), found.b.tolist(), strict=True)) == [(1, 2), (0, 1)]


def test_an_empty_board_has_no_tangle() -> None:
    assert taken(build([])).figures == Figures(0, 0, 0, 0.0)


def test_rows_are_by_net_then_by_length() -> None:
    pads = [
        PadSpec("U1", str(i), x, 0, net)
        for i, (x, net) in enumerate([(0, "A"), (9, "A"), (11, "A"), (0, "B"), (1, "B"), (30, "A")])
    ]
    board = build(pads)
    cols = pad_columns(board)
    found = connections(board, cols, np.arange(len(pads)), ())
    assert found.net.tolist() == [0, 0, 0, 1]
    assert list(zip(found.a.tolist(), found.b.tolist(), strict=True)) == [
        (1, 2),
        (0, 1),
        (2, 5),
        (3, 4),
    ]
    part = [pad for pad in range(len(pads)) if board.pads[pad].net == 0]
    edges = span(np.array(part), cols, np.arange(len(pads)))
    assert edges.tolist() == [[1, 2], [0, 1], [2, 5]]


def test_a_track_that_reaches_nobody_leaves_the_connection_open() -> None:
    pads = [PadSpec("U1", "1", 0, 0, "A"), PadSpec("U2", "1", 9, 0, "A")]
    assert len(taken(build(pads, [TrackSpec((0, 0, 8, 0), "A")])).connections) == 1
    assert len(taken(build(pads, [TrackSpec((0, 0, 9, 0), "A")])).connections) == 0
