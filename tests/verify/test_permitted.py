"""Check ``rules`` kind by kind, on seats put together by hand."""

from __future__ import annotations

import pytest
from cases.seated import NAMES, ROW, SWAP, fired, found, seat, seats

from renet.errors import RulesError
from renet.rules import (
    Domain,
    Keep,
    Mate,
    Needs,
    Offers,
    Order,
    Pool,
    Rules,
    Unit,
)
from renet.verify.scope import guarded_name, left_out_nets, supply_net
from renet.verify.seats import Seats

# words and scope


@pytest.mark.parametrize(
    "words", [("1", "2"), ("1-2",), ("1-3",), ("IO_A*",), ("IO_A1", "IO_A?"), ("*",)]
)
def test_words_of_a_pool_free_its_pins(words: tuple[str, ...]) -> None:
    assert fired(seats(ROW, SWAP, **NAMES), Rules(pools=(Pool("U3", words),))) == []


@pytest.mark.parametrize(
    ("words", "kept"),
    [
        (("1", "3"), ["U3:2"]),
        (("2-5",), ["U3:1"]),
        (("IO_B2",), ["U3:1", "U3:2"]),
        (("IO_A[13]",), ["U3:2"]),
    ],
)
def test_what_no_word_finds_is_kept(words: tuple[str, ...], kept: list[str]) -> None:
    rules = Rules(pools=(Pool("U3", words),))
    assert fired(seats(ROW, SWAP, **NAMES), rules) == [("scope", pin) for pin in kept]


def test_a_pad_number_goes_before_a_range_and_a_range_before_a_name() -> None:
    pins = [
        seat("U3:1-2", "/A", "/B"),
        seat("U3:1", "/B", "/A"),
        seat("U3:2", "/C", "/C", name="7-9"),
        seat("U3:7", "/D", "/D"),
    ]
    board = Seats(pins)
    assert board.of_word("U3", "1-2") == ([0], True)
    assert board.of_word("U3", "7-9") == ([3], False)
    assert Seats(pins[:3]).of_word("U3", "7-9") == ([2], False)
    assert board.of_word("U3", "*") == ([0, 1, 2, 3], False)


@pytest.mark.parametrize(
    "rules",
    [
        Rules(pools=(Pool("U3", ("1", "2"), keep=("2",)),)),
        Rules(pools=(Pool("U3", ("1", "2")), Pool("U3", ("3",), keep=("IO_A2",)))),
        Rules(pools=(Pool("U3", ("1-4",)),), keeps=(Keep(pins=("U3:2",)),)),
        Rules(pools=(Pool("U3", ("1-4",)),), keeps=(Keep(pins=("U?:IO_A2",)),)),
        Rules(pools=(Pool("U3", ("1-4",)),), keeps=(Keep(nets=("/B",)),)),
        Rules(pools=(Pool("U3", ("1-4",)),), keeps=(Keep(nets=("/[B]",)),)),
    ],
)
def test_keep_always_wins(rules: Rules) -> None:
    assert fired(seats(ROW, SWAP, **NAMES), rules) == [("scope", "U3:2")]


def test_a_mate_keeps_its_part() -> None:
    rules = Rules(pools=(Pool("U3", ("1", "2")),), mates=(Mate("main:U3", "probe:J1"),))
    assert fired(seats(ROW, SWAP), rules) == [("scope", "U3:1"), ("scope", "U3:2")]


@pytest.mark.parametrize("fault", [{"torn": True}, {"alone": False}, {"disputed": True}])
def test_faults_of_the_input_keep_a_pin(fault: dict[str, object]) -> None:
    pins = seats(ROW, SWAP)
    pins[0] = pins[0]._replace(**fault)
    assert ("scope", "U3:1") in fired(pins, Rules(pools=(Pool("U3", ("1", "2")),)))


def test_a_guarded_pin_is_free_only_by_its_number() -> None:
    moves = {"U3:1": "/C", "U3:3": "/A"}
    pins = seats(ROW, moves, **NAMES)
    assert fired(pins, Rules(pools=(Pool("U3", ("1", "3")),))) == []
    assert fired(pins, Rules(pools=(Pool("U3", ("1", "3-4")),))) == [("scope", "U3:3")]
    assert fired(pins, Rules(pools=(Pool("U3", ("*",)),))) == [("scope", "U3:3")]


def test_supply_pins_by_type_never_move() -> None:
    pins = seats(ROW, {"U3:1": "GND", "U3:6": "/A"}, **NAMES)
    pins[5] = pins[5]._replace(type="power_in")
    assert ("scope", "U3:6") in fired(pins, Rules(pools=(Pool("U3", ("1-6",)),)))
    with pytest.raises(RulesError, match="named by its number but is a power_in pin"):
        found(pins, Rules(pools=(Pool("U3", ("1", "6")),)))


