"""Which nets are left out as planes, and why."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from renet.columns import pad_columns
from renet.model import Board
from renet.planes import left_out, outline_area, supply_name
from tests.strategies.boards import MM, PadSpec, ZoneSpec, boards, build, rectangle

EDGE = [[*rectangle(0, 0, 20, 10), (0, 0)]]


def found(board: Board, include: tuple[str, ...] = (), leave: tuple[str, ...] = ()) -> dict:  # type: ignore[type-arg]
    return left_out(board, pad_columns(board), include, leave)


def row(net: str, xs: list[float], type: str = "") -> list[PadSpec]:
    return [PadSpec("U1", f"{net}{i}", x, 0, net, type=type) for i, x in enumerate(xs)]


def test_zones_over_half_of_the_pads_make_a_plane() -> None:
    pads = row("A", [1, 2, 8, 9])
    over_two = [ZoneSpec("A", rectangle(0, -1, 3, 1))]
    assert found(build(pads, zones=over_two)) == {0: "zones cover 2 of its 4 pads"}
    assert found(build(row("A", [1, 8, 9]), zones=over_two)) == {}


def test_teardrops_rule_areas_and_zones_of_others_make_none() -> None:
    pads = row("A", [1, 2])
    outline = rectangle(0, -1, 3, 1)
    assert found(build(pads, zones=[ZoneSpec("A", outline, teardrop=True)])) == {}
    assert found(build(pads, zones=[ZoneSpec(None, outline)])) == {}
    board = build(pads, zones=[ZoneSpec("A", outline)])
    ruled = board.zones[0]._replace(rule_area=True)
    assert found(replace(board, zones=(ruled,))) == {}


def test_a_zone_at_one_pad_is_a_teardrop_that_nobody_marked() -> None:
    pads = row("A", [1, 8])
    drops = [ZoneSpec("A", rectangle(x - 1, -1, x + 1, 1)) for x in (1, 8)]
    assert found(build(pads, zones=drops)) == {}
    assert found(build(pads, zones=[*drops, ZoneSpec("A", rectangle(0, -1, 9, 1))])) != {}


def test_pads_in_the_hole_of_a_zone_are_not_covered() -> None:
    board = build(row("A", [1, 2]), zones=[ZoneSpec("A", rectangle(0, -1, 3, 1))])
    text = build([], zones=[ZoneSpec("A", rectangle(0.5, -0.5, 2.5, 0.5))]).zones[0].outline[0]
    holed = board.zones[0]._replace(outline=(*board.zones[0].outline, text))
    assert found(board) == {0: "zones cover 2 of its 2 pads"}
    assert found(replace(board, zones=(holed,))) == {}


def test_a_zone_that_fills_the_board_makes_a_plane_without_covering_pads() -> None:
    pads = row("A", [-1, -2])
    outline = rectangle(0, 0, 20, 6)
    wide = [ZoneSpec("A", outline)]
    assert found(build(pads, zones=wide, edge=EDGE)) == {0: "zones fill 60% of layer L1"}
    assert found(build(pads, zones=wide)) == {}
    little = [ZoneSpec("A", outline, [(0, rectangle(0, 0, 10, 6))])]
    assert found(build(pads, zones=little, edge=EDGE)) == {}
    much = [ZoneSpec("A", rectangle(0, 0, 1, 1), [(1, rectangle(0, 0, 20, 6))])]
    assert found(build(pads, zones=much, edge=EDGE)) == {0: "zones fill 60% of layer L2"}
    two = [ZoneSpec("A", rectangle(0, 0, 20, 3)), ZoneSpec("A", rectangle(0, 5, 20, 8))]
    assert found(build(pads, zones=two, edge=EDGE)) == {0: "zones fill 60% of layer L1"}
    half = [ZoneSpec("A", rectangle(0, 0, 20, 5))]
    assert found(build(pads, zones=half, edge=EDGE)) == {}


def test_power_pins_by_type() -> None:
    mixed = [*row("A", [1, 2], "power_in"), *row("B", [3, 4, 5], "passive")]
    assert found(build(mixed)) == {0: "2 power pins"}
    one = [*row("A", [1], "power_out"), *row("B", [3, 4, 5], "passive")]
    assert found(build(one)) == {}
    out = [
        PadSpec("U1", "1", 0, 0, "A", type="power_out"),
        PadSpec("U2", "1", 1, 0, "A", type="power_in"),
    ]
    assert found(build(out)) == {0: "2 power pins"}


def test_supply_names_count_only_without_pin_types_and_with_many_pads() -> None:
    many, few = [float(i) for i in range(13)], [float(i) for i in range(12)]
    assert found(build(row("GND", many))) == {0: "called like a supply, with 13 pads"}
    assert found(build(row("GND", few))) == {}
    assert found(build(row("DATA", many))) == {}
    assert found(build([*row("GND", many), PadSpec("U2", "1", 0, 0, type="input")])) == {}


def test_include_and_leave_out_override() -> None:
    pads = [*row("/bus/D0", [1]), *row("/bus/D[1]", [2]), *row("+3V3", [3, 4], "power_in")]
    board = build(pads)
    assert found(board) == {2: "2 power pins"}
    assert found(board, include=("+3*",)) == {}
    named = "named in leave_out"
    assert found(board, leave=("/bus/*",)) == {0: named, 1: named, 2: "2 power pins"}
    assert found(board, leave=("/bus/D[1]",)) == {1: named, 2: "2 power pins"}
    assert found(board, leave=("/BUS/*",)) == {2: "2 power pins"}
    assert found(board, include=("+3V3",), leave=("+3V3",)) == {2: named}


# common practice, no source
SUPPLIES = """
    GND AGND GNDA DGND PGND GND_ISO /power/GND VCC VDD VSS VBUS VBAT VCC3V3 VDD_CORE VDDIO AVDD 3V3
    +3V3 5V +5V +12V -12V 3.3V +3.3V 1.8V 1V8 +1V2 3V3_AUX VCCINT0 V3.3 +BATT Earth SHIELD
