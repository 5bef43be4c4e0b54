from __future__ import annotations

import random
import re
from pathlib import Path

import pytest
from cases.records import LIST
from conftest import CORPUS
from hypothesis import given
from hypothesis import strategies as st

from renet.errors import InputError
from renet.model import NONE, Board
from renet.read.board import read_board
from renet.read.ipc356 import read_ipc356
from renet.read.kind import RECORDS, kind_of
from renet.write_ipc356 import export_bytes, record_bytes

LONG = "/SONDE/CALIBRATION_LEAK"
MM = 1_000_000


def nets(board: Board) -> dict[str, str | None]:
    return {board.pin_label(i): board.net_name(pin.net) for i, pin in enumerate(board.pins)}


def test_pins_and_nets() -> None:
    board, _ = read_ipc356(LIST)
    assert kind_of(LIST) == RECORDS
    assert nets(board) == {
        "U3:1": "GND",
        "U3:2": "/SONDE_TX",
        "U3:3": LONG,
        "U3:4": None,
        "J7:1": "/SONDE_TX",
        "J7:2": "GND",
        "J7:3": None,
        "R5:1": LONG,
        "R5:2": None,
    }
    assert board.nets == ("/SONDE/CALIBRATION_LEAK", "/SONDE_TX", "GND")
    assert [part.ref for part in board.parts] == ["U3", "J7", "R5", "H1"]
    assert [part.back for part in board.parts] == [False, False, True, False]


def test_places_sizes_and_layers() -> None:
    board, _ = read_ipc356(LIST)
    assert len(board.layers) == 4
    u3, j7, r5 = (board.pads[board.parts[i].pads[0]] for i in range(3))
    assert (u3.x, u3.y, u3.angle, u3.layers) == (20 * MM, 10 * MM, 90.0, 0b0001)
    assert u3.shape.box == (-750_000, -150_000, 750_000, 150_000)
    assert (j7.through, j7.layers) == (True, 0b1111)
    assert (r5.through, r5.layers) == (False, 0b1000)
    hole = board.pads[-1]
    assert (hole.pin, hole.plated, hole.through) == (NONE, False, True)
    assert len(board.pins[7].pads) == 2, "the continuation is a second pad of R5:1"


def test_round_pads_have_one_size() -> None:
    board, _ = read_ipc356(LIST)
    core = board.pads[board.pins[5].pads[0]].shape.cores[0]
    assert (core.points, core.radius) == (((0, 0),), 850_000)


@pytest.mark.parametrize(
    ("units", "step", "degrees"),
    [
        (b"CUST 0", 2540, 90),
        (b"CUST 1", 1000, 90),
        (b"CUST 2", 2540, 51.566),
        (b"CUST", 2540, 90),
        (b"SI", 1000, 90),
    ],
)
def test_units(units: bytes, step: int, degrees: float) -> None:
    board, _ = read_ipc356(LIST.replace(b"CUST 1", units))
    assert board.pads[0].x == 20_000 * step
    assert board.pads[0].angle == pytest.approx(degrees, abs=1e-3)


def test_without_units_lengths_are_fractions_of_an_inch() -> None:
    board, _ = read_ipc356(LIST.replace(b"P  UNITS CUST 1\r\n", b""))
    assert board.pads[0].x == 20_000 * 2540


def test_pads_of_one_pin_on_two_nets_hold_it() -> None:
    board, _ = read_ipc356(LIST.replace(b"027     ", b"027GND  "))
    assert board.pins[7].fault == "its pads are on different nets"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (b"CUST 1", b"CUST 7", "F:3:1: unknown units 7"),
        (b"A01X+020500", b"A01 +020500", "F:7:1: a record without X and Y"),
        (b"A01X+020500", b"A99X+020500", "F:7:1: access from layer 99"),
        (b"X+020500", b"X9999999", "F:7:1: the board is wider than 2 m"),
    ],
)
def test_what_is_wrong_is_told_by_line(old: bytes, new: bytes, said: str) -> None:
    assert old in LIST
    with pytest.raises(InputError) as caught:
        read_ipc356(LIST.replace(old, new))
    assert str(caught.value.in_file("F")).startswith(said)


def test_a_list_without_pins_is_refused() -> None:
    with pytest.raises(InputError, match="no record of a pin"):
        read_ipc356(b"P  UNITS CUST 0\n999\n")


def test_nothing_moved_nothing_written() -> None:
    board, spans = read_ipc356(LIST)
    assert record_bytes(LIST, spans, board, board) == LIST


@pytest.mark.parametrize("path", sorted(CORPUS.glob("*/*.kicad_pcb")), ids=lambda p: p.stem)
def test_what_is_exported_reads_back(path: Path) -> None:
    board, _ = read_board(path.read_bytes())
    made = export_bytes(board, [0] * len(board.pads))
    found, spans = read_ipc356(made.data)
    assert made.shortened == ()
    assert nets(found) == nets(board)
    assert all(len(line) <= 80 for line in made.data.splitlines())
    assert record_bytes(made.data, spans, found, found) == made.data


@given(st.lists(st.tuples(st.integers(0, len(LIST) - 1), st.binary(max_size=6)), max_size=8))
def test_damage_never_ends_in_a_traceback(cuts: list[tuple[int, bytes]]) -> None:
    data = LIST
    for at, put in cuts:
        data = data[:at] + put + data[at + len(put) :]
    try:
        board, spans = read_ipc356(data)
    except InputError as fault:
        assert fault.line >= 1
    else:
        assert record_bytes(data, spans, board, board) == data


def test_dropped_columns_never_end_in_a_traceback() -> None:
    chance = random.Random(356)
    for _ in range(300):
        lines = LIST.split(b"\n")
        row = chance.randrange(len(lines))
        lines[row] = re.sub(rb".", b"", lines[row], count=chance.randrange(80))
        try:
            read_ipc356(b"\n".join(lines))
        except InputError as fault:
            assert fault.what
