"""Rare shapes of files and rules that the second opinion must not stumble over."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise

import pytest
from cases.scene import DROP_43, FREE, Copper, Scene, exchange, scene

from renet.model import Netlist, Node
from renet.read.board import read_board
from renet.rules import Apart, Needs, Order, Pair, Peripheral, Pool, Rules
from renet.syntax import parse
from renet.verify import BYTES, COPPER, PINS, RULES, Expect, Verdict, verify_board
from renet.verify.alignment import Alignment
from renet.verify.facts import Facts
from renet.verify.pins import comparable
from renet.verify.seats import Seat, met_in, with_netlist
from renet.verify.sheet import Sheet

POOL = Rules(pools=(Pool("U3", ("41-46",)),))
TRADE = {"U3:41": "/SONDE_RX", "U3:42": "/SONDE_TX"}
TO_SPARE = {"U3:41": None, "U3:46": "/SONDE_TX"}


def judged(before: bytes, after: bytes, **expect: object) -> Verdict:
    return verify_board(before, after, Expect(**{"rules": POOL, **expect}))  # type: ignore[arg-type]


def only(verdict: Verdict, check: str, *rules: str) -> None:
    assert {(f.check, f.rule) for f in verdict.findings} == {(check, rule) for rule in rules}


def in_both(
    before: Scene, after: Scene, old: bytes, new: bytes, since: bytes = b""
) -> tuple[bytes, bytes]:
    """Both files with the first ``old`` after ``since`` replaced."""
    texts = []
    for text in (before.text(), after.text()):
        at = text.index(old, text.index(since))
        texts.append(text[:at] + new + text[at + len(old) :])
    return texts[0], texts[1]


def with_zone(text: bytes, net: bytes, fills: int) -> bytes:
    """A copper area inside part R5, as footprints may have."""
    area = b"(pts (xy 140 120) (xy 141 120) (xy 141 121))"
    fill = b'(filled_polygon (layer "F.Cu") %s)' % area
    zone = b'(zone %s (layer "F.Cu") (polygon %s)%s)' % (net, area, (b" " + fill) * fills)
    at = text.index(b'"buoy:R5"')
    at = text.index(b"(pad ", at)
    return text[:at] + zone + b"\n\t\t" + text[at:]


@pytest.mark.parametrize("zones", [1, 2])
def test_areas_inside_parts_lose_their_fill_with_their_net(zones: int) -> None:
    before, after = scene("new").text(), exchange(scene("new"), TRADE, rip=True).text()
    net = b'(net "/SONDE_TX")'
    filled, empty = before, after
    for _ in range(zones):
        filled, empty, kept = (
            with_zone(t, net, n) for t, n in ((filled, 1), (empty, 0), (after, 1))
        )
    assert judged(filled, empty, copper="rip").ok
    if zones == 1:
        only(judged(filled, kept, copper="rip"), COPPER, "leaves")
    other = b'(net "/CARD_D0")'
    filled, kept, empty = (with_zone(t, other, n) for t, n in ((before, 1), (after, 1), (after, 0)))
    assert judged(filled, kept, copper="rip").ok
    only(judged(filled, empty, copper="rip"), COPPER, "stays")
    changed = kept.replace(b"xy 140 120", b"xy 140 122")
    assert {f.check for f in judged(filled, changed, copper="rip").findings} == {BYTES}


def test_private_members_of_a_net_class_follow_the_pins() -> None:
    name = "unconnected-(U3-IO_B5-Pad46)"
    new = "unconnected-(U3-IO_B0-Pad41)"
    mark = b'\n  (net_class "Slow" "" (clearance 0.2)\n    (add_net "GND")'
    mark += b'\n    (add_net "%s")\n  )\n  (gr_line'
    before, after = scene("middle"), exchange(scene("middle"), TO_SPARE)
    a = before.text().replace(b"\n  (gr_line", mark % name.encode(), 1)
    b = after.text().replace(b"\n  (gr_line", mark % new.encode(), 1)
    assert judged(a, b).ok
    stale = after.text().replace(b"\n  (gr_line", mark % name.encode(), 1)
    assert judged(a, stale).ok, "a name nobody carries may stay in a class"
    wrong = b.replace(b'(add_net "%s")' % new.encode(), b'(add_net "unconnected-(U3-IO_B4-Pad45)")')
    only(judged(a, wrong), PINS, "net table")
    wide = b.replace(b'(add_net "unconn', b'(add_net  "unconn')
    only(judged(a, wide), BYTES, "white space")
    real = b.replace(b'(add_net "GND")', b'(add_net "/A1")')
    only(judged(a, real), BYTES, "unchanged")


def test_a_pad_without_a_number_keeps_its_net() -> None:
    first = scene("new")
    part = b'"buoy:R5"'
    before, after = in_both(first, exchange(first, TRADE), b'(pad "2"', b'(pad ""', part)
    assert judged(before, after).ok
    at = after.index(b'(pad ""')
    moved = after[:at] + after[at:].replace(b'(net "GND")', b'(net "/A1")', 1)
    assert not judged(before, moved).ok
    private = after[:at] + after[at:].replace(b'(net "GND")', b'(net "unconnected-(R5-Pad2)")', 1)
    assert "a pad of" in str(judged(before, private).of(PINS)[0])


def test_what_leads_to_an_unnumbered_pad_is_routed() -> None:
    before = scene("new").with_pad("J8:1", net="/SONDE_TX").with_pad("RN1:1", net="/SONDE_TX")
    before = before.with_pad("J8:1", x=103.5, y=100)
    after = exchange(before, TRADE)
    a, b = in_both(before, after, b'(pad "1"', b'(pad ""', b'"buoy:J8"')
    only(judged(a, b), COPPER, "routed", "net")


def test_a_net_without_pins_that_move_is_no_concern() -> None:
    before = scene("new")
    lone = Copper("segment", ((70, 70), (71, 70)), "", layer="User.1")
    odd = Copper("segment", ((100, 101), (101, 101)), "/SONDE_RX", owner="", layer="User.1")
    before = replace(before, copper=(*before.copper, lone, odd))
    assert judged(before.text(), exchange(before, TRADE).text()).ok


def test_a_filled_area_on_no_copper_layer_or_without_corners_joins_nothing() -> None:
    before = scene("new")
    area = (
        b'(zone (net "/SONDE_TX") (layer "%s") (polygon (pts (xy 99 99) (xy 101 99) (xy 101 101)))'
    )
    area += b' (filled_polygon (layer "%s") (pts%s)))\n\t(gr_line'
    for layer, corners in ((b"User.1", b" (xy 99 99) (xy 101 99) (xy 101 101)"), (b"F.Cu", b"")):
        more = area % (layer, layer, corners)
        a, b = in_both(before, exchange(before, TRADE), b"(gr_line", more)
        assert judged(a, b).ok
    a, b = in_both(
        before,
        exchange(before, TRADE),
        b"(gr_line",
        area % (b"F.Cu", b"F.Cu", b" (xy 99 99) (xy 101 99) (xy 101 101)"),
    )
    only(judged(a, b), COPPER, "routed", "net", "touch")


def test_a_row_that_stands_twice_in_after_is_found() -> None:
    before = scene("middle").text()
    row = b'  (net 1 "/SONDE_TX")\n' if b'(net 1 "/SONDE_TX")' in before else b""
    line = row or next(x + b"\n" for x in before.split(b"\n") if x.startswith(b"  (net 1 "))
    verdict = judged(before, before.replace(line, line + line, 1))
    assert {f.check for f in verdict.findings} == {BYTES, PINS}


def test_of_copper_drawn_twice_the_exact_twin_is_the_one_that_stayed() -> None:
    """In old files two tracks may differ in nothing but the net."""
    base = scene("old")
    card = next(c for c in base.copper if c.net == "/CARD_D0")
    free = base.copper[FREE]
    for pair in ((replace(card, net=free.net), card), (card, replace(card, net=free.net))):
        before = replace(
            base, copper=(*base.copper, *(replace(c, points=((70, 70), (71, 70))) for c in pair))
        )
        after = exchange(before, TRADE, rip=True)
        assert len(after.copper) == len(before.copper) - 2
        assert judged(before.text(), after.text(), copper="rip").findings == []


def test_a_list_of_a_teardrop_may_not_vanish() -> None:
    before = scene("middle")
    after = exchange(before, {"U3:43": "/SONDE_RX", "U3:42": "/LED_A"}).text()
    at = after.index(b"(attr (teardrop")
    start = after.rindex(b" (net_name", 0, at)
    gone = after[:start] + after[after.index(b")", start) + 1 :]
    assert {f.check for f in judged(before.text(), gone).findings} == {BYTES}


def test_a_net_name_that_a_teardrop_did_not_have_is_found() -> None:
    before = scene("middle").text()
    at = before.index(b"(attr (teardrop")
    start = before.rindex(b" (net_name", 0, at)
    bare = before[:start] + before[before.index(b")", start) + 1 :]
    assert {f.check for f in judged(bare, before).findings} == {BYTES}


def test_copper_without_net_gets_one_as_others_have_it() -> None:
    before = scene("new").with_pad("U3:45", net="", marked=True)
    stub = Copper("segment", ((100, 104), (99, 104)), "", owner="U3:45")
    before = replace(before, copper=(*before.copper, stub))
    after = exchange(before, {"U3:42": None, "U3:45": "/SONDE_RX"})
    assert judged(before.text(), after.text()).ok
    odd = after.text().replace(
        b'(layer "F.Cu") (net "/SONDE_RX"))', b'(layer "F.Cu")  (net "/SONDE_RX"))'
    )
    assert odd != after.text()
    only(judged(before.text(), odd), BYTES, "white space")


def test_reader_and_verify_must_see_the_same() -> None:
    text, other = scene("new").text(), exchange(scene("new"), TRADE).text()
    sheet = Sheet("before", other, parse(other))
    board = read_board(text)[0]
    (found,) = comparable(Facts(board), board.nets, sheet, sheet)
    assert (found.check, found.rule) == (PINS, "reader")


def test_other_words_for_the_same_list_are_found() -> None:
    before = scene("new").text()
    verdict = judged(before, before.replace(b"(segment", b"(segmens", 1))
    assert {f.check for f in verdict.findings} == {BYTES}
    old = Sheet("before", before, parse(before))
    steps = Alignment(old, Sheet("after", before, parse(before))).steps
    assert [(step.before, step.after, step.many) for step in steps] == [(0, 0, len(old))]


@pytest.mark.parametrize("seed", range(40))
def test_equal_lists_in_a_row_are_one_step(seed: int) -> None:
    """It ends where lists differ, or what stands between them does, and nowhere else."""
    rng = random.Random(seed)
    size = rng.randrange(1, 60)
    nets, others = ([rng.random() < share for _ in range(size)] for share in (0.5, 0.05))
    gaps = [rng.choice((b"", b" ", b"\n  ")) for _ in range(size)]
    spaces = [b"\t" if rng.random() < 0.05 else gap for gap in gaps]
    text = b"(kicad_pcb%b)" % b"".join(
        gap + b"(zone (net %d))" % net for gap, net in zip(gaps, nets, strict=True)
    )
    other = b"(kicad_pcb%b)" % b"".join(
        gap + b"(zone (net %d))" % (net + 7 * new)
        for gap, net, new in zip(spaces, nets, others, strict=True)
    )
    steps = Alignment(Sheet("before", text, parse(text)), Sheet("after", other, parse(other))).steps
    runs: list[list[int]] = []
    for item in range(size):
        apart = not item or others[item] or others[item - 1] or gaps[item] != spaces[item]
        runs += [[item]] if apart else []
        runs[-1] += [] if apart else [item]
    assert [(step.before, step.after, step.many) for step in steps] == [
        (run[0], run[0], len(run)) for run in runs
    ]
    assert [step.equal for step in steps] == [not others[run[0]] for run in runs]
    assert all(step.alike for step in steps)


# a netlist given with the board


def seat(number: str, net: str | None, name: str = "") -> Seat:
    return Seat(0, "U3", number, name, "", ((0, 0),), True, False, net, net)


def listing(nets: dict[str, str | None]) -> Netlist:
    nodes = tuple(Node("U3", pin, net, f"IO_{pin}", "") for pin, net in nets.items())
    return Netlist("E", (), nodes)


def test_a_netlist_gives_names_and_disputes_pins() -> None:
    seats = [
        seat("1", "/A"),
        seat("2", "/A", "OWN"),
        seat("3", "/B"),
        seat("4", "/B"),
        seat("5", None),
        seat("6", "/C"),
    ]
    same = listing({"1": "x", "2": "x", "3": "y", "4": "y", "5": None})
    made = with_netlist(seats, met_in(seats, same, False))
    assert [s.name for s in made] == ["IO_1", "OWN", "IO_3", "IO_4", "IO_5", ""]
    assert not any(s.disputed for s in made)
    other = listing({"1": "x", "2": "y", "3": "x", "4": "y", "5": "z"})
    crossed = with_netlist(seats, met_in(seats, other, False))
    assert [s.disputed for s in crossed] == [True, True, True, True, True, False]


def test_names_of_a_netlist_serve_the_rules_of_a_board_without_names() -> None:
    before = scene("old")
    after = exchange(before, TRADE)
    nodes = "".join(
        f'(net (code {k}) (name "N{k}") '
        + "".join(f"(node (ref {r}) (pin {n}) (pinfunction IO_{n}))" for r, n in pins)
        + ")"
        for k, pins in enumerate(
            ([("U3", "41"), ("J7", "1")], [("U3", "42"), ("J7", "2")], [("U3", "43"), ("J7", "3")]),
            1,
        )
    )
    listed = f"(export (version E) (components (comp (ref U3) (value X))) (nets {nodes}))".encode()
    rules = Rules(pools=(Pool("U3", ("IO_41", "IO_42")),))
    assert judged(before.text(), after.text(), rules=rules, netlist=listed).ok
    disputed = listed.replace(b"(pin 41)", b"(pin 99)").replace(b"(pin 43)", b"(pin 41)")
    both = Rules(pools=(Pool("U3", ("41", "42")),))
    verdict = judged(before.text(), after.text(), rules=both, netlist=disputed)
    only(verdict, RULES, "scope")
    assert "netlist" in verdict.findings[0].what


# rules that look at rare things


def test_conditions_that_hold_on_no_part_are_no_matter() -> None:
    before = scene("new")
    rules = POOL._replace(
        orders=(Order("J8", ("/A1", "/B2", "GND")),),
        pairs=(Pair(("/A1", "/B1")), Pair(("/A1", "/LED_A"))),
        aparts=(Apart(("/A1",), ("/B2",)),),
        needs=(Needs(("/A1",), ("SPI*",)), Needs(("/SONDE_TX",), ("IO_B?",), "U3", shared=True)),
        peripherals=(Peripheral(("/A1", "/A2"), ("TX", "RX"), ("UART9",)),),
    )
    assert judged(before.text(), exchange(before, TRADE).text(), rules=rules).ok


def test_many_peripherals_and_too_few_instances_end_quickly() -> None:
    """Fourteen want thirteen instances: what was tried is not tried again."""
    nets = ["/SONDE_TX", "/SONDE_RX", "/LED_A", "/LED_B", "/A1", "/A2", "/B1", "/B2", "/CARD_D0"]
    names = tuple(f"IO_B{k}" for k in range(8))
    rules = POOL._replace(
        peripherals=tuple(
            Peripheral((net, other), ("TX", "RX"), names) for net, other in pairwise(nets)
        )
    )
    before = scene("new")
    assert judged(before.text(), exchange(before, TRADE).text(), rules=rules).ok


def test_a_pin_that_was_torn_before_is_kept_and_not_taken_for_moved() -> None:
    before = scene("new")
    second = [i for i, pad in enumerate(before.pads) if pad.label == "U3:44"][1]
    pads = [replace(p, net="/A1") if i == second else p for i, p in enumerate(before.pads)]
    before = replace(before, pads=tuple(pads))
    verdict = judged(before.text(), before.text())
    assert verdict.ok
    assert verdict.moved == ()
    again = [replace(p, net="/B1") if i == second else p for i, p in enumerate(pads)]
    verdict = judged(before.text(), replace(before, pads=tuple(again)).text())
    assert [(m.label, m.was, m.is_) for m in verdict.moved] == [("U3:44", "/A1", "/B1")]
    assert "its pads are on different nets" in verdict.of(RULES)[0].what


def test_of_copper_drawn_twice_none_may_take_a_third_net() -> None:
    base = scene("old")
    spot = ((70, 70), (71, 70))
    twice = [replace(base.copper[FREE], points=spot, net=net) for net in ("/SONDE_TX", "/CARD_D0")]
    before = replace(base, copper=(*base.copper, *twice))
    after = exchange(before, TRADE, rip=True)
    wrong = replace(after, copper=(*after.copper[:-1], replace(twice[1], net="/LED_B")))
    assert {f.check for f in judged(before.text(), wrong.text(), copper="rip").findings} == {COPPER}


def test_a_row_that_is_no_row_is_found() -> None:
    before = scene("middle").text()
    last = [line for line in before.split(b"\n") if line.startswith(b"  (net ")][-1]
    verdict = judged(before, before.replace(last, last + b"\n  (net 99)", 1))
    only(verdict, BYTES, "added")


def test_a_slip_of_before_that_stays_is_no_finding() -> None:
    before = scene("middle").with_copper(DROP_43, name="/A1")
    assert judged(before.text(), exchange(before, TRADE).text()).ok


def test_a_pour_may_not_vanish_even_when_copper_is_ripped() -> None:
    before = scene("new")
    after = exchange(before, TRADE, rip=True)
    pour = next(i for i, one in enumerate(after.copper) if one.kind == "zone")
    only(judged(before.text(), after.without_copper(pour).text(), copper="rip"), BYTES, "missing")


def test_a_pin_leaves_a_filled_area_that_goes() -> None:
    before = scene("new").with_pad("J8:2", x=129, y=109.2).with_pad("R5:2", net="/A2")
    before = before.with_pad("J8:2", net="GND").with_pad("RN1:2", net="/A1")
    rules = Rules(pools=(Pool("J8", ("1-4", "2")),))
    after = exchange(before, {"J8:2": "/B1", "J8:3": "GND"}, rip=True)
    assert judged(before.text(), after.text(), rules=rules, copper="rip").ok
    track = Copper("segment", ((129, 109.2), (127, 109.2)), "GND")
    laid = replace(before, copper=(*before.copper, track))
    after = exchange(laid, {"J8:2": "/B1", "J8:3": "GND"}, rip=True)
    assert judged(laid.text(), after.text(), rules=rules, copper="rip").ok


def test_pads_that_lie_on_each_other_are_not_torn_apart() -> None:
    before = scene("new").with_pad("J8:1", net="/SONDE_TX", x=100.5, y=100)
    before = before.with_pad("RN1:1", net="/SONDE_TX")
    after = exchange(before, TRADE)
    only(judged(before.text(), after.text()), COPPER, "routed", "net", "touch")
    ripped = exchange(before, {"U3:41": "/A2", "J8:2": "/SONDE_TX"}, rip=True)
    ripped = ripped.without_copper(*(k for k, c in enumerate(ripped.copper) if c.owner == "U3:41"))
    rules = Rules(pools=(Pool("U3", ("41",)), Pool("J8", ("2",))))
    verdict = judged(before.text(), ripped.text(), rules=rules, copper="rip")
    assert {f.rule for f in verdict.of(COPPER)} == {"touch"}