"""
SIGNALS = """
    DATA GNT SCL V /GND/SCL D3 3 12 A5 LED3V SDA_3 PEN VREG_EN_N Net-(U1-GND) GPIO33 RESET
"""


@pytest.mark.parametrize("name", SUPPLIES.split())
def test_names_of_supplies(name: str) -> None:
    assert supply_name(name)


@pytest.mark.parametrize("name", SIGNALS.split())
def test_names_of_signals(name: str) -> None:
    assert not supply_name(name)


def test_the_outline_is_the_largest_loop_of_its_pieces() -> None:
    a, b, c, d = rectangle(0, 0, 20, 10)
    scattered = [[c, b], [a, b], [d, a], [c, d]]
    whole = 2 * 200 * MM * MM
    assert outline_area(build([], edge=scattered)) == whole
    loose = [[c, b], [(a[0], a[1] - 900), b], [d, a], [(c[0] + 800, c[1]), d]]
    assert abs(outline_area(build([], edge=loose)) - whole) < whole // 1_000
    window = [*rectangle(5, 5, 6, 6), (5 * MM, 5 * MM)]
    assert outline_area(build([], edge=[window, *scattered])) == whole
    assert outline_area(build([], edge=scattered[:3])) == whole
    triangle = [[a, b], [b, c], [c, a]]
    assert outline_area(build([], edge=triangle)) == whole // 2
    assert outline_area(build([], edge=triangle[:2])) == whole
    assert outline_area(build([])) == 0


@given(boards(), st.sampled_from([(), ("*",), ("A",)]), st.sampled_from([(), ("*",), ("B",)]))
def test_every_net_left_out_has_a_reason(
    board: Board, include: tuple[str, ...], leave: tuple[str, ...]
) -> None:
    result = found(board, include, leave)
    assert all(result.values())
    assert list(result) == sorted(result)
    if leave == ("*",):
        assert list(result) == list(range(len(board.nets)))
    elif include == ("*",):
        assert {board.nets[net] for net in result} <= {"B"} & set(leave)
