"""EDIF read and written; grammar points of ANSI/EIA-548-1988 as public descriptions give them."""

from __future__ import annotations

import pytest
import sexpdata
from cases.edif import SMALL, edif_of
from conftest import CORPUS
from hypothesis import given
from hypothesis import strategies as st

from renet.changes import ChangeList, Move, Swap
from renet.deliver import NetlistFile, deliver_netlist
from renet.errors import InputError
from renet.read.edif import read_edif
from renet.read.edif_cells import Trades
from renet.read.kind import EDIF, kind_of
from renet.read.netlist import read_netlist
from renet.rules import Pool, Rules
from renet.verify import Expect, verify_edif
from renet.write_edif import edif_bytes

MOVES = (
    Move("RN1", "1", "", "D0#", None),
    Move("RN1", "3", "", None, "D1"),
    Move("RN1", "2", "", "D1", "D0#"),
)
CHANGES = ChangeList((), (Swap(1, MOVES),))


def nets(data: bytes) -> dict[tuple[str, str], str | None]:
    return {(node.ref, node.pin): node.net for node in read_edif(data)[0].nodes}


def test_parts_pins_and_nets() -> None:
    assert kind_of(SMALL) == EDIF
    assert nets(SMALL) == {
        ("RN1", "1"): "D0#",
        ("RN1", "2"): "D1",
        ("RN1", "3"): None,
        ("RN1", "7"): None,
        ("RN1", "8"): None,
        ("U3", "D[1:0][0]"): "D0#",
        ("U3", "D[1:0][1]"): "D1",
        ("U3", "14"): "VCC",
        ("U3", "5"): None,
    }
    names = {node.pin: node.name for node in read_edif(SMALL)[0].nodes if node.ref == "U3"}
    assert (names["14"], names["5"]) == ("VDD", "IO1")


def test_permutable_ports_are_pools_and_others_are_not() -> None:
    assert read_edif(SMALL)[1].trades == (("RN1", Trades((("1", "2"),), (), ("7", "8"))),)


def test_capitals_in_keywords_and_identifiers_mean_nothing() -> None:
    assert nets(SMALL.replace(b"portRef", b"PORTREF").replace(b"rename", b"Rename")) == nets(SMALL)


TWICE = b"(portRef &2 (instanceRef RN1)) (portRef VDD"
NOBODY = b"(portRef IO1 (instanceRef nobody)) (portRef VDD"
TWIN = b"(port VDD) (port VDD (designator"


@pytest.mark.parametrize(
    ("old", "new", "at", "said"),
    [
        (b"(design demo", b"(designer demo", b"(edif", "there is no (design ...)"),
        (
            b"(cellRef board",
            b"(cellRef bored",
            b"(design demo",
            "the design names a cell that is not",
        ),
        (b"(contents", b"(content", b"(cell board", "the board's cell board has no contents"),
        (b"(cellRef RPACK4", b"(cellRef R", b"(instance RN1", "instance RN1 is of a cell that"),
        (b"(portRef VDD", b"(portRef VSS", b"(portRef VSS", "there is no port VSS of U3"),
        (b"(portRef VDD", b"(portRef D", b"(portRef D (", "port D of U3 has 2 members, its net 1"),
        (b"(portRef VDD", NOBODY, b"(instanceRef nobody", "there is no instance nobody"),
        (b"(portRef VDD", TWICE, TWICE, "pin 2 of RN1 stands in two nets"),
        (b"(port VDD (designator", TWIN, b"(port VDD (designator", "port VDD stands twice"),
    ],
)
def test_what_is_wrong_is_told_with_its_place(old: bytes, new: bytes, at: bytes, said: str) -> None:
    assert old in SMALL
    data = SMALL.replace(old, new)
    before = data[: data.index(at)]
    with pytest.raises(InputError) as caught:
        read_edif(data)
    fault = caught.value
    assert fault.what.startswith(said)
    assert (fault.line, fault.column) == (
        before.count(b"\n") + 1,
        len(before) - before.rfind(b"\n"),
    )


def deliver(data: bytes, changes: ChangeList) -> bytes:
    return deliver_netlist(NetlistFile(data, *read_edif(data)), changes)[0]


def test_moves_exchange_portrefs() -> None:
    after = deliver(SMALL, CHANGES)
    wanted = nets(SMALL) | {(m.part, m.pin): m.is_ for m in MOVES}
    assert nets(after) == wanted
    assert b"(portRef &3 (instanceRef RN1))" in after
    assert sexpdata.loads(after.decode("utf-8"))[0] == sexpdata.Symbol("edif")
    assert nets(deliver(after, CHANGES.inverse())) == nets(SMALL)


def test_nothing_moved_nothing_written() -> None:
    netlist, spans = read_edif(SMALL)
    assert edif_bytes(SMALL, spans, netlist, {}) == SMALL


@pytest.mark.parametrize(
    ("old", "new", "check"),
    [
        (b"D0_N", b"D0_P", "bytes"),
        (b"(portRef VDD (instanceRef inst_1))", b"", "partition"),
        (b"(portRef VDD (", b"(portRef IO1 (", "moves"),
        (b"(PortRef &2 ", b"(portref &2 ", "bytes"),
        (b"            (portRef &3", b"             (portRef &3", "bytes"),
        (b"(portRef edge)", b"", "bytes"),
        (b"(design demo", b"(designs demo", "bytes"),
    ],
)
def test_anything_else_is_found(old: bytes, new: bytes, check: str) -> None:
    after = deliver(SMALL, CHANGES)
    assert verify_edif(SMALL, after, Expect(changes=CHANGES)).ok
    assert old in after
    verdict = verify_edif(SMALL, after.replace(old, new), Expect(changes=CHANGES))
    assert check in {finding.check for finding in verdict.findings}


def test_rules_are_asked() -> None:
    after = deliver(SMALL, CHANGES)
    assert verify_edif(SMALL, after, Expect(Rules(pools=(Pool("RN1", ("1", "2", "3")),)))).ok
    assert verify_edif(SMALL, after, Expect(Rules(pools=(Pool("RN1", ("1", "2")),)))).of("rules")


def test_it_says_what_the_other_kind_of_netlist_says() -> None:
    netlist, _ = read_netlist((CORPUS / "demo" / "buoy.net").read_bytes())
    wanted = {(node.ref, node.pin): node.net for node in netlist.nodes}
    assert nets(edif_of(netlist)) == wanted


@given(st.lists(st.tuples(st.integers(0, len(SMALL) - 1), st.binary(max_size=6)), max_size=6))
def test_damage_never_ends_in_a_traceback(cuts: list[tuple[int, bytes]]) -> None:
    data = SMALL
    for at, put in cuts:
        data = data[:at] + put + data[at + len(put) :]
    try:
        netlist, spans = read_edif(data)
    except InputError as fault:
        assert fault.line >= 1
    else:
        assert edif_bytes(data, spans, netlist, {}) == data


@given(st.integers(0, SMALL.count(b"(") - 1), st.sampled_from([b"", b"()", b"(rename)", b"x"]))
def test_lists_cut_or_replaced_never_end_in_a_traceback(which: int, put: bytes) -> None:
    at = -1
    for _ in range(which + 1):
        at = SMALL.index(b"(", at + 1)
    depth, end = 0, at
    while True:
        depth += {b"(": 1, b")": -1}.get(SMALL[end : end + 1], 0)
        end += 1
        if not depth:
            break
    try:
        assert read_edif(SMALL[:at] + put + SMALL[end:])[0].nodes is not None
    except InputError as fault:
        assert fault.what
