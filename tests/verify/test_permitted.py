"""Check ``rules`` kind by kind, on seats put together by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pytest

from renet.errors import RulesError
from renet.rules import (
    Apart,
    Beside,
    Domain,
    Keep,
    Mate,
    Needs,
    Offers,
    Order,
    Pair,
    Peripheral,
    Pool,
    Rules,
    Unit,
)
from renet.verify import Counts, Finding
from renet.verify.permitted import check_rules
from renet.verify.scope import guarded_name, left_out_nets, scope_of, supply_net
from renet.verify.seats import Seat, Seats
from renet.verify.standing import Standing

MM = 1_000_000
Nets = Mapping[str, str | None]


def seat(label: str, was: str | None, is_: str | None, **facts: object) -> Seat:
    """A pin in a row of 1 mm pitch, its place told by its number."""
    ref, number = label.split(":")
    digits = int("".join(c for c in number if c.isdigit()) or 0)
    base: dict[str, object] = {
        "part": sum(ref.encode()),
        "ref": ref,
        "number": number,
        "name": "",
        "type": "bidirectional",
        "at": ((digits * MM, 0),),
        "alone": True,
        "torn": False,
    }
    return Seat(was=was, is_=is_, **{**base, **facts})  # type: ignore[arg-type]


def seats(nets: Nets, moves: Nets | None = None, **names: str) -> list[Seat]:
    """Seats with nets and some moves; ``names`` gives pin names by number, as ``p4=...``."""
    return [
        seat(label, net, (moves or {}).get(label, net), name=names.get(f"p{label[3:]}", ""))
        for label, net in nets.items()
    ]


def found(pins: Sequence[Seat], rules: Rules, left_out: Sequence[str] = ()) -> list[Finding]:
    board = Seats(pins)
    scope = scope_of(rules, board, frozenset(left_out))
    return check_rules(board, rules, scope, Counts())


def fired(
    pins: Sequence[Seat], rules: Rules, left_out: Sequence[str] = ()
) -> list[tuple[str, str]]:
    return [(f.rule, f.where) for f in found(pins, rules, left_out)]


ROW: Nets = {"U3:1": "/A", "U3:2": "/B", "U3:3": "/C", "U3:4": "/D", "U3:5": None, "U3:6": "GND"}
SWAP: Nets = {"U3:1": "/B", "U3:2": "/A"}
NAMES = {
    "p1": "IO_A1",
    "p2": "IO_A2",
    "p3": "IO_B1/NRST",
    "p4": "SWDIO",
    "p5": "IO_B2",
    "p6": "VSS",
}


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
    assert board.of_word(range(4), "1-2") == ([0], True)
    assert board.of_word(range(4), "7-9") == ([3], False)
    assert board.of_word(range(3), "7-9") == ([2], False)
    assert board.of_word(range(4), "*") == ([0, 1, 2, 3], False)


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


# domains


def test_nets_stay_in_their_domain() -> None:
    rules = Rules(
        pools=(Pool("U3", ("1", "2", "3", "4")),), domains=(Domain("3V3", ("U3:1", "U3:3")),)
    )
    assert fired(seats(ROW, SWAP), rules) == [("domain", "U3:2"), ("domain", "U3:1")]
    assert fired(seats(ROW, {"U3:1": "/C", "U3:3": "/A"}), rules) == []
    same = rules._replace(domains=(*rules.domains, Domain("3V3", ("U3:2",))))
    assert fired(seats(ROW, SWAP), same) == []


# units

ARRAY: Nets = {f"RN1:{n}": f"/{net}" for n, net in zip("12345678", "ABCDdcba", strict=True)}
ELEMENTS = (("RN1:1", "RN1:8"), ("RN1:2", "RN1:7"), ("RN1:3", "RN1:6"))


def turned(*moves: tuple[str, str]) -> dict[str, str | None]:
    """Moves as (pin, pin whose net it gets)."""
    return {f"RN1:{to}": ARRAY[f"RN1:{source}"] for to, source in moves}


@pytest.mark.parametrize(
    ("moves", "plain", "reversible"),
    [
        (turned(("1", "2"), ("8", "7"), ("2", "1"), ("7", "8")), True, True),
        (turned(("1", "2"), ("2", "1")), False, False),
        (turned(("1", "8"), ("8", "1")), False, True),
        (turned(("1", "7"), ("8", "2"), ("2", "1"), ("7", "8")), False, True),
        (
            turned(("1", "2"), ("8", "7"), ("2", "3"), ("7", "6"), ("3", "1"), ("6", "8")),
            True,
            True,
        ),
    ],
)
def test_elements_trade_whole(moves: Nets, plain: bool, reversible: bool) -> None:
    for rules, legal in (
        (Rules(units=(Unit(ELEMENTS),)), plain),
        (Rules(units=(Unit(ELEMENTS, reversible=True),)), reversible),
    ):
        assert (fired(seats(ARRAY, moves), rules) == []) == legal


def test_inner_places_trade_inside_a_tuple() -> None:
    gates = (("RN1:1", "RN1:2", "RN1:3"), ("RN1:6", "RN1:7", "RN1:8"))
    inside = turned(("1", "2"), ("2", "1"))
    both = turned(("1", "7"), ("2", "6"), ("3", "8"), ("6", "1"), ("7", "2"), ("8", "3"))
    for inner, moves, legal in (
        ((), inside, False),
        (((1, 2),), inside, True),
        (((2, 3),), inside, False),
        (((1, 3), (3, 2)), inside, True),
        ((), both, False),
        (((1, 2),), both, True),
    ):
        rules = Rules(units=(Unit(gates, inner=inner),))
        assert (fired(seats(ARRAY, moves), rules) == []) == legal


def test_of_a_reversible_tuple_the_mirror_of_an_inner_set_is_one_too() -> None:
    four = (("RN1:1", "RN1:2", "RN1:3", "RN1:4"),)
    moves = turned(("3", "4"), ("4", "3"))
    assert fired(seats(ARRAY, moves), Rules(units=(Unit(four, inner=((1, 2),)),))) != []
    mirrored = Rules(units=(Unit(four, reversible=True, inner=((1, 2),)),))
    assert fired(seats(ARRAY, moves), mirrored) == []


def test_a_tuple_with_a_kept_pin_stays_but_for_inner_places() -> None:
    gates = (("RN1:1", "RN1:2", "RN1:3"), ("RN1:6", "RN1:7", "RN1:8"))
    keep = (Keep(pins=("RN1:3",)),)
    trade = turned(("1", "6"), ("2", "7"), ("3", "8"), ("6", "1"), ("7", "2"), ("8", "3"))
    rules = Rules(units=(Unit(gates, inner=((1, 2),)),), keeps=keep)
    assert {rule for rule, _ in fired(seats(ARRAY, trade), rules)} == {"scope", "unit"}
    assert fired(seats(ARRAY, turned(("1", "2"), ("2", "1"))), rules) == []
    two = turned(("1", "6"), ("2", "7"), ("6", "1"), ("7", "2"))
    assert {rule for rule, _ in fired(seats(ARRAY, two), rules)} == {"unit"}


def test_tuples_of_other_domains_do_not_trade() -> None:
    moves = turned(("1", "2"), ("8", "7"), ("2", "1"), ("7", "8"))
    apart = (Domain("hot", ("RN1:1", "RN1:8")),)
    assert fired(seats(ARRAY, moves), Rules(units=(Unit(ELEMENTS),), domains=apart)) != []
    across = (Domain("hot", ("RN1:1", "RN1:2", "RN1:3")),)
    assert fired(seats(ARRAY, moves), Rules(units=(Unit(ELEMENTS),), domains=across)) == []
    turn = turned(("1", "8"), ("8", "1"))
    rules = Rules(units=(Unit(ELEMENTS, reversible=True),), domains=across)
    assert {rule for rule, _ in fired(seats(ARRAY, turn), rules)} == {"unit"}


# conditions on where nets stand

FREE = Rules(pools=(Pool("U3", ("1", "2", "3", "4", "5")),))


def test_a_bus_ascends_or_descends() -> None:
    bus: Nets = {"U3:2": "/D0", "U3:9": "/D1", "U3:10": "/D2"}
    pool = Rules(pools=(Pool("U3", ("2", "9", "10")),))
    down = {"U3:2": "/D2", "U3:10": "/D0"}
    mixed = {"U3:2": "/D1", "U3:9": "/D0"}
    for moves, direction, legal in (
        (down, "either", True),
        (down, "descending", True),
        (down, "ascending", False),
        (mixed, "either", False),
    ):
        rules = pool._replace(orders=(Order("U3", ("/D0", "/D1", "/D2"), direction, 7),))
        expected = [] if legal else [("order (line 7)", "U3:10, U3:2, U3:9")]
        got = [
            (rule, ", ".join(sorted(where.split(", "))))
            for rule, where in fired(seats(bus, moves), rules)
        ]
        assert got == expected


def test_a_violation_of_the_input_may_stay_but_not_become_another() -> None:
    bus: Nets = {"U3:1": "/D1", "U3:2": "/D0", "U3:3": "/D2", "U3:4": None}
    rules = FREE._replace(
        pools=(Pool("U3", ("1", "2", "3", "4")),), orders=(Order("U3", ("/D0", "/D1", "/D2")),)
    )
    assert fired(seats(bus), rules) == []
    assert fired(seats(bus, {"U3:1": "/D2", "U3:3": "/D1"}), rules) != []
    assert fired(seats(bus, {"U3:1": "/D0", "U3:2": "/D1"}), rules) == []


def test_a_pair_stands_on_neighbours_the_same_way_round() -> None:
    for moves, invertible, legal in (
        ({"U3:1": "/B", "U3:2": "/A"}, False, False),
        ({"U3:1": "/B", "U3:2": "/A"}, True, True),
        ({"U3:2": "/A", "U3:3": "/B", "U3:1": "/C"}, False, True),
        ({"U3:2": "/C", "U3:3": "/B"}, True, False),
    ):
        rules = FREE._replace(pairs=(Pair(("/A", "/B"), invertible=invertible),))
        assert (fired(seats(ROW, moves), rules) == []) == legal


def test_a_pair_stands_on_a_site() -> None:
    for moves, invertible, legal in (
        ({}, False, True),
        ({"U3:3": "/A", "U3:4": "/B", "U3:1": "/C", "U3:2": "/D"}, False, True),
        ({"U3:2": "/A", "U3:3": "/B", "U3:1": "/C"}, False, False),
        ({"U3:1": "/B", "U3:2": "/A"}, False, False),
        ({"U3:1": "/B", "U3:2": "/A"}, True, True),
    ):
        rules = FREE._replace(
            pairs=(Pair(("/A", "/B"), "U3", (("1", "2"), ("3", "4")), invertible),)
        )
        assert (fired(seats(ROW, moves), rules) == []) == legal


def test_nets_keep_apart() -> None:
    away = {"U3:1": "/C", "U3:3": "/A"}
    for rule, moves, legal in (
        (Apart(("/A", "/D")), {}, True),
        (Apart(("/A", "/D")), away, False),
        (Apart(("/A",), ("/D",), "U3"), away, False),
        (Apart(("/A",), ("/D",), "U3", 1.0), away, True),
        (Apart(("/A",), ("/D",), "U3", 1.001), away, False),
        (Apart(("/A", "/B")), {}, True),
    ):
        assert (fired(seats(ROW, moves), FREE._replace(aparts=(rule,))) == []) == legal


def test_a_net_stands_beside_ground() -> None:
    near, far = {"U3:5": "/A", "U3:1": None}, {"U3:3": "/A", "U3:1": "/C"}
    for moves, legal in ((near, True), (far, False), ({}, True)):
        rules = FREE._replace(besides=(Beside(("/A",)),))
        assert (fired(seats(ROW, moves), rules) == []) == legal
    other = FREE._replace(besides=(Beside(("/A",), ground=("/B",)),))
    assert fired(seats(ROW, far), other) == []
    with pytest.raises(RulesError, match="no net"):
        found(seats(ROW), FREE._replace(besides=(Beside(("/A",), ground=("MASS",)),)))


def test_neighbours_are_at_most_a_pitch_and_a_quarter_apart() -> None:
    at = {1: (0, 0), 2: (4, 0), 3: (9, 0), 4: (9, 6)}
    pins = [
        seat(f"U3:{n}", net, net, at=(at[n],))
        for n, net in zip(at, ("/A", "/B", "/C", "/D"), strict=True)
    ]
    now = Standing(Seats(pins), False)
    near = {(a, b) for a in range(4) for b in range(4) if now.neighbours(a, b)}
    assert near == {(0, 1), (1, 0), (1, 2), (2, 1)}


# functions

PORTS = {"p1": "PA0/UART1_TX", "p2": "PA1 (UART1_RX)", "p3": "PB0", "p4": "PB1;ADC4"}


def test_a_net_needs_a_pin_that_offers_one_of_its_functions() -> None:
    rules = FREE._replace(needs=(Needs(("/A",), ("UART?_TX",), line=3),))
    assert fired(seats(ROW, SWAP, **PORTS), rules) == [("needs (line 3)", "U3:2")]
    more = rules._replace(offers=(Offers("U3", ("2",), ("UART2_TX",)),))
    assert fired(seats(ROW, SWAP, **PORTS), more) == []
    elsewhere = rules._replace(needs=(Needs(("/A",), ("SPI1_CK",)),))
    assert fired(seats(ROW, SWAP, **PORTS), elsewhere) == []


def test_two_nets_do_not_take_one_function() -> None:
    offers = (Offers("U3", ("1", "2", "5"), ("ADC1",)), Offers("U3", ("3",), ("ADC1", "ADC2")))
    needs = (Needs(("/A", "/C"), ("ADC?",)),)
    rules = FREE._replace(offers=offers, needs=needs)
    moves = {"U3:3": None, "U3:5": "/C"}
    assert [rule for rule, _ in fired(seats(ROW, moves), rules)] == ["needs (line 0)"]
    shared = rules._replace(needs=(Needs(("/A", "/C"), ("ADC?",), shared=True),))
    assert fired(seats(ROW, moves), shared) == []


def test_a_peripheral_moves_whole() -> None:
    offers = (
        Offers("U3", ("1",), ("UART1_TX", "UART3_RX")),
        Offers("U3", ("2",), ("UART1_RX",)),
        Offers("U3", ("3",), ("UART3_TX",)),
        Offers("U3", ("4",), ("UART3_RX",)),
    )
    serial = Peripheral(("/A", "/B"), ("TX", "RX"), ("UART1", "UART3"), line=9)
    rules = FREE._replace(offers=offers, peripherals=(serial,))
    whole = {"U3:3": "/A", "U3:4": "/B", "U3:1": "/C", "U3:2": "/D"}
    half = {"U3:3": "/A", "U3:1": "/C"}
    assert fired(seats(ROW, whole), rules) == []
    assert fired(seats(ROW, half), rules) == [("peripheral (line 9)", "U3:2, U3:3")]


def test_an_instance_is_used_once_kept_pins_included() -> None:
    offers = (
        Offers("U3", ("1", "3"), ("UART1_TX",)),
        Offers("U3", ("2", "4"), ("UART1_RX",)),
        Offers("U3", ("5",), ("UART2_TX",)),
        Offers("U3", ("6",), ("UART2_RX",)),
    )
    names = ("UART1", "UART2")
    rules = FREE._replace(
        pools=(Pool("U3", ("3", "4", "5", "6")),),
        offers=offers,
        peripherals=(
            Peripheral(("/A", "/B"), ("TX", "RX"), names, line=1),
            Peripheral(("/C", "/D"), ("TX", "RX"), names, line=2),
        ),
    )
    start = {**ROW, "U3:3": None, "U3:4": "GND", "U3:5": "/C", "U3:6": "/D"}
    moves = {"U3:3": "/C", "U3:4": "/D", "U3:5": None, "U3:6": "GND"}
    assert fired(seats(start), rules) == []
    (one,) = fired(seats(start, moves), rules)
    assert one[0] == "peripheral (line 1), peripheral (line 2)"


def test_a_net_gives_way_to_one_that_has_no_other_choice() -> None:
    offers = (Offers("U3", ("1", "2"), ("ADC1",)), Offers("U3", ("1",), ("ADC2",)))
    rules = FREE._replace(offers=offers, needs=(Needs(("/A", "/B"), ("ADC?",)),))
    assert fired(seats(ROW), rules) == []
    assert {rule for rule, _ in fired(seats(ROW, {"U3:1": None, "U3:5": "/A"}), rules)} == {
        "needs (line 0)"
    }


def test_three_want_two_instances() -> None:
    nets = ("/A", "/B", "/C", "/D", "/E", "/F")
    row: Nets = {f"U3:{k}": net for k, net in enumerate(nets, 1)} | {"U3:7": None, "U3:8": None}
    every = tuple(f"SPI{n}_{signal}" for n in (1, 2) for signal in ("CK", "DI"))
    wants = tuple(Peripheral(nets[k : k + 2], ("CK", "DI"), ("SPI1", "SPI2")) for k in (0, 2, 4))
    pool = Rules(pools=(Pool("U3", ("5-8",)),), peripherals=wants)
    some = pool._replace(offers=(Offers("U3", ("1-4", "7", "8"), every),))
    assert fired(seats(row), some) == []
    moves = {"U3:5": None, "U3:6": None, "U3:7": "/E", "U3:8": "/F"}
    assert [rule for rule, _ in fired(seats(row, moves), some)] == [
        ", ".join(["peripheral (line 0)"])
    ]


def test_pins_without_a_place_are_near_nothing() -> None:
    pins = [pin._replace(at=()) for pin in seats(ROW, SWAP)]
    rules = FREE._replace(aparts=(Apart(("/A", "/B"), distance_mm=5.0),))
    assert fired(pins, rules) == []


def test_parts_that_share_a_reference_are_no_part_of_any_rule() -> None:
    pins = [*seats(ROW, SWAP), seat("R9:1", "/A", "/A", alone=False), seat("R9:2", "/D", "/D")]
    assert fired(pins, FREE._replace(aparts=(Apart(("/A", "/D")),))) == []
