"""Every check of ``verify_board``: a case it passes, and cases in which only it fires."""

from __future__ import annotations

from dataclasses import replace

import pytest
from cases.judging import POOL, TO_SPARE, TRADE, edited, judged, listed, only
from cases.scene import (
    ARC_46,
    DROP_43,
    FAN_41,
    FREE,
    LED_B,
    POUR,
    SHAPES,
    VIA_41,
    exchange,
    private,
    scene,
)

from renet.errors import InputError
from renet.rules import Keep, Pool, Rules
from renet.verify import (
    BYTES,
    PARTITION,
    PINS,
    RULES,
    Expect,
    verify_board,
)

# what is right passes


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize(
    "moves", [{}, TRADE, TO_SPARE, {"U3:44": "/LED_A", "U3:43": None, "U3:45": "/LED_B"}]
)
@pytest.mark.parametrize("mode", ["keep", "rip", "ignore"])
def test_a_right_exchange_passes(shape: str, moves: dict[str, str | None], mode: str) -> None:
    before = scene(shape).without_copper(LED_B if shape != "old" else LED_B - 2)
    after = exchange(before, moves, rip=mode != "keep")
    verdict = judged(before, after, copper=mode)
    assert verdict.findings == []
    assert {m.label: m.is_ for m in verdict.moved} == moves
    both = judged(before, after, changes=listed(before, after, mode))
    assert both.findings == []
    alone = judged(before, after, rules=None, changes=listed(before, after, mode))
    assert alone.findings == []
    assert alone.counts.pads_compared == len(before.pads)
    assert alone.counts.bytes_compared == len(after.text())


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_line_ends_are_kept(shape: str, end: bytes) -> None:
    before, after = scene(shape).text(), exchange(scene(shape), TO_SPARE).text()
    a, b = (text.replace(b"\n", end) for text in (before, after))
    assert verify_board(a, b, Expect(POOL)).findings == []
    mixed = verify_board(before, after.replace(b"\n", b"\r\n"), Expect(POOL))
    assert {f.check for f in mixed.findings} == {BYTES}


def test_without_rules_or_list_nothing_may_move() -> None:
    before = scene("new")
    assert judged(before, before, rules=None).ok
    only(judged(before, exchange(before, TRADE), rules=None), RULES, "scope")


def test_two_pins_without_net_may_swap_private_rows() -> None:
    """A spare pin that gains and another that loses: the row of the one becomes the other's."""
    before = scene("middle")
    after = exchange(before, TO_SPARE)
    assert private(before.pad("U3:41"), "middle") in after.rows
    assert private(before.pad("U3:46"), "middle") not in after.rows
    assert len(after.rows) == len(before.rows)


# a. bytes


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [
        (b"thickness 1.6", b"thickness 1.5", "unchanged"),
        (b"(size 0.9 0.6)", b"(size 0.9 0.7)", "unchanged"),
        (b"(width 0.2)", b"(width 0.3)", "unchanged"),
        (b"hatch edge", b"hatch full", "unchanged"),
        (b"(gr_line", b"(gr_text", "unchanged"),
    ],
)
def test_anything_else_that_changed_is_found(shape: str, old: bytes, new: bytes, rule: str) -> None:
    before = scene(shape)
    data = edited(exchange(before, TRADE), old, new)
    if old == b"(gr_line":
        assert {f.check for f in judged(before, data).findings} == {BYTES}
    else:
        only(judged(before, data), BYTES, rule)


def test_a_finding_points_at_the_byte() -> None:
    before = scene("old")
    data = before.text().replace(b"(width 0.2)", b"(width 0.3)", 1)
    (found,) = judged(before, data).findings
    line = data.split(b"\n").index(next(x for x in data.split(b"\n") if b"(width 0.3)" in x)) + 1
    column = data.split(b"\n")[line - 1].index(b"0.3") + 3
    assert str(found.place) == f"after:{line}:{column}"
    assert "2) (layer" in found.what
    assert "3) (layer" in found.what


@pytest.mark.parametrize("shape", SHAPES)
def test_a_list_that_comes_or_goes_is_found(shape: str) -> None:
    before = scene(shape)
    line = next(x for x in before.text().split(b"\n") if b"(gr_line" in x) + b"\n"
    text = before.text()
    only(judged(before, text.replace(line, b"", 1)), BYTES, "missing")
    only(judged(before, text.replace(line, line + line, 1)), BYTES, "added")


