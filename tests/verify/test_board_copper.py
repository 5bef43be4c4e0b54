"""Copper, change lists and words of findings: cases in which only that check fires."""

from __future__ import annotations

from dataclasses import replace

import pytest
from cases.judging import TO_SPARE, TRADE, judged, listed, only
from cases.scene import (
    ARC_46,
    DROP_43,
    FAN_41,
    FREE,
    LED_B,
    ROUTED,
    SHAPES,
    VIA_41,
    exchange,
    private,
    scene,
)

from renet.changes import ChangeList, Left, Move, Swap
from renet.rules import Pool, Rules
from renet.verify import (
    COPPER,
    MOVES,
)

# e. copper


def test_a_routed_pin_is_kept_in_mode_keep() -> None:
    before = scene("new")
    rules = Rules(pools=(Pool("U3", ("41-47",)),))
    moves = {"U3:47": "/SONDE_RX", "U3:42": "/CARD_D0"}
    after = exchange(before, moves)
    track = after.with_copper(ROUTED, net="/SONDE_RX")
    verdict = judged(before, after, rules=rules)
    only(verdict, COPPER, "routed", "touch")
    assert "R5:1" in verdict.findings[0].what
    only(judged(before, track, rules=rules), COPPER, "routed", "net")
    ripped = exchange(before, moves, rip=True)
    assert judged(before, ripped, rules=rules, copper="rip").ok
    assert judged(before, ripped, rules=rules, copper="ignore").ok


def test_a_pin_in_a_filled_zone_is_routed() -> None:
    before = scene("new").with_pad("J8:2", x=129, y=109.2)
    before = (
        before.with_pad("R5:2", net="/A2").with_pad("J8:2", net="GND").with_pad("RN1:2", net="/A1")
    )
    pool = Rules(pools=(Pool("J8", ("1-4", "2")),))
    after = exchange(before, {"J8:2": "/B1", "J8:3": "GND"})
    only(judged(before, after, rules=pool), COPPER, "routed", "touch")


@pytest.mark.parametrize("mode", ["keep", "rip"])
def test_locked_copper_holds_its_pin(mode: str) -> None:
    before = scene("new").with_copper(FAN_41, locked=True)
    after = exchange(before, TRADE, rip=mode == "rip")
    only(judged(before, after, copper=mode), COPPER, "locked")


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("index", [FAN_41, VIA_41])
def test_fan_out_takes_the_new_net(shape: str, index: int) -> None:
    before = scene(shape)
    after = exchange(before, TRADE).with_copper(index, net="/SONDE_TX")
    only(judged(before, after), COPPER, "fan-out")


def test_a_teardrop_is_fan_out() -> None:
    before = scene("new")
    moves = {"U3:43": "/SONDE_RX", "U3:42": "/LED_A"}
    only(
        judged(before, exchange(before, moves).with_copper(DROP_43, net="/LED_A")),
        COPPER,
        "fan-out",
    )
    bare = exchange(before, moves).with_copper(DROP_43, filled=False)
    only(judged(before, bare), COPPER, "stays")


@pytest.mark.parametrize("shape", ["middle", "new"])
def test_fan_out_of_a_spare_pin_takes_its_net(shape: str) -> None:
    before = scene(shape)
    stale = before.copper[ARC_46].net if shape == "new" else private(before.pad("U3:41"), shape)
    after = exchange(before, TO_SPARE)
    assert after.copper[ARC_46].net == "/SONDE_TX"
    only(judged(before, after.with_copper(ARC_46, net=stale)), COPPER, "fan-out")


@pytest.mark.parametrize("shape", SHAPES)
def test_copper_of_no_moved_pin_keeps_its_net(shape: str) -> None:
    before = scene(shape)
    only(judged(before, exchange(before, TRADE).with_copper(FREE, net="/LED_B")), COPPER, "net")


@pytest.mark.parametrize("shape", SHAPES)
def test_ripped_copper_of_changed_nets_has_left(shape: str) -> None:
    before = scene(shape)
    after = exchange(before, TRADE, rip=True)
    assert len(after.copper) == len(before.copper) - 1
    kept = exchange(before, TRADE)
    only(judged(before, kept, copper="rip"), COPPER, "leaves")


@pytest.mark.parametrize("shape", SHAPES)
def test_ripped_copper_of_other_nets_stays(shape: str) -> None:
    before = scene(shape)
    after = exchange(before, TRADE, rip=True)
    gone = next(i for i, one in enumerate(after.copper) if one.net == "/CARD_D0")
    only(judged(before, after.without_copper(gone), copper="rip"), COPPER, "stays")
    fan = next(i for i, one in enumerate(after.copper) if one.owner == "U3:41")
    only(judged(before, after.without_copper(fan), copper="rip"), COPPER, "fan-out")


