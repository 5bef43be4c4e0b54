"""What verify puts off, sieves or keeps in columns is what it would find pin by pin."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from cases.judging import TO_SPARE, TRADE, judged
from cases.scene import SHAPES, Copper, exchange, scene
from conftest import CORPUS

from renet import geometry
from renet.errors import InputError
from renet.model import Board
from renet.read.board import read_board
from renet.syntax import parse
from renet.verify import fanout
from renet.verify.facts import Facts
from renet.verify.fanout import Fan, NetCopper, rows_by_net
from renet.verify.items import Items
from renet.verify.nearby import Sieve
from renet.verify.pins import PinTable
from renet.verify.poured import Planes
from renet.verify.seats import Made, Seat, Seats
from renet.verify.sheet import Sheet

FILES = (*SHAPES, "buoy")


def board_of(name: str) -> Board:
    path = Path(CORPUS, "demo", "buoy.kicad_pcb")
    return read_board(path.read_bytes() if name == "buoy" else scene(name).text())[0]


def copper_of(board: Board, facts: Facts) -> dict[int, NetCopper]:
    rows = rows_by_net(board, facts, {*range(-1, len(board.nets))})
    return {net: NetCopper(board, of_net) for net, of_net in rows.items()}


@pytest.mark.parametrize("name", FILES)
def test_the_sieve_lets_through_all_that_touches(name: str) -> None:
    board = board_of(name)
    facts = Facts(board)
    pins = [list(pin.pads) for pin in board.pins]
    nets = facts.net[[pads[0] for pads in pins]].tolist()
    near = Sieve(board, facts, set(nets)).near(pins, nets)
    copper = copper_of(board, facts)
    for pads, net, some in zip(pins, nets, near.tolist(), strict=True):
        fan = copper[net].walk(pads)
        assert some or (copper[net].at_pads(board, pads) == [] and fan == Fan((), None))
    assert not near.all()


def test_the_sieve_of_no_pins() -> None:
    board = board_of("new")
    assert Sieve(board, Facts(board), set()).near([], []).tolist() == []


def test_a_table_of_boxes_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    board = board_of("buoy")
    facts = Facts(board)
    found = []
    for many in (0, 1 << 20):
        monkeypatch.setattr(fanout, "_MANY", many)
        copper = copper_of(board, facts)
        found.append([c.touching(item.copper) for c in copper.values() for item in c.items])
    assert found[0] == found[1]


def test_a_board_that_numbers_its_pins_otherwise() -> None:
    text = scene("new").text()
    board, other = read_board(text)[0], exchange(scene("new"), TO_SPARE).text()
    last = len(board.pins) - 1
    pads = (p._replace(pin=last - p.pin if p.pin >= 0 else p.pin) for p in board.pads)
    turned = replace(board, pins=board.pins[::-1], pads=tuple(pads))
    before, after = Sheet("before", text, parse(text)), Sheet("after", other, parse(other))
    seats, same = (list(PinTable(b, Facts(b), before, after).seats()) for b in (board, turned))
    assert seats == same
    assert [seat.name for seat in seats if seat.moved] == ["IO_B0", "IO_B5"]


def test_planes_are_nets_whose_pads_lie_in_their_zones() -> None:
    board = board_of("buoy")
    facts = Facts(board)
    zones = [z for z in board.zones if z.net >= 0 and not z.teardrop and not z.rule_area]
    seats = [Seat(0, "U1", "1", "", "input", (), True, False, None, None)]
    poured = {board.nets[zone.net] for zone in zones}
    assert "GND" in Planes(board, facts, seats).nets() <= poured
    small = zones[0]._replace(outline=(b"(xy 0 0) (xy 1 0) (xy 1 1)",))
    assert not Planes(replace(board, zones=(small,)), facts, seats).nets()


@pytest.mark.parametrize("corner", [b"nan 1", b"1e9 1", b"1000001 0", b"0 -1234567.5"])
def test_a_corner_that_is_none_is_told_of_whether_planes_are_asked_for_or_not(
    corner: bytes,
) -> None:
    texts = [b"(xy 1 2) (xy 3.5 -4)", b"(xy %b)" % corner]
    with pytest.raises(InputError, match="no number or more than 1 km away"):
        geometry.check_points(texts)
    geometry.check_points(texts[:1])
    geometry.check_points([b"(xy 0.1234567 1) (xy 1e2 3)", b"1.2.3 4"])


def test_a_private_name_that_pins_shared_already() -> None:
    first = scene("middle")
    before = first.with_pad("U3:45", net=first.pad("U3:46").net)
    assert judged(before, exchange(before, TRADE)).ok


def test_the_reference_of_a_part_is_the_first_atom_behind_the_label() -> None:
    data = b"""(kicad_pcb
        (footprint "a" (property "Reference"\n "R1" (at 0 0)) (property Reference "R2"))
        (footprint "b" (property "Reference" (effects "x")) (fp_text reference C1))
        (module c (fp_text "reference" ()"Q9") (property "Reference"))
        (footprint "d" (property "References" "no") (fp_text value 7)))"""
    sheet = Sheet("x", data, parse(data))
    assert list(sheet.refs.values()) == ["R1", "effects", "Q9", ""]


def test_seats_of_parts_that_share_a_reference() -> None:
    pins = [(0, "R1", "1"), (0, "R1", "2"), (1, "C1", "1"), (2, "R1", "1")]
    made = [Seat(*pin, "", "", (), True, False, None, None) for pin in pins]
    seats = Seats(made)
    assert seats.numbered("R1", "1") == [0, 3]
    assert seats.numbered("R1", "2") == [1]
    assert seats.numbered("C1", "1") == [2]
    assert seats.numbered("C1", "2") == seats.numbered("X1", "1") == []
    assert list(seats.by_ref) == ["R1", "C1"]
    assert Seats([]).moving == ()


def test_rows_are_made_once_and_in_order() -> None:
    asked: list[int] = []
    rows = Made(4, lambda row: asked.append(row) or row * row)
    assert (rows[-1], rows[3], rows[1:3], list(rows)) == (9, 9, [1, 4], [0, 1, 4, 9])
    assert asked == [3, 1, 2, 0]
    with pytest.raises(IndexError):
        rows[4]


@pytest.mark.parametrize("blanks", [0, 1, 47, 48, 49, 200])
def test_white_space_in_front_of_a_list_is_found_however_long(blanks: int) -> None:
    data = b"(a b%b(c))" % (b"\n\t " * blanks)[:blanks]
    assert len(Items("x", data, parse(data)).lead(data.index(b"(c"))) == blanks


def test_a_track_of_a_moved_pin_that_leads_off_in_an_arc() -> None:
    """The box of an arc is not that of its ends."""
    before = scene("new")
    arc = Copper("arc", ((100, 100), (101, 101), (102, 100)), "/SONDE_TX")
    board = read_board(replace(before, copper=(*before.copper, arc)).text())[0]
    facts, net = Facts(board), board.nets.index("/SONDE_TX")
    pins = [list(pin.pads) for pin in board.pins if pin.net == net]
    assert np.all(Sieve(board, facts, {net}).near(pins, [net] * len(pins)))


def test_private_members_are_found_however_they_are_spelt() -> None:
    data = rb"""(kicad_pcb (net_class "a" (add_net GND) (add_net "unconnected-(U1-Pad1)"))
        (net_class "b" (add_net "un\connected-(U1-Pad2)") (add_net "x\y") (clearance 1)))"""
    sheet = Sheet("x", data, parse(data))
    assert sheet.member_names == ["unconnected-(U1-Pad1)", "unconnected-(U1-Pad2)"]
