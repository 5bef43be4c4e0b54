"""What copper joins, against a slow twin and by laws."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from renet.columns import pad_columns
from renet.copper import foreign, join
from renet.model import Board
from tests.strategies.boards import (
    BACK,
    BOTH,
    PadSpec,
    TrackSpec,
    ViaSpec,
    ZoneSpec,
    block,
    boards,
    build,
    mirrored,
    rectangle,
    translated,
    turned,
)
from tests.twins.touching import all_copper, foreign_touches, joined

STRAIGHT = (0.0, 90.0, 180.0, 270.0)


def everything(board: Board):  # type: ignore[no-untyped-def]
    return join(board, pad_columns(board), np.ones(len(board.nets), dtype=bool), no_net=True)


def partition(label: np.ndarray) -> set[frozenset[int]]:
    groups: dict[int, set[int]] = {}
    for element, name in enumerate(label.tolist()):
        groups.setdefault(name, set()).add(element)
    return {frozenset(group) for group in groups.values()}


@given(boards(), st.sets(st.integers(-1, 2)))
@settings(max_examples=150)
def test_join_is_what_the_slow_twin_joins(board: Board, asked: set[int]) -> None:
    nets = np.array([net in asked for net in range(len(board.nets))], dtype=bool)
    found = join(board, pad_columns(board), nets, no_net=-1 in asked)
    expected = {frozenset(cluster) for cluster in joined(board, asked)}
    assert partition(found.label) == expected
    assert all(found.label[min(cluster)] == min(cluster) for cluster in expected)


def test_a_track_from_pad_to_via_is_one_cluster() -> None:
    """Every kind of copper tells its label by the same numbers: that of the lowest pad."""
    board = build(
        [PadSpec("U1", "1", 0, 0, "A"), PadSpec("U1", "2", 5, 5, "A")],
        [TrackSpec((0, 0, 2, 0), "A")],
        [ViaSpec(2, 0, "A")],
    )
    found = everything(board)
    assert found.pads.tolist() == [0, 1]
    assert (found.tracks.tolist(), found.vias.tolist(), found.fills.tolist()) == ([0], [0], [])


@given(boards())
@settings(max_examples=120)
def test_foreign_touches_are_those_of_the_slow_twin(board: Board) -> None:
    table = everything(board).elements
    mine = np.arange(len(table)) < table.tracks
    found = {(int(i), int(j)) for i, j in foreign(board, table, mine)}
    assert found == foreign_touches(board)


@given(boards(angles=STRAIGHT), st.integers(-9, 9), st.integers(-9, 9))
@settings(max_examples=100)
def test_moving_turning_and_mirroring_join_the_same(board: Board, dx: int, dy: int) -> None:
    expected = partition(everything(board).label)
    for other in (translated(board, dx * 70_001, dy), turned(board), mirrored(board)):
        assert partition(everything(other).label) == expected


@given(boards(), st.randoms(use_true_random=False))
@settings(max_examples=100)
def test_order_of_tracks_and_names_of_nets_do_not_matter(board: Board, random) -> None:  # type: ignore[no-untyped-def]
    order = list(range(len(board.tracks)))
    random.shuffle(order)
    tracks = board.tracks
    columns = {name: getattr(tracks, name)[order] for name in tracks.__slots__}
    renamed = tuple(f"other {name}" for name in board.nets)
    shuffled = replace(board, tracks=replace(tracks, **columns), nets=renamed)
    one, two = everything(board), everything(shuffled)
    assert partition(one.pads) == partition(two.pads)
    assert np.array_equal(one.pads, two.pads)
    assert len(partition(one.label)) == len(partition(two.label))


def labels(board: Board, *nets: str) -> list[int]:
    asked = np.array([name in nets for name in board.nets], dtype=bool)
    return join(board, pad_columns(board), asked).pads.tolist()


def two_pads(layers: int = 1) -> list[PadSpec]:
    return [PadSpec("U1", "1", 0, 0, "A"), PadSpec("U2", "1", 10, 0, "A", layers=layers)]


def test_a_track_joins_two_pads_of_its_net_if_the_net_is_asked() -> None:
    board = build(two_pads(), [TrackSpec((0, 0, 10, 0), "A")])
    assert labels(board, "A") == [0, 0]
    assert labels(board) == [0, 1]


def test_a_track_of_another_net_or_of_none_joins_nothing() -> None:
    for net in ("B", None):
        board = build(two_pads(), [TrackSpec((0, 0, 10, 0), net)])
        assert labels(board, "A", "B") == [0, 1]


def test_layers_are_joined_by_vias_and_by_through_holes_only() -> None:
    tracks = [TrackSpec((0, 0, 5, 0), "A", 0), TrackSpec((5, 0, 10, 0), "A", 1)]
    assert labels(build(two_pads(BACK), tracks), "A") == [0, 1]
    assert labels(build(two_pads(BACK), tracks, [ViaSpec(5, 0, "A")]), "A") == [0, 0]
    hole = PadSpec("J1", "1", 5, 0, "A", layers=BOTH, through=True)
    assert labels(build([*two_pads(BACK), hole], tracks), "A") == [0, 0, 0]
    unplated = replace(hole, plated=False)
    assert labels(build([*two_pads(BACK), unplated], tracks), "A") == [0, 1, 2]


def test_touching_ends_within_five_nanometres() -> None:
    edge = 0.5 + 0.1
    for gap, expected in ((0.000005, [0, 0]), (0.000006, [0, 1])):
        board = build(two_pads(), [TrackSpec((edge + gap, 0, 10, 0), "A")])
        assert labels(board, "A") == expected


def test_touching_sides_within_five_nanometres() -> None:
    for gap, expected in ((0.000005, [0, 0]), (0.000006, [0, 1])):
        y = 0.5 + 0.1 + gap
        board = build(two_pads(), [TrackSpec((-3, y, 5, y), "A"), TrackSpec((5, y, 10, 0), "A")])
        assert labels(board, "A") == expected


def test_an_arc_joins_along_its_curve_and_not_along_its_chord() -> None:
    pads = [*two_pads(), PadSpec("U3", "1", 5, 5, "A"), PadSpec("U4", "1", 5, 0, "A")]
    board = build(pads, [TrackSpec((0, 0, 10, 0), "A", mid=(5, 5))])
    assert labels(board, "A") == [0, 0, 0, 3]


def test_a_fill_joins_what_lies_inside_it_and_not_in_its_hole() -> None:
    outer = rectangle(-2, -2, 12, 12)
    hole = rectangle(3, 3, 7, 7)
    slit = [*outer, outer[0], *hole, hole[0]]
    pads = [*two_pads(), PadSpec("U3", "1", 5, 5, "A")]
    board = build(pads, zones=[ZoneSpec("A", outer, [(0, slit)])])
    assert labels(board, "A") == [0, 0, 2]
    grown = build(pads, zones=[ZoneSpec("A", outer, [(0, slit)], grow=1.5)])
    assert labels(grown, "A") == [0, 0, 0]


def test_a_small_fill_inside_a_pad_touches_it() -> None:
    pad = PadSpec("U1", "1", 0, 0, "A", shape=block(4, 4))
    board = build([pad], zones=[ZoneSpec("A", [], [(0, rectangle(-1, -1, 1, 1))])])
    assert everything(board).fills.tolist() == [0]


def test_pads_that_overlap_are_one_node_without_any_copper() -> None:
    pads = [PadSpec("U1", "1", 0, 0, "A"), PadSpec("U1", "2", 0.9, 0, "A")]
    assert labels(build(pads)) == [0, 0]
    assert labels(build([pads[0], replace(pads[1], layers=BACK)])) == [0, 1]


def test_a_heap_of_pads_at_one_point_is_one_node() -> None:
    pads = [PadSpec(f"U{i}", "1", 0, 0, "AB"[i % 2]) for i in range(1_000)]
    assert labels(build(pads)) == [0, 1] * 500


def test_elements_are_numbered_like_the_twin() -> None:
    board = build(two_pads(), [TrackSpec((0, 0, 1, 0), "A")], [ViaSpec(1, 0, "B")])
    table = everything(board).elements
    assert table.net.tolist() == [copper.net for copper in all_copper(board)]
