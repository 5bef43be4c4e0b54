"""Changes that leave the meaning, or that no pin speaks of: the second opinion finds them all."""

from __future__ import annotations

from dataclasses import replace

import pytest
from cases.buoys import MIDDLE, NETLIST_E
from cases.edif import SMALL
from cases.judging import TO_SPARE, judged, only
from cases.records import LIST
from cases.scene import FREE, exchange, scene
from test_verify_ipc356 import CHANGES, written

from renet.changes import ChangeList, Move, Swap
from renet.deliver import NetlistFile, deliver_netlist
from renet.read.edif import read_edif
from renet.read.netlist import read_netlist
from renet.verify import (
    Expect,
    verify_board,
    verify_edif,
    verify_netlist,
    verify_records,
)

NOTHING = Expect(changes=ChangeList((), ()))
DROPS = {"U3:43": None, "U3:46": "/LED_A"}
OPEN = b'(name "unconnected-(U3-IO_A3-Pad4)")'


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'(net 2 "/SONDE_TX") (pinf', b'(net "2" "/SONDE_TX") (pinf'),
        (b"(net 2) (", b'(net "2") ('),
    ],
    ids=["at a pad", "at a track"],
)
def test_a_net_number_in_quotes(old: bytes, new: bytes) -> None:
    assert old in MIDDLE
    verdict = verify_board(MIDDLE, MIDDLE.replace(old, new, 1), NOTHING)
    only(verdict, "pins", "net table")
    assert "written otherwise" in verdict.findings[0].what


def test_the_net_name_of_a_teardrop_in_other_letters() -> None:
    before = scene("middle")
    after = exchange(before, DROPS).text()
    new = b'(net_name "unconnected-(U3-IO_B2-Pad43)")'
    assert judged(before, after).ok
    assert new in after
    only(judged(before, after.replace(new, new.replace(b"(U3", b"(U\\3"))), "pins", "spelling")
    before = before.text()
    bare = before.replace(b'(net_name "/LED_A")', b"(net_name /LED_A)")
    assert bare != before
    only(verify_board(before, bare, NOTHING), "pins", "spelling")


@pytest.mark.parametrize("shape", ["middle", "new"])
def test_copper_of_a_pin_that_gained_a_net_does_not_come_to_a_third(shape: str) -> None:
    """A lone track under the private name of the pin, away from all pads."""
    before = scene(shape)
    lone = replace(
        before.copper[FREE], points=((105, 135), (106, 135)), net=before.pad("U3:46").net
    )
    before = replace(before, copper=(*before.copper, lone))
    after = exchange(before, TO_SPARE)
    last = len(after.copper) - 1
    follows = after.pad("U3:41").net
    assert judged(before, after.with_copper(last, net=follows)).ok
    only(judged(before, after.with_copper(last, net="GND")), "copper", "net")


def test_a_netlist_with_a_private_net_elsewhere() -> None:
    first, start = NETLIST_E.index(b"(net "), NETLIST_E.rindex(b"(net ")
    end = NETLIST_E.index(b")))", start) + 3
    others, entry = NETLIST_E[first:start].rstrip(), NETLIST_E[start:end]
    assert OPEN in entry
    after = NETLIST_E[:first] + entry + b"\n    " + others + NETLIST_E[end:]
    only(verify_netlist(NETLIST_E, after, NOTHING), "bytes", "unchanged")


@pytest.mark.parametrize(
    "entry", [b"", b'(net (code "9") (name "unconnected-(X)") (class "Fast"))']
)
def test_a_private_net_without_pins_stays_as_it_is(entry: bytes) -> None:
    had = b'(net (code "9") (name "unconnected-(X)"))'
    at = NETLIST_E.index(b"(net (code")
    before, after = (NETLIST_E[:at] + one + NETLIST_E[at:] for one in (had, entry))
    assert verify_netlist(before, before, NOTHING).ok
    only(verify_netlist(before, after, NOTHING), "bytes", "unchanged")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (b"(joined\n            (PortRef &2", b"(joined (PortRef &2"),
        (b"(joined (portRef VDD", b"(joined\n            (portRef VDD"),
    ],
)
def test_white_space_before_a_portref_that_stays(one: bytes, other: bytes) -> None:
    assert one in SMALL
    only(verify_edif(SMALL, SMALL.replace(one, other), NOTHING), "bytes", "unchanged")


