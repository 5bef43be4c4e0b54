"""The second opinion on lists of records: every kind of wrong edit is found, none is made up."""

from __future__ import annotations

import pytest
from cases.records import LIST

from renet.changes import ChangeList, Move, Swap
from renet.deliver import BoardFile, deliver_board
from renet.read.ipc356 import read_ipc356
from renet.rules import Pool, Rules
from renet.verify import Expect, verify_records

LONG = "/SONDE/CALIBRATION_LEAK"
MOVES = (
    Move("U3", "2", "", "/SONDE_TX", LONG),
    Move("U3", "3", "", LONG, None),
    Move("U3", "4", "", None, "/SONDE_TX"),
)
CHANGES = ChangeList((), (Swap(1, MOVES),))
RULES = Rules(pools=(Pool("U3", ("2", "3", "4")),))


def written() -> bytes:
    return deliver_board(BoardFile(LIST, *read_ipc356(LIST)), CHANGES).data


def test_moves_touch_the_net_columns_only() -> None:
    before, after = LIST.split(b"\n"), written().split(b"\n")
    changed = [i for i, (a, b) in enumerate(zip(before, after, strict=True)) if a != b]
    assert changed == [6, 7, 8]
    assert [after[i][3:17] for i in changed] == [
        b"NNAME1        ",
        b"N/C           ",
        b"/SONDE_TX     ",
    ]


def test_what_was_meant_passes() -> None:
    for expect in (Expect(changes=CHANGES), Expect(rules=RULES), Expect(RULES, CHANGES)):
        verdict = verify_records(LIST, written(), expect)
        assert verdict.findings == []
        assert {(m.label, m.is_) for m in verdict.moved} == {
            (f"{m.part}:{m.pin}", m.is_) for m in MOVES
        }


def test_the_inverse_restores_the_bytes() -> None:
    after = written()
    back = deliver_board(BoardFile(after, *read_ipc356(after)), CHANGES.inverse())
    assert back.data == LIST


@pytest.mark.parametrize(
    ("old", "new", "check"),
    [
        (b"X+020500", b"X+020501", "bytes"),
        (b"C  tide gauge", b"C  tide gauges", "bytes"),
        (b"999\r\n", b"999\n", "bytes"),
        (b"378GND", b"378VCC", "bytes"),
        (b"317GND              VIA", b"317N/C              VIA", "bytes"),
        (b"/SONDE/CALIB", b"/SONDE/CALIX", "bytes"),
        (b"U3    -2", b"U3    -9", "pins"),
        (b"027     ", b"027GND  ", "pins"),
        (b"317GND              J7", b"317N/C              J7", "partition"),
        (b"999\r\n", b"999\r\nP  more\r\n", "bytes"),
        (b"A01X+020500", b"A01 +020500", "bytes"),
    ],
)
def test_anything_else_is_found(old: bytes, new: bytes, check: str) -> None:
    after = written()
    assert old in after
    verdict = verify_records(LIST, after.replace(old, new), Expect(changes=CHANGES))
    assert check in {finding.check for finding in verdict.findings}


def test_rules_that_do_not_permit_a_move_are_heard() -> None:
    rules = Rules(pools=(Pool("U3", ("2", "3")),))
    assert verify_records(LIST, written(), Expect(rules=rules)).of("rules")


def test_a_move_that_the_list_lacks_is_found() -> None:
    fewer = ChangeList((), (Swap(1, MOVES[:2]),))
    assert verify_records(LIST, written(), Expect(changes=fewer)).of("moves")