def test_locked_copper_away_from_the_pins_stays_as_it_is() -> None:
    before = scene("new").with_copper(FREE, locked=True)
    stays = exchange(before, TRADE)
    assert judged(before, stays, copper="rip").ok
    only(judged(before, stays.without_copper(FREE), copper="rip"), COPPER, "stays")
    only(judged(before, stays.with_copper(FREE, net="/LED_B"), copper="rip"), COPPER, "net")


def test_fills_leave_with_their_net_and_with_no_other() -> None:
    before = scene("new")
    rules = Rules(pools=(Pool("J7", ("1-4", "5")),))
    moves = {"J7:1": "GND", "J7:5": "/SONDE_TX"}
    after = exchange(before, moves, rip=True)
    assert judged(before, after, rules=rules, copper="rip").ok
    pour = next(i for i, one in enumerate(after.copper) if one.kind == "zone")
    only(
        judged(before, after.with_copper(pour, filled=True), rules=rules, copper="rip"),
        COPPER,
        "leaves",
    )
    other = exchange(before, TRADE, rip=True)
    pour = next(i for i, one in enumerate(other.copper) if one.kind == "zone")
    only(judged(before, other.with_copper(pour, filled=False), copper="rip"), COPPER, "stays")


def test_bare_copper_that_joins_two_open_pins_shorts_them() -> None:
    """Two open pins joined by copper of no net: the one may not get a net."""
    before = scene("old")
    wire = replace(before.copper[FREE], points=((100, 104), (100, 105)), net="")
    before = replace(before, copper=(*before.copper, wire))
    after = exchange(before, TO_SPARE, rip=True)
    only(judged(before, after, copper="rip"), COPPER, "touch")
    verdict = judged(before, exchange(before, TO_SPARE))
    only(verdict, COPPER, "routed", "touch")


def test_of_copper_drawn_twice_one_may_leave() -> None:
    before = scene("old")
    twice = replace(before.copper[ROUTED], net="/SONDE_TX")
    before = replace(before, copper=(twice, *before.copper))
    before = replace(
        before, copper=(before.copper[0], before.copper[4], *before.copper[1:4], *before.copper[5:])
    )
    after = replace(exchange(before, TRADE, rip=True))
    assert judged(before, after, copper="rip").ok


def test_the_change_list_says_what_left() -> None:
    before = scene("new")
    after = exchange(before, TRADE, rip=True)
    changes = listed(before, after, "rip")
    right = (Left("/SONDE_TX", 1, 0, 0),)
    assert judged(before, after, changes=changes._replace(left=right)).ok
    for wrong in ((Left("/SONDE_TX", 2, 0, 0),), (*right, Left("/LED_A", 0, 1, 0))):
        only(judged(before, after, changes=changes._replace(left=wrong)), COPPER, "left")


# f. moves


def test_a_further_move_is_found() -> None:
    before = scene("new")
    after = exchange(before, {**TRADE, "U3:43": "/LED_B", "U3:44": "/LED_A"})
    changes = listed(before, exchange(before, TRADE))
    before = before.without_copper(LED_B)
    after = after.without_copper(LED_B)
    only(judged(before, after, changes=changes), MOVES, "no further pin")
    only(judged(before, after, changes=changes, rules=None), MOVES, "no further pin")


def test_a_move_that_was_not_made_is_found() -> None:
    before = scene("new")
    changes = listed(before, exchange(before, TRADE))
    only(judged(before, before, changes=changes), MOVES, "is")


def test_a_list_for_another_board_is_found() -> None:
    before = scene("new")
    after = exchange(before, TRADE)
    changes = listed(before, after)
    only(judged(after, after, changes=changes), MOVES, "was")
    strange = ChangeList((), (Swap(1, (Move("U9", "1", "", "/A", "/B"),)),))
    only(judged(before, before, changes=strange), MOVES, "was")


# the whole


def test_findings_read_as_sentences_with_a_place() -> None:
    before = scene("new")
    verdict = judged(before, exchange(before, {"J7:1": "/SONDE_RX", "J7:2": "/SONDE_TX"}))
    assert [str(f) for f in verdict.findings] == [
        "J7:1: its net went from /SONDE_TX to /SONDE_RX, but the pin is kept: "
        "no pool and no unit names it [rules: scope]",
        "J7:2: its net went from /SONDE_RX to /SONDE_TX, but the pin is kept: "
        "no pool and no unit names it [rules: scope]",
    ]
    assert [str(m) for m in verdict.moved] == [
        "J7:1 (Pin_1): /SONDE_TX -> /SONDE_RX",
        "J7:2 (Pin_2): /SONDE_RX -> /SONDE_TX",
    ]
    assert repr(verdict) == "<verdict: 2 findings, 2 pins moved>"
