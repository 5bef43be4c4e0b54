"""Change lists made into files: the gate and the second opinion agree, the inverse undoes."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from conftest import CORPUS
from hypothesis import given, settings
from hypothesis import strategies as st

from renet import gate
from renet.changes import ChangeList, Move, Swap
from renet.columns import pad_columns
from renet.copper import Mode
from renet.deliver import BoardFile, NetlistFile, deliver_board, deliver_netlist, pin_moves
from renet.errors import GateError, StaleError
from renet.model import NONE, Board
from renet.read.board import read_board
from renet.read.netlist import read_netlist
from renet.recopper import held_pins

BOARDS = sorted(CORPUS.glob("*/*.kicad_pcb"))


@cache
def opened(index: int) -> BoardFile:
    data = BOARDS[index].read_bytes()
    return BoardFile(data, *read_board(data))


@cache
def movable(index: int, mode: Mode) -> tuple[int, ...]:
    """Pins of the largest part that copper does not hold."""
    board = opened(index).board
    largest = max(board.parts, key=lambda part: len(part.pins))
    wanted = np.zeros(len(board.pins), dtype=bool)
    wanted[list(largest.pins)] = [not board.pins[pin].fault for pin in largest.pins]
    held = held_pins(board, pad_columns(board), mode, wanted)
    return tuple(pin for pin in np.flatnonzero(wanted).tolist() if pin not in held)


def exchange(board: Board, pins: list[int], nets: list[int], mode: Mode) -> ChangeList:
    """``pins`` get ``nets``, as a change list of one swap."""
    moves = tuple(
        Move(*board.pin_key(pin), board.pins[pin].name, board.net_name(board.pins[pin].net), new)
        for pin, new in ((p, board.net_name(n)) for p, n in zip(pins, nets, strict=True))
        if board.net_name(board.pins[pin].net) != new
    )
    return ChangeList((), (Swap(1, moves),) if moves else (), mode.value)


@settings(max_examples=60)
@given(st.data())
def test_any_exchange_passes_gate_and_second_opinion(data: st.DataObject) -> None:
    index = data.draw(st.integers(0, len(BOARDS) - 1))
    mode = data.draw(st.sampled_from(Mode))
    file = opened(index)
    pins = data.draw(st.lists(st.sampled_from(movable(index, mode)), unique=True, max_size=12))
    nets = data.draw(st.permutations([file.board.pins[pin].net for pin in pins]))
    changes = exchange(file.board, pins, list(nets), mode)
    written = deliver_board(file, changes)
    found = {pin: written.board.pins[pin].net for pin in pins}
    assert found == dict(zip(pins, nets, strict=True))
    back = BoardFile(written.data, *read_board(written.data))
    restored = deliver_board(back, changes.inverse())
    if mode is Mode.KEEP and _bytes_return(file.board, pins):
        assert restored.data == file.data
    assert _without_marks(restored.board).pins == _without_marks(file.board).pins


def _bytes_return(board: Board, pins: list[int]) -> bool:
    """Open pins of these boards either have a list and a mark, or nothing that changes."""
    return all(board.pins[pin].net != NONE or board.pins[pin].no_connect for pin in pins)


def _without_marks(board: Board) -> Board:
    """A pin that was open without a mark gets one when it is opened again."""
    return replace(board, pins=tuple(pin._replace(no_connect=False) for pin in board.pins))


@pytest.mark.parametrize("path", BOARDS, ids=lambda path: path.stem)
def test_a_change_of_nothing_is_byte_identical(path) -> None:  # type: ignore[no-untyped-def]
    data = path.read_bytes()
    assert deliver_board(BoardFile(data, *read_board(data)), ChangeList((), ())).data == data


@pytest.mark.parametrize("path", sorted(CORPUS.glob("*/*.net")), ids=lambda path: path.stem)
def test_netlist_nodes_move_and_return(path) -> None:  # type: ignore[no-untyped-def]
    data = path.read_bytes()
    file = NetlistFile(data, *read_netlist(data))
    assert deliver_netlist(file, ChangeList((), ()))[0] == data
    rng = random.Random(5)
    nodes = [node for node in file.netlist.nodes if node.ref == file.netlist.nodes[-1].ref]
    largest = max({node.ref for node in file.netlist.nodes}, key=lambda ref: _size(file, ref))
    nodes = [node for node in file.netlist.nodes if node.ref == largest]
    for _ in range(10):
        picked = rng.sample(nodes, 8)
        nets = [node.net for node in picked]
        rng.shuffle(nets)
        moves = tuple(
            Move(node.ref, node.pin, node.name, node.net, net)
            for node, net in zip(picked, nets, strict=True)
            if node.net != net
        )
        changes = ChangeList((), (Swap(1, moves),) if moves else ())
        written, verdict = deliver_netlist(file, changes)
        assert verdict.ok
        back = NetlistFile(written, *read_netlist(written))
        restored = deliver_netlist(back, changes.inverse())[0]
        assert sorted(read_netlist(restored)[0].nodes, key=str) == sorted(
            file.netlist.nodes, key=str
        )


def _size(file: NetlistFile, ref: str) -> int:
    return sum(node.ref == ref for node in file.netlist.nodes)


def test_a_stale_list_names_what_differs() -> None:
    board = opened(0).board
    ref, number = board.pin_key(0)
    lists = {
        "is not there": Move("U99", "1", "", None, None),
        "is on": Move(ref, number, "", "/NO_SUCH", None),
        "there is no net": Move(ref, number, "", board.net_name(board.pins[0].net), "/NO_SUCH"),
    }
    for words, move in lists.items():
        with pytest.raises(StaleError, match=words):
            pin_moves(board, ChangeList((), (Swap(1, (move,)),)))


def test_the_gate_stops_a_writer_that_lies(monkeypatch: pytest.MonkeyPatch) -> None:
    """A writer that forgets its edits, or tears the file, never gets past the gate."""
    index = 0
    file, pins = opened(index), list(movable(index, Mode.KEEP))[:6]
    nets = [file.board.pins[pin].net for pin in pins]
    changes = exchange(file.board, pins, nets[1:] + nets[:1], Mode.KEEP)
    assert changes.swaps
    for written in (file.data, file.data[:-9], b""):
        monkeypatch.setattr(gate, "board_bytes", lambda *_, made=written: made)
        with pytest.raises(GateError):
            deliver_board(file, changes)
