"""Cases in which one guard of the second opinion speaks and no other would have."""

from __future__ import annotations

import re

import pytest
from cases.buoys import MIDDLE, NETLIST_E
from cases.edif import SMALL
from cases.records import LIST
from cases.scene import exchange, scene
from cases.seated import fired, seats
from cases.seated import found as found_in
from test_netlist import listing

from renet.annotate import annotate
from renet.changes import ChangeList, Move, Swap
from renet.errors import GateError
from renet.read.edif import read_edif
from renet.read.ipc356 import read_ipc356
from renet.rules import Keep, Pool, Rules, Unit
from renet.verify import Expect, Verdict, verify_board, verify_edif, verify_netlist, verify_records

NOTHING = Expect(changes=ChangeList((), ()))


def only(verdict: Verdict, check: str, rule: str, *words: str) -> None:
    assert {(f.check, f.rule) for f in verdict.findings} == {(check, rule)}
    assert len(verdict.findings) == 1
    assert all(word in verdict.findings[0].what for word in words)


def test_other_white_space_before_a_net_list() -> None:
    was = b'\n      (net 2 "/SONDE_TX") (pinfunction'
    assert was in MIDDLE
    after = MIDDLE.replace(was, was.replace(b"\n   ", b"\n\t"), 1)
    only(verify_board(MIDDLE, after, NOTHING), "bytes", "white space", "other white space")


def test_an_edif_file_that_cannot_be_read() -> None:
    only(verify_edif(SMALL, SMALL[:-9], NOTHING), "bytes", "readable")


def test_an_edif_reader_that_sees_other_pins(monkeypatch: pytest.MonkeyPatch) -> None:
    pin, other = b"(portRef VDD (instanceRef inst_1))", b"(portRef IO1 (instanceRef inst_1))"
    assert pin in SMALL
    monkeypatch.setattr(
        "renet.verify.edif.read_edif", lambda data: read_edif(data.replace(pin, other))
    )
    found = verify_edif(SMALL, SMALL, NOTHING)
    assert ("pins", "reader") in {(f.check, f.rule) for f in found.findings}


def calling(monkeypatch: pytest.MonkeyPatch, data: bytes, names: dict[str, str]) -> None:
    """A reader that calls the nets of these pins (REF:PIN) otherwise."""
    netlist, spans = read_edif(data)
    nodes = [node._replace(net=names.get(f"{node.ref}:{node.pin}", node.net))
             for node in netlist.nodes]  # fmt: skip
    told = netlist._replace(nodes=tuple(nodes)), spans
    assert told[0] != netlist
    monkeypatch.setattr("renet.verify.edif.read_edif", lambda data: told)


def test_an_edif_reader_that_takes_two_nets_for_one(monkeypatch: pytest.MonkeyPatch) -> None:
    calling(monkeypatch, SMALL, {"U3:14": "D1"})
    only(verify_edif(SMALL, SMALL, NOTHING), "pins", "reader", "other pins or nets")


