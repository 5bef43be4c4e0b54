"""IPC-D-356A as careless writers make it: every list is used, or refused with its line.

What is seen in the wild is common practice, no source; columns as in the reader.
"""

from __future__ import annotations

import pytest
from cases.records import LIST
from hypothesis import given
from hypothesis import strategies as st

from renet.changes import ChangeList, Move, Swap
from renet.deliver import BoardFile, deliver_board
from renet.errors import InputError
from renet.model import Board
from renet.pipeline import Inputs, Named, survey
from renet.read.ipc356 import read_ipc356

LONG = "/SONDE/CALIBRATION_LEAK"
NETS = {
    "U3:1": "GND", "U3:2": "/SONDE_TX", "U3:3": LONG, "U3:4": None, "J7:1": "/SONDE_TX",
    "J7:2": "GND", "J7:3": None, "R5:1": LONG, "R5:2": None,
}  # fmt: skip
MOVES = (Move("U3", "1", "", "GND", None), Move("U3", "4", "", None, "GND"))


def nets(board: Board) -> dict[str, str | None]:
    return {board.pin_label(i): board.net_name(pin.net) for i, pin in enumerate(board.pins)}


def edited(*edits: tuple[bytes, bytes]) -> bytes:
    data = LIST
    for old, new in edits:
        assert old in data
        data = data.replace(old, new)
    return data


def lines(data: bytes) -> list[bytes]:
    return data.split(b"\r\n")


R5 = b"327NNAME1           R5    -1          A04X+025000Y-020000X0800Y0900R000 S2\r\n"
USED = {
    "line feeds": LIST.replace(b"\r\n", b"\n"),
    "mixed line ends": LIST.replace(b"\r\n", b"\n", 7),
    "no end record": LIST.replace(b"999\r\n", b""),
    "no last line end": LIST.removesuffix(b"\r\n"),
    "blank lines": LIST.replace(b"\r\n", b"\r\n\r\n"),
    "end of file character": LIST + b"\x1a",
    "text after the end": LIST + b"and so on\r\n327GND              U9    -1          A01X0Y0\r\n",
    "a record twice": edited((R5, R5 + R5)),
    "no dash at all": edited((b"    -", b"     ")),
    "pin in the dash's column": edited((b"U3    -2   ", b"U3    2    ")),
    "nothing after the place": b"\r\n".join(line[:58] for line in lines(LIST)),
    "broken mask fields": edited((b" S2", b" SXYZ!"), (b" S0", b"\xff")),
    "places without signs": edited((b"X+", b"X "), (b"Y+", b"Y ")),
    "places without leading noughts": edited((b"X+0", b"X+"), (b"Y-0", b"Y-")),
    "no access": edited((b"A01", b"   ")),
    "tabs after column 31": edited((b"       A01", b"\tA01")),
    "lines longer than 80": edited((b"R000 S2", b"R000 S2" + b" " * 60 + b"more")),
    "small letters for vias and open pins": edited((b"VIA", b"via"), (b"N/C", b"n/c")),
    "open pins left blank": edited((b"327N/C", b"327   ")),
    "nets not at the left": edited((b"GND     ", b"    GND ")),
    "alias after its use": edited((b"P  NNAME1  " + LONG.encode() + b"\r\n", b""),
                                  (b"999", b"P  NNAME1  " + LONG.encode() + b"\r\n999")),
    "alias said twice": edited((b"P  NNAME1", b"P  NNAME1  " + LONG.encode() + b"\r\nP  NNAME1")),
    "units twice": edited((b"P  UNITS CUST 1", b"P  UNITS CUST 1\r\nP  UNITS SI")),
    "units last": edited((b"P  UNITS CUST 1\r\n", b""), (b"999", b"P  UNITS CUST 1\r\n999")),
    "unknown records": edited((b"999", b"378GND  \r\n390ABC\r\n088 more\r\n999")),
    "unknown parameters": edited((b"P  JOB   BUOY", b"P  arrayDim   N\r\nP  VER   IPC-D-356A")),
    "unknown operations on pins": edited((b"317/SONDE_TX", b"307/SONDE_TX")),
    "a comment first, without text": b"C\r\n" + LIST,
    "no header": LIST[LIST.index(b"P  UNITS") :],
    "a part without pin": edited((b"999", b"327GND              TP1               A01X0Y0\r\n999")),
}  # fmt: skip