def test_a_track_may_leave_only_when_copper_is_ripped() -> None:
    before = scene("new")
    only(judged(before, before.without_copper(FREE)), BYTES, "missing")


@pytest.mark.parametrize("mode", ["keep", "rip"])
def test_a_track_that_is_new_is_found(mode: str) -> None:
    before = scene("middle")
    more = replace(
        before, copper=(*before.copper, replace(before.copper[FREE], points=((1, 1), (2, 2))))
    )
    only(judged(before, more, copper=mode), BYTES, "added")


def test_head_and_tail_of_the_file_are_kept() -> None:
    before = scene("new")
    only(judged(before, b"\n" + before.text()), BYTES, "head")
    only(judged(before, before.text() + b"\n"), BYTES, "tail")


def test_white_space_between_lists_is_kept() -> None:
    before = scene("old")
    only(
        judged(before, before.text().replace(b"\n  (gr_line", b"\n (gr_line", 1)),
        BYTES,
        "white space",
    )


@pytest.mark.parametrize("shape", SHAPES)
def test_white_space_round_a_net_is_kept(shape: str) -> None:
    before = scene(shape)
    after = exchange(before, TRADE)
    tight = b'(net "/SONDE_RX")' if shape == "new" else b"(net "
    head, _, tail = after.text().partition(b"(pad " + (b"41" if shape == "old" else b'"41"'))
    loose = tail.replace(tight, tight.replace(b"(net ", b"(net  "), 1)
    only(
        judged(before, head + b"(pad " + (b"41" if shape == "old" else b'"41"') + loose),
        BYTES,
        "white space",
    )


def test_a_new_net_list_is_written_as_others_are() -> None:
    before = scene("old")
    after = exchange(before, TO_SPARE).text()
    pad = after.index(b"(pad 46 ")
    net = after.index(b"\n      (net", pad)
    for gap in (b" ", b"\n     ", b"\r\n      "):
        data = after[:net] + gap + after[net + 7 :]
        only(judged(before, data), BYTES, "white space")
    inner = after[:net] + after[net:].replace(b" /SONDE_TX)", b"  /SONDE_TX)", 1)
    only(judged(before, inner), BYTES, "white space")


def test_a_new_net_list_stands_after_another_list() -> None:
    before = scene("old")
    lines = exchange(before, TO_SPARE).text().split(b"\n")
    at = next(k for k, line in enumerate(lines) if b"(pad 46 " in line)
    net = lines[at + 1][:-1]
    lines[at] = lines[at].replace(b"smd rect", b"smd rect\n" + net) + b")"
    del lines[at + 1]
    only(judged(before, b"\n".join(lines)), BYTES, "white space")


@pytest.mark.parametrize("shape", ["middle", "new"])
def test_the_net_of_a_pour_stays(shape: str) -> None:
    before = scene(shape)
    pour = replace(before.copper[POUR], net="/LED_A")
    after = before.with_copper(POUR, net="/LED_A")
    assert pour in after.copper
    only(judged(before, after), BYTES, "zone net")


def test_a_filled_area_that_is_not_of_before_is_found() -> None:
    before = scene("new")
    data = before.text()
    at = data.index(b"(filled_polygon")
    only(judged(before, data[:at] + data[at:].replace(b"128", b"127", 1)), BYTES, "unchanged")


def test_a_row_that_is_new_is_private_and_next_in_order() -> None:
    before = scene("middle").with_pad("U3:46", net="", marked=True)
    before = replace(before, rows=tuple(r for r in before.rows if "Pad46" not in r))
    before = before.with_copper(ARC_46, net="", owner="U3:46")
    after = exchange(before, TO_SPARE)
    assert len(after.rows) == len(before.rows) + 1
    assert judged(before, after).ok
    last = len(before.rows)
    row = b'\n  (net %d "unconnected-(U3-IO_B0-Pad41)")' % last
    odd = after.text().replace(b"(net %d" % last, b"(net %d" % (last + 1))
    only(judged(before, odd), BYTES, "added")
    wide = after.text().replace(row, row.replace(b" (net", b"  (net"))
    only(judged(before, wide), BYTES, "white space")
    only(judged(before, replace(before, rows=(*before.rows, "/NEW"))), BYTES, "added")


