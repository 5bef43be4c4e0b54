"""Flat or not, and how many nets must leave the layer: small cases with known answers."""

from __future__ import annotations

from itertools import combinations, permutations

from hypothesis import given
from hypothesis import strategies as st
from strategies.records import board_of

from renet.columns import pad_columns
from renet.copper import join
from renet.model import Board
from renet.planarity import facing, flat_chords, increasing, planarity
from renet.tangle import Tangle, measure


def tangle_of(board: Board) -> Tangle:
    cols = pad_columns(board)
    nothing = cols.node[:0].copy()
    nothing.resize(len(board.nets), refcheck=False)
    return measure(board, cols, join(board, cols, nothing).pads, ())


def rows(order: list[int]) -> Board:
    """Two facing columns of pins; net i goes from row i to where ``order`` has it."""
    first = {str(i): f"N{i}" for i in range(len(order))}
    return board_of({"A": first, "B": {str(i): f"N{net}" for i, net in enumerate(order)}})


def leave(order: list[int]) -> int:
    board = rows(order)
    found = facing(board, tangle_of(board))
    return found[0].leave if found else 0


def test_the_numbers_a_layout_engineer_would_say() -> None:
    """In order: none; a reversal: all but one; one stray net: that one (facts of the trade)."""
    assert leave(list(range(6))) == 0
    assert leave(list(range(6))[::-1]) == 5
    assert leave([5, 0, 1, 2, 3, 4]) == 1


@given(st.permutations(range(6)))
def test_what_stays_is_the_longest_increasing_run(order: list[int]) -> None:
    longest = max(
        size
        for size in range(7)
        for kept in combinations(order, size)
        if list(kept) == sorted(kept)
    )
    assert increasing(order) == longest
    assert leave(list(order)) == 6 - longest


def cross(one: tuple[int, int], two: tuple[int, int]) -> bool:
    (a, b), (c, d) = sorted(one), sorted(two)
    return a < c < b < d or c < a < d < b


@given(st.permutations(range(10)))
def test_flat_chords_against_trying_all(ends: list[int]) -> None:
    chords = list(zip(ends[::2], ends[1::2], strict=True))
    best = max(
        size
        for size in range(6)
        for kept in combinations(chords, size)
        if not any(cross(one, two) for one, two in combinations(kept, 2))
    )
    assert flat_chords(chords) == best
    assert flat_chords([]) == 0


def test_two_rows_in_any_order_of_three_are_flat_and_more_may_not_be() -> None:
    """Three spokes may be mirrored; of four, only the dihedral orders are flat.

    Cyclic orders of four things up to rotation and reflection: 3, one of them
    flat: 8 of 24 permutations (counted by hand).
    """
    for order in permutations(range(3)):
        board = rows(list(order))
        assert planarity(board, tangle_of(board)).planar
    flat = [planarity(b, tangle_of(b)).planar for b in map(rows, map(list, permutations(range(4))))]
    assert sum(flat) == 8


def test_a_conflict_names_nets_none_of_which_can_be_spared() -> None:
    board = rows([0, 2, 1, 3, 4, 5])
    found = planarity(board, tangle_of(board))
    assert not found.planar
    names = [name for name in board.nets if name in found.conflict]
    assert len(names) == 4
    order = [net for net in (0, 2, 1, 3, 4, 5) if f"N{net}" in names]
    kept = rows([sorted(order).index(net) for net in order])
    assert not planarity(kept, tangle_of(kept)).planar


def test_layers_of_straight_connections() -> None:
    for count in (1, 2, 5):
        board = rows(list(range(count))[::-1])
        assert planarity(board, tangle_of(board)).layers == count
    empty = board_of({"A": {"1": None}})
    assert planarity(empty, tangle_of(empty)).layers == 0


def test_a_part_joined_to_itself_is_one_rim() -> None:
    """Nested and neighbouring chords stay; of two that interleave one must leave."""
    for nets, leave in (("ABBACC", 0), ("ABABCC", 1), ("ABCABC", 2)):
        board = board_of({"U": {str(i): net for i, net in enumerate(nets)}})
        assert [(f.nets, f.leave) for f in facing(board, tangle_of(board))] == [(3, leave)]