@pytest.mark.parametrize("data", USED.values(), ids=USED)
def test_what_can_be_used_is_used_and_written(data: bytes) -> None:
    file = BoardFile(data, *read_ipc356(data))
    assert nets(file.board) == NETS
    assert deliver_board(file, ChangeList((), ())).data == data
    after = deliver_board(file, ChangeList((), (Swap(1, MOVES),)))
    found = nets(read_ipc356(after.data)[0])
    assert found == NETS | {"U3:1": None, "U3:4": "GND"}
    assert len(after.data) == len(data)


REFUSED = [
    (b"\r\n", b"\r", "F:1:1: its lines end with carriage returns only"),
    (b"327/SONDE_TX        U3", b"327/SONDE_TX\t\tU3", "F:7:1: a tab among columns 4 to 31"),
    (b"327/SONDE_TX ", b" 327/SONDE_TX ", "F:7:1: a record that does not begin in column 1"),
    (b"P  NNAME1", b"P  NNAME1  /OTHER\r\nP  NNAME1", "F:5:1: NNAME1 stands for two names"),
    (b"999", b"P  UNITS CUST 0\r\n999", "F:19:1: other units than before"),
    (b"CUST 1", b"CUST 3", "F:3:1: unknown units 3"),
    (b"CUST 1", b"MM", "F:3:1: unknown units MM"),
    (b"A01X+020500Y-010000X1500Y0300R090", b"A01", "F:7:1: a record without X and Y"),
    (b"A01X+020500Y-010000", b"A01X+20.500Y-10.000", "F:7:1: a record without X and Y"),
    (b"A01X+020500Y-0", b"A01X+020500Z-0", "F:7:1: a record without X and Y"),
    (b"A01X+020500", b"A01X+120000500", "F:7:1: a record without X and Y"),
    (b"A01X+020500", b"A77X+020500", "F:7:1: access from layer 77"),
    (b"X+020500", b"X5000000", "F:7:1: the board is wider than 2 m"),
    (LIST, b"P  JOB x\r\n999\r\n" + LIST, "F:1:1: no record of a pin"),
    (LIST, b"\xef\xbb\xbf" + LIST, "F:1:1: the file begins with a byte order mark"),
    (LIST, LIST.decode().encode("utf-16"), "F:1:1: the file is UTF-16 text"),
    (b"BUOY", b"BU\0Y", "F:2:12: the file is not text"),
    (LIST, b"", "F:1:1: the file is empty"),
    (LIST, b"HEADER\r\n" + LIST, "F:1:1: expected '(' at the start"),
]


@pytest.mark.parametrize(("old", "new", "said"), REFUSED, ids=[said[2:] for *_, said in REFUSED])
def test_what_cannot_be_used_is_refused_with_its_line(old: bytes, new: bytes, said: str) -> None:
    with pytest.raises(InputError) as caught:
        read_ipc356(edited((old, new)))
    text = str(caught.value.in_file("F"))
    assert text.startswith(said)
    assert "; " in text and "\n" not in text


@given(st.integers(-40_000, 40_000), st.integers(-40_000, 40_000), st.booleans())
def test_origin_and_sense_of_y_change_no_figure(right: int, up: int, mirrored: bool) -> None:
    """A list whose y points down is the mirror image: it has the same tangle."""

    def moved(line: bytes) -> bytes:
        at = line.find(b"X", 32)
        if (
            line[:1] not in (b"0", b"3")
            or line[:3] == b"378"
            or at < 0
            or line[at + 8 : at + 9] != b"Y"
        ):
            return line
        x, y = int(line[at + 1 : at + 8]), int(line[at + 9 : at + 16])
        y = (-y if mirrored else y) + up
        return line[: at + 1] + b"%+07d" % (x + right) + b"Y" + b"%+07d" % y + line[at + 16 :]

    data = b"\r\n".join(map(moved, lines(LIST)))
    before, after = (survey(Inputs(Named("b", d))).tangle.figures for d in (LIST, data))
    assert data != LIST or not (right or up or mirrored)
    assert after == before
