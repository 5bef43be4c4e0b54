"""Who is free on the buoy, who stays and why, and what the input breaks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from freedom.buoy import NETS, buoy, freedom_of, kept, labels
from renet.freedom import Freedom, complaints, directions, resolve, tangle_nets
from renet.read.rules import read_rules
from renet.rules import Keep, Pool, Rules

WHOLE = '[[pool]]\npart = "U3"\npins = ["*"]\n'


def test_no_rules_free_no_pin() -> None:
    freedom = freedom_of("")
    assert labels(freedom) == []
    assert (freedom.groups, freedom.kept, freedom.findings) == ((), (), ())


def test_a_glob_leaves_supply_reset_debug_and_open_pins_alone_and_says_so() -> None:
    freedom = freedom_of(WHOLE)
    assert labels(freedom) == [f"U3:{n}" for n in (2, 3, 4, 7, 8, 9)]
    caught = 'caught by "*"; name it by its number to free it'
    assert kept(freedom) == {
        "U3:1": "supply pin by its type, power_in",
        "U3:5": f"debug pin by its name, IO_A4/SWDIO, {caught}",
        "U3:6": f"reset pin by its name, ~{{RESET}}, {caught}",
        "U3:10": "not-connected pin by its type, no_connect",
        "U3:11": f"its net GND is called like a supply or a ground, {caught}",
        "U3:12": "supply pin by its type, power_in",
    }


def test_a_number_frees_what_a_range_does_not() -> None:
    freedom = freedom_of('[[pool]]\npart = "U3"\npins = ["4-7", "6"]\n')
    assert labels(freedom) == ["U3:4", "U3:6", "U3:7"]
    assert list(kept(freedom)) == ["U3:5"]


def test_a_net_that_is_left_out_keeps_its_pin_unless_it_is_named_by_number() -> None:
    plane = frozenset({NETS.index("/LED_A")})
    freedom = freedom_of(WHOLE, plane)
    assert "U3:4" not in labels(freedom)
    assert kept(freedom)["U3:4"] == (
        'its net /LED_A is left out of the tangle, caught by "*"; name it by its number to free it'
    )
    freedom = freedom_of('[[pool]]\npart = "U3"\npins = ["*", "4", "11"]\n', plane)
    assert {"U3:4", "U3:11"} <= set(labels(freedom))


def test_keep_wins_and_names_its_line() -> None:
    text = (
        '[[pool]]\npart = "U3"\npins = ["2-4", "7", "8"]\nkeep = ["IO_B1"]\n'
        '[[keep]]\npins = ["U*:IO_A1"]\n[[keep]]\nnets = ["/SONDE_R*"]\n'
    )
    freedom = freedom_of(text)
    assert labels(freedom) == ["U3:4", "U3:8"]
    assert kept(freedom) == {
        "U3:2": "kept by [[keep]] line 5",
        "U3:3": "its net /SONDE_RX is kept by [[keep]] line 7",
        "U3:7": "kept by the keep list of [[pool]] line 1",
    }


def test_what_copper_holds_stays_with_the_reason_given() -> None:
    board = buoy()
    rules = Rules(pools=(Pool("U3", ("2", "3", "4")),))
    held = next(p for p in range(len(board.pins)) if board.pin_label(p) == "U3:3")
    freedom = resolve(board, rules, {held: "its copper reaches J7:3", 0: "not named anyway"})
    assert labels(freedom) == ["U3:2", "U3:4"]
    assert kept(freedom) == {"U3:3": "its copper reaches J7:3"}


def test_a_pin_fault_keeps() -> None:
    board = buoy()
    faulty = tuple(
        pin._replace(fault="its pads are on different nets")
        if board.pin_label(i) == "U3:2"
        else pin
        for i, pin in enumerate(board.pins)
    )
    rules = Rules(pools=(Pool("U3", ("2", "3", "4")),))
    freedom = resolve(replace(board, pins=faulty), rules, {})
    assert kept(freedom) == {"U3:2": "its pads are on different nets"}


def test_a_pin_alone_in_its_pool_or_domain_says_so() -> None:
    text = (
        '[[pool]]\npart = "U3"\npins = ["2", "3", "4"]\n'
        '[[domain]]\nname = "io"\npins = ["U3:2", "U3:3"]\n'
        '[[pool]]\npart = "J7"\npins = ["2"]\n'
        '[[pool]]\npart = "RN1"\npins = ["1"]\n[[domain]]\nname = "io"\npins = ["RN1:1"]\n'
    )
    freedom = freedom_of(text)
    assert labels(freedom) == ["U3:2", "U3:3"]
    assert kept(freedom) == {
        "J7:2": "no other pin of [[pool]] line 7 is free",
        "RN1:1": "no other pin of [[pool]] line 10 is free in domain io",
        "U3:4": "no other pin of [[pool]] line 1 is free",
    }


def test_a_mated_connector_stays_on_a_single_board() -> None:
    text = '[[pool]]\npart = "J7"\npins = ["1-5"]\n[[mate]]\na = "buoy:J7"\nb = "probe:J1"\n'
    freedom = freedom_of(text)
    assert labels(freedom) == []
    assert kept(freedom)["J7:2"] == "[[mate]] line 4: probe:J1 would have to follow"


def test_a_tuple_with_a_kept_pin_stays_whole() -> None:
    text = (
        '[[unit]]\ntuples = [["RN1:1", "RN1:8"], ["RN1:2", "RN1:7"], ["RN1:3", "RN1:6"]]\n'
        '[[keep]]\npins = ["RN1:7"]\n'
    )
    freedom = freedom_of(text)
    assert labels(freedom) == ["RN1:1", "RN1:3", "RN1:6", "RN1:8"]
    assert kept(freedom) == {
        "RN1:2": "its tuple stays, because RN1:7 is kept: kept by [[keep]] line 3",
        "RN1:7": "kept by [[keep]] line 3",
    }


def test_free_positions_of_a_kept_tuple_still_trade_inside() -> None:
    text = (
        '[[unit]]\ntuples = [["RN1:1", "RN1:2", "RN1:3", "RN1:4"]]\ninner = [[1, 2, 3]]\n'
        '[[keep]]\npins = ["RN1:4", "RN1:3"]\n'
    )
    freedom = freedom_of(text)
    assert labels(freedom) == ["RN1:1", "RN1:2"]
    assert [group.exchange.inner for group in freedom.groups] == [((0, 1),)]


def test_units_reach_across_equal_parts_in_one_group() -> None:
    rows = ", ".join(f'["{ref}:{i}", "{ref}:{9 - i}"]' for ref in ("RN1", "RN2") for i in (1, 2))
    freedom = freedom_of(f"[[unit]]\ntuples = [{rows}]\nreversible = true\ncost_mm = 2\n")
    (group,) = freedom.groups
    assert len(group.sites) == 4
    assert (group.price_nm, group.exchange.reversible) == (2_000_000, True)


def test_tuples_of_unlike_pins_are_noted() -> None:
    freedom = freedom_of('[[unit]]\ntuples = [["U3:2", "U3:6"], ["U3:3", "U3:4"]]\n')
    assert [finding.text for finding in freedom.findings] == [
        "[[unit]] line 1: position 2 holds U3:6 (input) and U3:4 (bidirectional); "
        "are the pins of every tuple in the same order?"
    ]


BROKEN = {
    '[[order]]\npart = "U3"\nnets = ["/SONDE_RX", "/SONDE_TX", "/LED_A"]\n': (
        "[[order]] line 4: not in order, up or down, along U3: /SONDE_TX on U3:2, "
        "/SONDE_RX on U3:3, /LED_A on U3:4"
    ),
    '[[pair]]\nnets = ["/CAN_N", "/LED_A"]\ninvertible = true\n': (
        "[[pair]] line 4: not side by side: /LED_A on U3:4, /CAN_N on U3:9"
    ),
    '[[pair]]\nnets = ["/CAN_N", "/CAN_P"]\npart = "U3"\nsites = [["8", "9"]]\n': (
        "[[pair]] line 4: not on one of its pair sites with this polarity: "
        "/CAN_P on U3:8, /CAN_N on U3:9"
    ),
    '[[apart]]\nnets = ["/CAN_P"]\nothers = ["/LED_A"]\ndistance_mm = 4.5\n': (
        "[[apart]] line 4: nearer than 4.5 mm: /LED_A on U3:4, /CAN_P on U3:8"
    ),
    '[[apart]]\nnets = ["/CAN_P", "/CAN_N"]\n': (
        "[[apart]] line 4: on neighbouring pins: /CAN_P on U3:8, /CAN_N on U3:9"
    ),
    '[[beside]]\nnets = ["/LED_A"]\n': "[[beside]] line 4: no ground pin beside /LED_A on U3:4",
    '[[needs]]\nnets = ["/LED_A"]\nfunctions = ["IO_B*"]\n': (
        "[[needs]] line 4: IO_B* is not offered: /LED_A on U3:4"
    ),
    '[[needs]]\nnets = ["/DEBUG_IO"]\nfunctions = ["IO_B*"]\n': (
        "[[needs]] line 4: IO_B* is not offered: /DEBUG_IO on U3:5; it stays so, because U3:5 is "
        "kept: debug pin by its name, IO_A4/SWDIO, "
        'caught by "*"; name it by its number to free it'
    ),
    '[[needs]]\nnets = ["/LED_A"]\nfunctions = ["SWDIO"]\n': (
        "[[needs]] line 4: SWDIO is not offered: /LED_A on U3:4; it stays so, because no free pin "
        "of [[pool]] line 1 offers it"
    ),
    '[[offers]]\npart = "U3"\npins = ["7", "8"]\nfunctions = ["UART1_TX", "UART1_RX"]\n'
    '[[peripheral]]\nnets = ["/SONDE_TX", "/SONDE_RX"]\nsignals = ["TX", "RX"]\n'
    'instances = ["UART1"]\n': (
        "[[peripheral]] line 8: none of UART1 has TX, RX on these pins: "
        "/SONDE_TX on U3:2, /SONDE_RX on U3:3"
    ),
    '[[needs]]\nnets = ["/SONDE_TX", "/SONDE_RX"]\nfunctions = ["ADC"]\n'
    '[[offers]]\npart = "U3"\npins = ["2-4"]\nfunctions = ["ADC"]\n': (
        "[[needs]] line 4: some function would be used twice: /SONDE_TX on U3:2, /SONDE_RX on U3:3"
    ),
}


@pytest.mark.parametrize("text", BROKEN, ids=range(len(BROKEN)))
def test_what_the_input_breaks_is_told_and_may_stay(text: str) -> None:
    freedom = freedom_of(WHOLE + text)
    assert [finding.text for finding in freedom.findings] == [BROKEN[text]]
    assert complaints(freedom, freedom.names.input_nets) == []


def moved(freedom: Freedom, **nets: str) -> list[str]:
    """Complaints when pins of U3 (``p2``) carry these nets instead ("" for none)."""
    after = freedom.names.input_nets
    names = freedom.names
    for pin, net in nets.items():
        found = next(p for p in range(len(after)) if names.label(p) == f"U3:{pin[1:]}")
        after[found] = NETS.index(net) if net else -1
    return complaints(freedom, after)


def test_complaints_name_what_is_wrong() -> None:
    freedom = freedom_of(WHOLE + '[[pair]]\nnets = ["/CAN_P", "/CAN_N"]\n')
    assert moved(freedom, p2="/LED_A", p4="/SONDE_TX") == []
    assert moved(freedom, p2="/RESET", p6="/SONDE_TX") == [
        "U3:6 moved, but reset pin by its name, ~{RESET}, "
        'caught by "*"; name it by its number to free it',
        "[[pool]] line 1: /RESET came from outside",
    ]
    assert moved(freedom, p8="", p7="/CAN_P") == [
        "[[pair]] line 4: not side by side with this polarity: /CAN_P on U3:7, /CAN_N on U3:9"
    ]
    assert moved(freedom, p8="/CAN_N", p9="/CAN_P") == [
        "[[pair]] line 4: not side by side with this polarity: /CAN_N on U3:8, /CAN_P on U3:9"
    ]
    assert moved(freedom, p7="/CAN_P", p8="/CAN_N", p9="") == []


def test_weights_of_full_names_go_before_globs() -> None:
    text = (
        '[[weight]]\nnets = ["/SONDE_TX"]\nfactor = 4\n'
        '[[weight]]\nnets = ["/SONDE_*"]\nfactor = 0.0001\n'
    )
    weight = freedom_of(text).weight
    assert weight.dtype == np.int64
    assert weight[[NETS.index(n) for n in ("/SONDE_TX", "/SONDE_RX", "GND")]].tolist() == [
        4000,
        1,
        1000,
    ]


def test_tangle_words_become_names_and_full_names_go_before_globs() -> None:
    rules = read_rules(b'[tangle]\ninclude = ["GND", "/CAN_P"]\nleave_out = ["/CAN_*", "+3V3"]\n')
    assert tangle_nets(buoy(), rules) == (("GND", "/CAN_P"), ("/CAN_N", "+3V3"))


def test_layers_count_from_the_front_and_from_the_back() -> None:
    rules = read_rules(b'[board]\nhorizontal = [1, "In1.Cu"]\nvertical = [-1]\n')
    assert directions(buoy(), rules) == {0: "h", 1: "h", 2: "v"}


def test_rules_made_by_a_program_need_no_lines() -> None:
    rules = Rules(pools=(Pool("U3", ("2", "3")),), keeps=(Keep(nets=("GND",)),))
    assert labels(resolve(buoy(), rules, {})) == ["U3:2", "U3:3"]
