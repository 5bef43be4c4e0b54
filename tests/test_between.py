"""What moved between two files."""

from __future__ import annotations

from strategies.records import board_of

from renet.between import between
from renet.changes import Move


def moves(before: dict, after: dict) -> list[Move]:  # type: ignore[type-arg]
    return list(between(board_of(before), board_of(after)).changes.moves)


def test_nothing_moved() -> None:
    board = {"U1": {"1": "A", "2": None}}
    assert moves(board, board) == []


def test_a_net_all_of_whose_pins_moved_keeps_its_name() -> None:
    before = {"U1": {"1": "/D0", "2": "/D1"}, "J1": {"1": "/D0", "2": "/D1"}}
    after = {"U1": {"1": "/D1", "2": "/D0"}, "J1": {"1": "/D1", "2": "/D0"}}
    assert len(moves(before, after)) == 4
    half = {"U1": {"1": "/D1", "2": "/D0"}, "J1": {"1": "/D0", "2": "/D1"}}
    assert moves(before, half) == [
        Move("U1", "1", "", "/D0", "/D1"),
        Move("U1", "2", "", "/D1", "/D0"),
    ]


def test_automatic_names_are_paired_by_pins() -> None:
    before = {"U1": {"1": "Net-(R1-Pad1)"}, "R1": {"1": "Net-(R1-Pad1)"}}
    after = {"U1": {"1": "Net-(U1-OUT)"}, "R1": {"1": "Net-(U1-OUT)"}}
    assert moves(before, after) == []


def test_pins_of_one_file_only_are_listed() -> None:
    found = between(board_of({"U1": {"1": "A", "2": "B"}}), board_of({"U1": {"1": "A", "3": "B"}}))
    assert (found.gone, found.new) == ((("U1", "2"),), (("U1", "3"),))
    assert found.changes.swaps == ()