def test_portrefs_that_stay_in_another_order() -> None:
    pins = b"(portRef IO1 (instanceRef inst_1))", b"(portRef VDD (instanceRef inst_1))"
    before = SMALL.replace(pins[1], b" ".join(pins))
    after = SMALL.replace(pins[1], b" ".join(reversed(pins)))
    assert verify_edif(before, before, NOTHING).ok
    only(verify_edif(before, after, NOTHING), "bytes", "unchanged")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"327/SONDE_TX        U3    -2", b"327 /SONDE_TX       U3    -2"),
        (b"327N/C              U3", b"327n/c              U3"),
        (b"327                 R5", b"327N/C              R5"),
        (b"317unconnected-(J", b"317unconnected-(K"),
        (b"367N/C              H1", b"367GND              H1"),
        (b"317GND              J8      ", b"317/SONDE_TX        J8      "),
    ],
    ids=["indented", "in small letters", "blank", "private", "unplated", "no pin"],
)
def test_net_columns_of_records_that_did_not_move(old: bytes, new: bytes) -> None:
    before = LIST.replace(
        b"999\r", b"317GND              J8          D1000PA00X+04Y-012540\r\n999\r"
    )
    assert verify_records(before, before, NOTHING).ok
    assert old in before
    only(verify_records(before, before.replace(old, new), NOTHING), "bytes", "unchanged")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"327NNAME1           U3", b"327 NNAME1          U3"),
        (b"327N/C              U3", b"327n/c              U3"),
        (b"327N/C              U3    ", b"327unconnected-(  U3    "),
    ],
    ids=["indented", "in small letters", "private"],
)
def test_net_columns_of_moved_records_are_written_as_others(old: bytes, new: bytes) -> None:
    new = new[:17] + old[17:]
    after = written()
    assert old in after
    verdict = verify_records(LIST, after.replace(old, new, 1), Expect(changes=CHANGES))
    only(verdict, "bytes", "white space")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"(portRef &3 (instanceRef", b"(portRef &3 0 (instanceRef"),
        (b"(portRef &3 (instanceRef", b"(portref &3 (instanceRef"),
        (b"(portRef &3 (instanceRef RN1)", b"(portRef &3 (instanceRef RN1) (libraryRef parts)"),
    ],
)
def test_a_new_portref_is_written_plainly(old: bytes, new: bytes) -> None:
    moves = Move("RN1", "3", "", None, "D1"), Move("RN1", "2", "", "D1", None)
    changes = ChangeList((), (Swap(1, moves),))
    after, _ = deliver_netlist(NetlistFile(SMALL, *read_edif(SMALL)), changes)
    assert old in after
    only(verify_edif(SMALL, after.replace(old, new), Expect(changes=changes)), "bytes", "unchanged")


def test_a_new_name_with_needless_escapes() -> None:
    """Another reader may take them for other characters."""
    moves = Move("U3", "2", "", "/SONDE TX", None), Move("U3", "4", "", None, "/SONDE TX")
    changes = ChangeList((), (Swap(1, moves),))
    after, _ = deliver_netlist(NetlistFile(NETLIST_E, *read_netlist(NETLIST_E)), changes)
    plain, escaped = b"unconnected-(U3-IO_A1-Pad2)", b"unconnected-(U\\3-IO_A1-Pad2)"
    assert plain in after
    found = verify_netlist(NETLIST_E, after.replace(plain, escaped), Expect(changes=changes))
    only(found, "bytes", "white space")
    before = scene("middle")
    board = exchange(before, TO_SPARE).text()
    plain, escaped = b"unconnected-(U3-IO_B0-Pad41)", b"unconnected-(U\\3-IO_B0-Pad41)"
    assert plain in board
    only(judged(before, board.replace(plain, escaped)), "pins", "spelling")
