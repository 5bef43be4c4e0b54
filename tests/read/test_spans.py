from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from cases.buoys import ALL, MIDDLE, NEWEST, OLD
from conftest import CORPUS

from renet.model import IntArray
from renet.read.board import read_board
from renet.read.slots import Slot
from renet.read.spans import NOWHERE
from renet.splice import Edit, splice

BOARDS = sorted(CORPUS.glob("*/*.kicad_pcb"))


def cut(data: bytes, spans: IntArray) -> list[bytes]:
    return [data[start:end] if start >= 0 else b"-" for start, end in spans.tolist()]


@pytest.fixture(params=sorted(ALL))
def data(request: pytest.FixtureRequest) -> bytes:
    return ALL[request.param]


def test_pads() -> None:
    spans = read_board(OLD)[1]
    values = cut(OLD, spans.pads.net_value)
    assert values[:4] == [b"1 GND", b"2 /SONDE_TX", b"3 /LED_A", b"-"]
    assert cut(OLD, spans.pads.net)[0] == b"(net 1 GND)"
    assert cut(OLD, spans.pads.node)[3] == (
        b"(pad 4 smd rect (at 3 -1 90) (size 1 0.5) (layers Top F.Paste F.Mask))"
    )
    assert set(cut(OLD, spans.pads.pin_type)) == {b"-"}
    assert [spans.names[k] if k >= 0 else None for k in spans.pads.carried[:4].tolist()] == [
        "GND",
        "/SONDE_TX",
        "/LED_A",
        None,
    ]
    spans = read_board(NEWEST)[1]
    assert cut(NEWEST, spans.pads.net_value)[3] == b'"unconnected-(U3-IO_A3-Pad4)"'
    assert cut(NEWEST, spans.pads.pin_type)[3] == b'"bidirectional+no_connect"'
    assert spans.names[spans.pads.carried[3]] == "unconnected-(U3-IO_A3-Pad4)"


def test_copper_that_is_cut_with_its_white_space_leaves_no_blank_line(data: bytes) -> None:
    board, spans = read_board(data)
    nodes = [*spans.tracks.node.tolist(), *spans.vias.node.tolist()]
    edits = sorted(Edit(spans.tree.lead(start), end, b"") for start, end in nodes)
    without = splice(data, edits)
    assert b"\n\n\n" not in without
    assert b" \n" not in without
    left, _ = read_board(without)
    assert (len(left.tracks), len(left.vias)) == (0, 0)
    assert (left.pins, left.pads, left.edge) == (board.pins, board.pads, board.edge)


def test_net_values_of_copper() -> None:
    for data, values in ((OLD, [b"2", b"2", b"0"]), (NEWEST, [b'"/SONDE_TX"'] * 2 + [b"-"])):
        spans = read_board(data)[1]
        assert cut(data, spans.tracks.net_value) == values


def test_zones(data: bytes) -> None:
    board, spans = read_board(data)
    ground, keepout = spans.zones
    table = spans.has_table
    assert data[slice(*ground.net_value)] == (b"1" if table else b'"GND"')
    assert (ground.net_name == NOWHERE) == (not table)
    (fill,) = ground.fills
    assert data[slice(*fill)].lstrip().startswith(b"(filled_polygon")
    assert data[slice(*ground.node)].lstrip().startswith(b"(zone")
    assert (spans.names[ground.carried], keepout.carried, keepout.fills) == ("GND", -1, ())
    without = read_board(splice(data, [Edit(*fill, b"")]))[0]
    assert [zone.fills for zone in without.zones] == [(), ()]
    assert without.zones[0].outline == board.zones[0].outline


def test_the_net_table() -> None:
    spans = read_board(MIDDLE)[1]
    assert [(row.number, row.name) for row in spans.rows] == [
        (0, ""),
        (1, "GND"),
        (2, "/SONDE_TX"),
        (3, "/LED_A"),
        (4, "unconnected-(U3-Pad4)"),
        (5, "unconnected-(R5-Pad2)"),
    ]
    assert MIDDLE[slice(*spans.rows[3].atom)] == b'"/LED_A"'
    assert spans.next_number == 6
    slot = spans.slot
    assert slot is not None
    more = splice(MIDDLE, [Edit(slot.offset, slot.offset, slot.lead + b'(net 6 "/NEW")')])
    assert read_board(more)[1].rows[-1][:2] == (6, "/NEW")
    assert more == MIDDLE.replace(b'Pad2)")\n\n', b'Pad2)")\n  (net 6 "/NEW")\n\n')
    assert read_board(NEWEST)[1].slot is None
    assert read_board(NEWEST)[1].rows == ()


def test_ways_of_the_file() -> None:
    old, middle, newest = (read_board(data)[1] for data in (OLD, MIDDLE, NEWEST))
    assert [s.quoted for s in (old, middle, newest)] == [False, True, True]
    assert [s.private for s in (old, middle, newest)] == ["", "number", "name"]
    assert [s.has_table for s in (old, middle, newest)] == [True, True, False]
    assert {s.line_end for s in (old, middle, newest)} == {b"\n"}
    assert (old.encode("/LED_A"), old.encode("TANK 2")) == (b"/LED_A", b'"TANK 2"')
    assert middle.encode("/LED_A") == b'"/LED_A"'


def test_known_names_are_written_as_the_file_writes_them() -> None:
    odd = OLD.replace(b"/LED_A", b'"/LED_A"')
    assert read_board(odd)[1].encode("/LED_A") == b'"/LED_A"'
    brace = OLD.replace(b"/LED_A", b"~{LED}")
    assert read_board(brace)[1].encode("~{LED}") == b"~{LED}"


def put_back(data: bytes, pad: int) -> None:
    """Take a pad's net away: the slot found then must be where it was."""
    spans = read_board(data)[1]
    edit = spans.cut(spans.pads.net[pad].tolist())
    text = data[slice(*spans.pads.net[pad].tolist())]
    without = splice(data, [edit])
    left, again = read_board(without)
    assert left.pads[pad].net == -1
    assert again.pads.net[pad].tolist() == [-1, -1]
    slot = again.pad_slot(pad)
    assert splice(without, [Edit(slot.offset, slot.offset, slot.lead + text)]) == data


def test_a_net_that_was_cut_out_goes_back_where_it_was(data: bytes) -> None:
    spans = read_board(data)[1]
    for pad in np.flatnonzero(spans.pads.net[:, 0] >= 0).tolist():
        put_back(data, pad)


@pytest.mark.parametrize("path", BOARDS, ids=lambda path: path.name)
def test_so_it_does_on_the_corpus(path: Path) -> None:
    data = path.read_bytes()
    spans = read_board(data)[1]
    for pad in np.flatnonzero(spans.pads.net[:, 0] >= 0)[::97].tolist():
        put_back(data, pad)


def test_a_pad_of_a_file_without_any_net_takes_it_after_its_geometry() -> None:
    lines = [line for line in NEWEST.splitlines(keepends=True) if b"(net " not in line]
    data = b"".join(lines)
    slot = read_board(data)[1].pad_slot(0)
    assert slot == Slot(data.index(b'"F.Paste")') + len(b'"F.Paste")'), b" ")