def test_what_cannot_be_read_is_a_finding_in_after_and_an_error_in_before() -> None:
    before = scene("new")
    verdict = judged(before, before.text()[:-3])
    only(verdict, BYTES, "readable")
    with pytest.raises(InputError):
        verify_board(before.text()[:-3], before.text(), Expect(POOL))


# b. pins


@pytest.mark.parametrize("shape", SHAPES)
def test_all_pads_of_a_pin_go_together(shape: str) -> None:
    before = scene(shape).without_copper(LED_B if shape != "old" else LED_B - 2)
    moves = {"U3:44": "/SONDE_RX", "U3:42": "/LED_B"}
    after = exchange(before, moves)
    second = [i for i, pad in enumerate(after.pads) if pad.label == "U3:44"][1]
    pads = [replace(p, net="/LED_B") if i == second else p for i, p in enumerate(after.pads)]
    only(judged(before, replace(after, pads=tuple(pads))), PINS, "pads of one pin")


def test_other_pads_than_before_are_told_and_nothing_more_is_compared() -> None:
    before = scene("new")
    verdict = judged(before, before.with_pad("U3:41", number="61"))
    assert {f.rule for f in verdict.of(PINS)} == {"same pads"}
    assert verdict.moved == ()


@pytest.mark.parametrize("shape", ["old", "middle"])
def test_number_and_name_agree_with_the_table(shape: str) -> None:
    before = scene(shape)
    after = exchange(before, TRADE)
    number = after.rows.index("/SONDE_RX")
    name = b"/SONDE_RX" if shape == "old" else b'"/SONDE_RX"'
    good = b"(net %d %s)" % (number, name)
    head, pad, tail = after.text().partition(b"(pad 41" if shape == "old" else b'(pad "41"')
    wrong = tail.replace(good, b"(net %d %s)" % (number, name.replace(b"RX", b"TX")), 1)
    only(judged(before, head + pad + wrong), PINS, "net table")
    lost = tail.replace(good, b"(net 99 %s)" % name, 1)
    only(judged(before, head + pad + lost), PINS, "net table")


def test_copper_with_a_number_outside_the_table_is_found() -> None:
    before = scene("middle")
    head, via, tail = before.text().partition(b"(via")
    number = b"(net %d)" % before.rows.index("/SONDE_TX")
    verdict = judged(before, head + via + tail.replace(number, b"(net 99)", 1))
    assert ("pins", "net table") in {(f.check, f.rule) for f in verdict.findings}


def test_a_teardrop_repeats_the_name_of_its_net() -> None:
    before = scene("middle").with_pad("U3:43", x=100)
    after = exchange(before, {"U3:43": "/SONDE_RX", "U3:42": "/LED_A"})
    assert judged(before, after).ok
    only(judged(before, after.with_copper(DROP_43, name="/LED_A")), PINS, "net table")


@pytest.mark.parametrize("shape", ["middle", "new"])
def test_a_private_name_tells_of_its_pin(shape: str) -> None:
    before = scene(shape).without_copper(FAN_41, VIA_41)
    after = exchange(before, TO_SPARE)
    name = private(before.pad("U3:41"), shape)
    for wrong in (
        name.replace("Pad41", "Pad42"),
        name.replace("U3", "U4"),
        name.replace("IO_B0", "IO_B7"),
    ):
        data = after.text().replace(name.encode(), wrong.encode())
        only(judged(before, data), PINS, "private names")
    short = after.text().replace(b"-IO_B0-Pad41", b"-Pad41")
    assert judged(before, short).ok
    unit = after.text().replace(name.encode(), name.replace("U3", "U3B").encode())
    assert judged(before, unit).ok


@pytest.mark.parametrize("shape", ["middle", "new"])
def test_a_private_name_of_a_pin_that_stays_open_stays(shape: str) -> None:
    before = scene(shape)
    name = private(before.pad("U3:45"), shape).encode()
    data = before.text().replace(name, name.replace(b"-IO_B4", b""))
    assert {f.check for f in judged(before, data).findings} == {PINS}