def test_nets_outside_the_tangle_are_kept_unless_named_by_number() -> None:
    pins = seats(ROW, SWAP, **NAMES)
    ranged, numbered = Rules(pools=(Pool("U3", ("1-4",)),)), Rules(pools=(Pool("U3", ("1", "2")),))
    assert fired(pins, ranged, ["/A"]) == [("scope", "U3:1")]
    assert fired(pins, numbered, ["/A"]) == []


def test_nets_called_like_a_supply_are_kept_unless_named_by_number() -> None:
    pins = seats(ROW, {"U3:1": "GND", "U3:6": "/A"})
    assert fired(pins, Rules(pools=(Pool("U3", ("1-6",)),))) == [("scope", "U3:6")]
    assert fired(pins, Rules(pools=(Pool("U3", ("1-5", "6")),))) == []
    for net in ("/PWR/GND", "+3V3", "+3.3V", "5V", "VCC_IO", "VSS", "/VDD1A-2A"):
        assert supply_net(net), net
    for net in ("/GNDSENSE/A", "/3V3_EN_N", "/LED", "V", "", "/VCCX/A"):
        assert not supply_net(net), net


def test_names_go_before_globs_in_the_tangle() -> None:
    board = Seats(seats(ROW))
    for rules, out in (
        (Rules(leave_out=("/*",)), {"/A", "/B", "/C", "/D", "GND"}),
        (Rules(leave_out=("/*",), include=("/A",)), {"/B", "/C", "/D", "GND"}),
        (Rules(leave_out=("/A",), include=("*",)), {"/A"}),
        (Rules(), {"GND"}),
    ):
        assert left_out_nets(rules, board, frozenset({"GND"})) == out


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("VDD", "supply"),
        ("VDDA_1", "supply"),
        ("VSS", "ground"),
        ("AGND", "ground"),
        ("VREF+", "reference"),
        ("PH0-OSC_IN", ""),
        ("PH0/OSC_IN", "oscillator"),
        ("~{RESET}", "reset"),
        ("NRST", "reset"),
        ("PB2 (BOOT1)", "boot"),
        ("PA13/SWDIO", "debug"),
        ("JTCK", "debug"),
        ("NC", "not-connected"),
        ("GND[27]", "ground"),
        ("CASE_GND", "ground"),
        ("V_{CC}", "supply"),
        ("~{RST}_12", "reset"),
        ("IO_A13", ""),
        ("", ""),
        ("VDRIVE", ""),
        ("TDM_OUT", ""),
    ],
)
def test_guarded_names(name: str, kind: str) -> None:
    """Common practice, no source."""
    assert guarded_name(name) == kind


@pytest.mark.parametrize(
    ("rules", "complaint"),
    [
        (Rules(pools=(Pool("U4", ("1",)),)), 'no part "U4"'),
        (Rules(pools=(Pool("U3", ("IO_Z*",)),)), '"IO_Z\\*" is no pin of U3'),
        (Rules(pools=(Pool("U3", ("80-90",)),)), "is no pin of U3"),
        (Rules(pools=(Pool("U3", ("io_a*",)),)), "is no pin of U3"),
        (Rules(pools=(Pool("U3", ("1",)), Pool("U3", ("1-2",)))), "U3:1 is in the pool"),
        (Rules(pools=(Pool("U3", ("1",)),), units=(Unit((("U3:1", "U3:2"),)),)), "U3:1 is in"),
        (Rules(keeps=(Keep(pins=("U9:1",)),)), '"U9:1" finds no pin'),
        (Rules(keeps=(Keep(pins=("12",)),)), '"12" finds no pin'),
        (Rules(keeps=(Keep(nets=("/Z*",)),)), '"/Z\\*" is no net'),
        (Rules(units=(Unit((("U3:1", "U3:2"), ("U3:3",))),)), "differ in length"),
        (Rules(units=(Unit((("U3:1", "U3:1"),)),)), "stands twice"),
        (Rules(units=(Unit((("U3:1-2", "U3:3"),)),)), "finds 2 pins"),
        (Rules(units=(Unit((("U3:1", "U3:2"),), inner=((1, 3),)),)), "outside the tuples"),
        (Rules(domains=(Domain("a", ("U3:1",)), Domain("b", ("U3:*",)))), "two domains"),
        (Rules(orders=(Order("U3", ("/A", "/Z")),)), '"/Z" is no net'),
        (Rules(needs=(Needs(("/A",), ("F",)),), offers=(Offers(file="x.csv"),)), "not read in"),
    ],
)
def test_rules_that_cannot_be_read_are_an_error(rules: Rules, complaint: str) -> None:
    with pytest.raises(RulesError, match=complaint):
        found(seats(ROW, **NAMES), rules)
