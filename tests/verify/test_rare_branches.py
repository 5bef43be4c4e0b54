"""What seldom comes before the second opinion, and what it says then."""

from __future__ import annotations

from dataclasses import replace

import pytest
from cases.judging import TO_SPARE, TRADE, judged, listed, only
from cases.scene import FAN_41, exchange, scene
from test_corners import with_zone

from renet.model import Netlist, Node
from renet.syntax import parse
from renet.verify import Expect, verify_board
from renet.verify.seats import Seat, met_in
from renet.verify.sheet import Sheet


def test_fan_out_that_is_gone_though_copper_is_kept() -> None:
    before = scene("middle")
    after = exchange(before, TRADE).without_copper(FAN_41)
    only(judged(before, after), "bytes", "missing")


def test_an_area_inside_a_part_that_was_never_filled() -> None:
    before, after = (
        with_zone(one.text(), b'(net "/SONDE_TX")', 0)
        for one in (scene("new"), exchange(scene("new"), TRADE, rip=True))
    )
    assert verify_board(
        before, after, Expect(changes=listed(scene("new"), exchange(scene("new"), TRADE), "rip"))
    ).ok


def test_the_words_for_a_reference_without_one() -> None:
    data = b'(kicad_pcb (footprint "a" (property "Reference") (fp_text reference)) (footprint "b"))'
    sheet = Sheet("x", data, parse(data))
    assert set(sheet.refs.values()) == {""}
    assert len(sheet.refs) == 2


def test_a_netlist_without_rules_gives_names_only() -> None:
    before, after = scene("middle"), exchange(scene("middle"), TRADE)
    nodes = b'(node (ref "U3") (pin "41") (pinfunction "CLOCK"))'
    netlist = b'(export (version "E") (nets (net (code "1") (name "A") ' + nodes + b")))"
    expect = Expect(changes=listed(before, after), netlist=netlist)
    verdict = verify_board(before.text(), after.text(), expect)
    assert verdict.ok
    assert [move.name for move in verdict.moved] == ["IO_B0", "IO_B1"]


@pytest.mark.parametrize(
    ("there", "met"),
    [(["CONN"], 1), (["CONN", "CONn"], 0), (["CON"], 0), (["Conn", "CONN"], 1)],
)
def test_a_part_in_other_letters_is_met_where_only_one_can_be_meant(
    there: list[str], met: int
) -> None:
    seats = [Seat(0, "Conn", "1", "", "", (), True, False, None, None)]
    nodes = tuple(Node(ref, "1", None, "", "") for ref in there)
    found = met_in(seats, Netlist("E", (), nodes), False)
    assert [node.ref for node in found.values()] == (["Conn"] if "Conn" in there else there)[:met]


def test_a_pin_that_opens_where_its_name_has_a_row_already() -> None:
    """The row is nobody's; the pin takes it, and the other row stays nobody's."""
    before = scene("middle")
    before = replace(before, rows=(*before.rows, "unconnected-(U3-IO_B0-Pad41)"))
    assert judged(before, exchange(before, TO_SPARE)).ok
