"""Check ``rules`` on domains, units and side conditions, on seats put together by hand."""

from __future__ import annotations

import pytest
from cases.seated import ROW, SWAP, Nets, fired, found, seat, seats

from renet.errors import RulesError
from renet.rules import (
    Apart,
    Beside,
    Domain,
    Keep,
    Needs,
    Offers,
    Order,
    Pair,
    Peripheral,
    Pool,
    Rules,
    Unit,
)
from renet.verify.seats import Seats
from renet.verify.standing import Standing

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


def test_an_instance_stands_in_one_mapping_at_a_time() -> None:
    """A remap group moves as a set, and nobody else may have the same instance remapped."""
    offers = (
        Offers("U3", ("1",), ("UART1@0_TX",)),
        Offers("U3", ("2",), ("UART1@0_RX",)),
        Offers("U3", ("3",), ("UART1@1_TX",)),
        Offers("U3", ("4",), ("UART1@1_RX",)),
        Offers("U3", ("5",), ("UART1@1_CK", "SPI1_CK")),
    )
    serial = Peripheral(("/A", "/B"), ("TX", "RX"), ("UART1@0", "UART1@1"), line=9)
    rules = FREE._replace(offers=offers, peripherals=(serial,))
    whole = {"U3:3": "/A", "U3:4": "/B", "U3:1": "/C", "U3:2": "/D"}
    half = {"U3:3": "/A", "U3:1": "/C"}
    assert fired(seats(ROW, whole), rules) == []
    assert fired(seats(ROW, half), rules) == [("peripheral (line 9)", "U3:2, U3:3")]
    clock = Needs(("/D",), ("UART*_CK", "SPI*_CK"), line=3)
    both = rules._replace(needs=(clock,))
    onto = {"U3:4": None, "U3:5": "/D"}
    assert fired(seats(ROW, onto), both) == []  # /D takes SPI1_CK
    only = rules._replace(needs=(clock._replace(functions=("UART*_CK",)),))
    assert [rule for rule, _ in fired(seats(ROW, onto), only)] == [
        "needs (line 3), peripheral (line 9)"
    ]


def test_only_takes_the_name_of_a_pin_out() -> None:
    rules = FREE._replace(needs=(Needs(("/A",), ("UART?_TX",), line=3),))
    assert fired(seats({**ROW, "U3:1": None, "U3:5": "/A"}, p5="PA1/UART1_TX"), rules) == []
    only = rules._replace(offers=(Offers("U3", ("1",), ("ADC1",), only=True),))
    back = {"U3:1": "/A", "U3:5": None}
    ports = {**PORTS, "p5": "PA1/UART1_TX"}
    start = {**ROW, "U3:1": None, "U3:5": "/A"}
    assert fired(seats(start, back, **ports), rules) == []
    assert fired(seats(start, back, **ports), only) == [("needs (line 3)", "U3:1")]


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