def test_two_pins_never_share_a_private_name() -> None:
    before = scene("new").without_copper(FAN_41, VIA_41)
    after = exchange(before, TO_SPARE)
    shared = after.with_pad("U3:41", net=before.pad("U3:45").net)
    assert "private names" in {f.rule for f in judged(before, shared).of(PINS)}


def test_a_row_of_an_open_pin_stays_in_the_table() -> None:
    before = scene("middle")
    unused = "unconnected-(U3-IO_B9-Pad49)"
    before = replace(before, rows=(*before.rows, unused))
    after = replace(before, rows=tuple(r.replace("49", "59") for r in before.rows))
    only(judged(before, after), PINS, "net table")


@pytest.mark.parametrize("shape", ["middle", "new"])
def test_the_no_connect_mark_follows_the_net(shape: str) -> None:
    before = scene(shape)
    after = exchange(before, TO_SPARE)
    only(judged(before, after.with_pad("U3:46", marked=True)), PINS, "mark")
    only(judged(before, after.with_pad("U3:41", marked=False)), PINS, "mark")
    only(judged(before, after.with_pad("U3:45", marked=False)), PINS, "mark")
    only(judged(before, after.with_pad("U3:42", marked=True)), PINS, "mark")


def test_where_nothing_is_marked_an_open_pin_need_not_be() -> None:
    before = scene("new").with_pad("U3:45", marked=False).with_pad("U3:46", marked=False)
    after = exchange(before, TO_SPARE)
    assert not judged(before, after).ok or after.pad("U3:41").marked
    assert judged(before, after.with_pad("U3:41", marked=False)).ok


def test_names_are_spelt_as_before() -> None:
    before = scene("old")
    after = exchange(before, TRADE).text()
    head, pad, tail = after.partition(b"(pad 41")
    only(
        judged(before, head + pad + tail.replace(b"/SONDE_RX", b'"/SONDE_RX"', 1)), PINS, "spelling"
    )
    newest = scene("new")
    data = exchange(newest, TRADE).text()
    head, pad, tail = data.partition(b'(pad "41"')
    bare = tail.replace(b'"/SONDE_RX"', b"/SONDE_RX", 1)
    only(judged(newest, head + pad + bare), PINS, "spelling")


# c. partition


@pytest.mark.parametrize("shape", SHAPES)
def test_a_net_that_gains_a_pin_is_found(shape: str) -> None:
    before = scene(shape)
    after = before.with_pad("U3:42", net="/LED_A")
    only(judged(before, after), PARTITION, "number of pins")


@pytest.mark.parametrize("shape", SHAPES)
def test_a_net_that_leaves_its_pool_is_found(shape: str) -> None:
    before = scene(shape)
    rules = Rules(pools=(Pool("U3", ("41", "42")), Pool("U3", ("43", "45"))))
    after = exchange(before, {"U3:42": "/LED_A", "U3:43": "/SONDE_RX"})
    only(judged(before, after, rules=rules), PARTITION, "pool by pool")


def test_a_spare_pin_takes_a_net_only_inside_its_pool() -> None:
    before = scene("new")
    rules = Rules(pools=(Pool("U3", ("42", "43")), Pool("U3", ("45", "46"))))
    after = exchange(before, {"U3:42": None, "U3:45": "/SONDE_RX"})
    only(judged(before, after, rules=rules), PARTITION, "pool by pool")


# d. rules (the kinds of rules have tests of their own)


@pytest.mark.parametrize("shape", SHAPES)
def test_a_pin_outside_the_rules_is_found(shape: str) -> None:
    before = scene(shape)
    after = exchange(before, {"J7:1": "/SONDE_RX", "J7:2": "/SONDE_TX"})
    verdict = judged(before, after)
    only(verdict, RULES, "scope")
    assert {f.where for f in verdict.findings} == {"J7:1", "J7:2"}


def test_keep_wins() -> None:
    before = scene("new")
    rules = POOL._replace(keeps=(Keep(pins=("U3:42",)),))
    verdict = judged(before, exchange(before, TRADE), rules=rules)
    only(verdict, RULES, "scope")
    assert "[[keep]]" in verdict.findings[0].what