def test_an_edif_reader_that_takes_one_net_for_two(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its lists meet at a port of the board."""
    data = SMALL.replace(b"(net VCC (joined", b"(net VCC (joined (portRef edge)")
    assert verify_edif(data, data, NOTHING).ok
    calling(monkeypatch, data, {"U3:14": "VCC"})
    only(verify_edif(data, data, NOTHING), "pins", "reader", "other pins or nets")


def test_an_edif_pin_that_stands_twice_in_its_net() -> None:
    pin = b"(portRef VDD (instanceRef inst_1))"
    after = SMALL.replace(pin, pin + b"\n            " + pin)
    assert after != SMALL
    only(verify_edif(SMALL, after, NOTHING), "pins", "once", "it stands in 2 portRefs")


def test_an_edif_net_called_as_the_second_opinion_calls_unknown_ones() -> None:
    """A pin goes from it to a net in which no pin stood."""
    called = b'(net NEW (joined))\n          (net (rename n1 "a net that no pin had") (joined'
    before = SMALL.replace(b"(net VCC (joined", called)
    pin = b" (portRef VDD (instanceRef inst_1))"
    after = before.replace(pin, b"").replace(b"(net NEW (joined)", b"(net NEW (joined" + pin + b")")
    assert verify_edif(before, before, NOTHING).ok
    assert {f.check for f in verify_edif(before, after, NOTHING).findings} == {"partition", "moves"}


def test_a_list_of_records_with_one_line_more() -> None:
    only(verify_records(LIST, LIST + b"\n", NOTHING), "bytes", "lines")


def test_a_reader_that_sees_other_pins(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "renet.verify.ipc356.read_ipc356",
        lambda data: read_ipc356(data.replace(b"U3    -2", b"U3    -8")),
    )
    found = verify_records(LIST, LIST, NOTHING)
    assert {(f.check, f.rule) for f in found.findings} == {("pins", "reader")}


def test_names_that_are_no_utf8_and_no_end_record() -> None:
    data = LIST.replace(b"/SONDE_TX ", b"/SONDE\xffTX ").replace(b"999\r\n", b"")
    assert verify_records(data, data, NOTHING).ok
    assert {move.was for move in verify_records(data, data, NOTHING).moved} == set()


@pytest.mark.parametrize(
    ("was", "said"),
    [(b'(code "2")', "the code 1 stands at 2 nets"), (b'(name "/LED_A")', "")],
)
def test_a_code_or_a_name_at_two_nets(was: bytes, said: str) -> None:
    data = NETLIST_E.replace(was, b'(code "1")' if b"code" in was else b'(name "/NEW")')
    found = verify_netlist(data, data, NOTHING)
    assert [f.what for f in found.findings] == ([said] if said else [])


# sheets

SHEET = b"""(kicad_sch (version 20231120) (generator "buoyboard") (uuid "a")
  (lib_symbols (symbol "buoy:MCU4" (symbol "MCU4_1_1"
    (pin bidirectional line (at -10.16 2.54 0) (length 2.54) (name "IO_A2") (number "2"))
    (pin bidirectional line (at -10.16 0 0) (length 2.54) (name "IO_A3") (number "3")))))
  (label "A" (at 89.84 97.46 0) (uuid "l1"))
  (label "B" (at 89.84 100 0) (uuid "l2"))
  (symbol (lib_id "buoy:MCU4") (at 100 100 0) (unit 1) (uuid "s1")
    (property "Reference" "U3" (at 0 0 0))
    (instances (project "buoy" (path "/a" (reference "U3") (unit 1))))))
"""
TRADE = (Move("U3", "2", "", "/A", "/B"), Move("U3", "3", "", "/B", "/A"))


def undone(data: list[bytes], moves: tuple[Move, ...] = TRADE) -> set[str]:
    """Why the swap was not carried into the sheets, but for the words for its other pins."""
    found = annotate(data, ChangeList((), (Swap(1, moves),)))
    return {one.why for one in found.undone} - {"left with the other pins of its swap"}


def test_a_swap_that_can_be_done() -> None:
    assert undone([SHEET]) == set()


def test_a_pin_that_is_drawn_twice() -> None:
    at = SHEET.index(b"  (symbol (lib_id")
    twice = SHEET.rstrip()[:-1] + b"\n" + SHEET[at:].replace(b"(at 100 100 0)", b"(at 200 100 0)")
    assert undone([twice]) == {"it is drawn more than once"}


def test_a_wire_with_two_labels() -> None:
    more = b'  (label "A2" (at 89.84 97.46 0) (uuid "l3"))\n  (label "B"'
    assert undone([SHEET.replace(b'  (label "B"', more, 1)]) == {"its wire has several labels"}


def test_a_net_that_is_on_no_pin_of_the_swap() -> None:
    moves = (TRADE[0]._replace(is_="/C"), TRADE[1])
    assert undone([SHEET], moves) == {"its swap brings in a net that is on none of its pins"}


def test_a_label_does_not_go_to_another_sheet() -> None:
    one = SHEET.replace(b"(label", b"(global_label")
    other = SHEET.replace(b'"U3"', b'"U4"')
    other = re.sub(rb"  \(label .*\n", b"", other)
    moves = Move("U3", "2", "", "A", None), Move("U4", "2", "", None, "A")
    assert undone([one, other], moves) == {"its swap opens a pin on another sheet"}


def test_sheets_that_would_say_something_else(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("renet.annotate.splice", lambda data, edits: data)
    with pytest.raises(GateError, match="do not say what was meant at U3:2, U3:3"):
        annotate([SHEET], ChangeList((), (Swap(1, TRADE),)))


# private names and kept places


def test_a_new_private_net_has_a_code_that_is_free_or_the_next() -> None:
    before = listing("E")
    after = before.moved({"41": None, "46": "/SONDE_TX"}).text()
    assert b"unconnected-(U3-IO_B0-Pad41)" in after
    at = after.index(b'(name "unconnected-(U3-IO_B0-Pad41)")')
    start = after.rindex(b"(code", 0, at)
    wrong = after[:start] + b'(code "99") ' + after[at:]
    rules = Rules(pools=(Pool("U3", ("41-46",)),))
    found = verify_netlist(before.text(), wrong, Expect(rules))
    only(found, "pins", "net table", "its code 99 is neither free nor the next one")


def test_a_tuple_with_a_kept_pin_does_not_trade() -> None:
    nets = {"RN1:1": "/A", "RN1:8": "/a", "RN1:2": "/B", "RN1:7": "/b"}
    moves = {"RN1:1": "/B", "RN1:8": "/b", "RN1:2": "/A", "RN1:7": "/a"}
    unit = Rules(units=(Unit((("RN1:1", "RN1:8"), ("RN1:2", "RN1:7"))),))
    assert fired(seats(nets, moves), unit) == []
    kept = unit._replace(keeps=(Keep(pins=("RN1:8",)),))
    words = [f.what for f in found_in(seats(nets, moves), kept)]
    assert any("has a kept pin, so the tuple may not trade" in what for what in words)
    alone = {"RN1:1": "/B", "RN1:2": "/A"}
    words = [f.what for f in found_in(seats(nets, alone), kept)]
    assert any("has a kept pin, so the tuple may not trade" in what for what in words)


def test_a_net_class_that_forgets_an_open_pin() -> None:
    member = b'\n    (add_net "unconnected-(U3-IO_B5-Pad46)")'
    mark = b'\n  (net_class "Slow" "" (clearance 0.2)' + member + b"\n  )\n  (gr_line"
    before = scene("middle").text().replace(b"\n  (gr_line", mark, 1)
    after = before.replace(member, b"")
    assert after != before
    words = "its member of a net class is gone, but a pin carries it"
    only(verify_board(before, after, NOTHING), "pins", "net table", words)


def test_a_private_name_at_two_pins() -> None:
    before = scene("middle")
    after = exchange(before, {"U3:41": None, "U3:46": "/SONDE_TX"})
    shared = after.with_pad("U3:41", net=before.pad("U3:45").net)
    found = verify_board(before.text(), shared.text(), Expect())
    assert any("they share the private name" in f.what for f in found.findings)
