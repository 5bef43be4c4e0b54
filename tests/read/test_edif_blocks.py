"""Buses, blocks inside blocks, pages, and netlists in which names are alike."""

from __future__ import annotations

import pytest
from conftest import CORPUS
from hypothesis import given, settings
from hypothesis import strategies as st

from renet.changes import ChangeList, Move, Swap
from renet.deliver import NetlistFile, deliver_netlist
from renet.errors import InputError
from renet.read.edif import read_edif
from renet.rules import Pool, Rules
from renet.verify import Expect, verify_edif

PARTS = """(library p
 (cell R (cellType GENERIC) (view v (viewType NETLIST) (interface (port &1) (port &2))))
 (cell M (cellType GENERIC) (view v (viewType NETLIST) (interface (port (array D 2)) (port E)))))
"""


def part(name: str, cell: str, more: str = "") -> str:
    return f"(instance {name} (viewRef v (cellRef {cell} (libraryRef p))) {more})"


def block(name: str, cell: str, more: str = "") -> str:
    return f"(instance {name} (viewRef v (cellRef {cell})) {more})"


def net(name: str, *pins: str) -> str:
    """A net; a pin is ``PORT`` of the block itself, or ``PART.PORT``."""
    refs = []
    for pin in pins:
        inst, dot, port = pin.rpartition(".")
        refs.append(f"(portRef {port} (instanceRef {inst}))" if dot else f"(portRef {port})")
    return f"(net {name} (joined {' '.join(refs)}))"


def cell(name: str, ports: str, *contents: str) -> str:
    return (
        f"(cell {name} (cellType GENERIC) (view v (viewType NETLIST)\n (interface {ports})"
        f"\n (contents {chr(10).join(contents)})))"
    )


def board(*cells: str) -> bytes:
    """A file whose board is the cell ``top``."""
    top = "(design x (cellRef top (libraryRef t)))"
    return f"(edif x {PARTS}(library t {chr(10).join(cells)}) {top})".encode()


def nets(data: bytes) -> dict[str, str | None]:
    return {f"{node.ref}.{node.pin}": node.net for node in read_edif(data)[0].nodes}


def fixed(data: bytes) -> set[str]:
    netlist, spans = read_edif(data)
    return {f"{netlist.nodes[i].ref}.{netlist.nodes[i].pin}" for i in spans.fixed}


BUS = board(
    cell(
        "top", "",
        part("U1", "M"), part("U2", "M"), part("R1", "R"), part("R2", "R"),
        net('(array (rename Q "DATA") 2)', "U1.D", "U2.D"),
        net("A", "U1.E", "R1.&1"), net("B", "R2.&1", "R1.&2"), net("(member Q 1)", "R2.&2"),
    )
)  # fmt: skip


def test_a_bus_is_its_members_and_its_pins_stay() -> None:
    assert nets(BUS) == {
        "U1.D[0]": "DATA[0]", "U2.D[0]": "DATA[0]", "U1.D[1]": "DATA[1]", "U2.D[1]": "DATA[1]",
        "U1.E": "A", "R1.1": "A", "R2.1": "B", "R1.2": "B", "R2.2": "DATA[1]", "U2.E": None,
    }  # fmt: skip
    assert fixed(BUS) == {"U1.D[0]", "U1.D[1]", "U2.D[0]", "U2.D[1]"}


def deliver(data: bytes, *moves: tuple[str, str, str | None, str | None]) -> bytes:
    made = tuple(Move(part, pin, "", was, is_) for part, pin, was, is_ in moves)
    changes = ChangeList((), (Swap(1, made),))
    return deliver_netlist(NetlistFile(data, *read_edif(data)), changes)[0]


def test_pins_beside_a_bus_move_and_pins_in_it_are_refused() -> None:
    after = deliver(BUS, ("R2", "1", "B", "DATA[1]"), ("R2", "2", "DATA[1]", "B"))
    assert nets(after) == nets(BUS) | {"R2.1": "DATA[1]", "R2.2": "B"}
    assert verify_edif(BUS, after, Expect(Rules(pools=(Pool("R2", ("1", "2")),)))).ok
    with pytest.raises(InputError, match=r"U1:D\[0\] cannot move in this file: .* one of a bus"):
        deliver(BUS, ("U1", "D[0]", "DATA[0]", "A"), ("U1", "E", "A", "DATA[0]"))


FILTER = cell(
    "filter", "(port IN) (port OUT)",
    part("r1", "R", '(designator "R1")'), part("r2", "R", '(designator "R2")'),
    net("a", "IN", "r1.&1"), net("mid", "r1.&2", "r2.&1"), net("b", "OUT", "r2.&2"),
)  # fmt: skip


def test_a_block_is_made_flat() -> None:
    top = cell("top", "", block("F", "filter"), part("R9", "R"),
               net("X", "F.IN", "R9.&1"), net("Y", "F.OUT", "R9.&2"))  # fmt: skip
    data = board(FILTER, top)
    assert nets(data) == {
        "R9.1": "X", "R9.2": "Y", "R1.1": "X", "R2.2": "Y", "R1.2": "F/mid", "R2.1": "F/mid",
    }  # fmt: skip
    assert fixed(data) == {"R1.1", "R1.2", "R2.1", "R2.2"}
    after = deliver(data, ("R9", "1", "X", "Y"), ("R9", "2", "Y", "X"))
    assert nets(after) == nets(data) | {"R9.1": "Y", "R9.2": "X"}
    with pytest.raises(InputError, match="R1:1 cannot move in this file: it stands in block F"):
        deliver(data, ("R1", "1", "X", "Y"), ("R2", "2", "Y", "X"))


def test_a_block_that_is_there_twice_has_its_path_before_its_parts() -> None:
    pair = cell("pair", "(port P)", block("A", "filter"), block("B", "filter"),
                net("p", "P", "A.IN", "B.IN"), net("q", "A.OUT", "B.OUT"))  # fmt: skip
    top = cell("top", "", block("L", "pair"), block("K", "pair"), part("R9", "R"),
               net("X", "L.P", "R9.&1", "K.P"))  # fmt: skip
    found = nets(board(FILTER, pair, top))
    assert {net for pin, net in found.items() if pin.endswith("R1.1")} == {"X"}
    assert sorted(pin for pin in found if pin.endswith("R2.2")) == [
        "K/A/R2.2", "K/B/R2.2", "L/A/R2.2", "L/B/R2.2",
    ]  # fmt: skip
    assert found["L/A/R2.2"] == found["L/B/R2.2"] == "L/q" != found["K/A/R2.2"]


def test_nets_that_a_block_joins_are_one_net() -> None:
    through = cell("tie", "(port A) (port B)", net("n", "A", "B"))
    wires = [net("X", "T.A", "R1.&1"), net("Y", "T.B", "R2.&1"), net("Z", "R1.&2", "R2.&2")]
    top = cell("top", "", block("T", "tie"), part("R1", "R"), part("R2", "R"), *wires)
    data = board(through, top)
    assert nets(data) == {"R1.1": "X", "R2.1": "X", "R1.2": "Z", "R2.2": "Z"}
    after = deliver(data, ("R2", "1", "X", "Z"), ("R2", "2", "Z", "X"))
    assert nets(after) == {"R1.1": "X", "R2.1": "Z", "R1.2": "Z", "R2.2": "X"}


def test_pages_meet_at_off_page_connectors_and_by_name() -> None:
    page = "(page {} {})"
    top = cell(
        "top", "",
        page.format("one", part("R1", "R") + net("A", "R1.&1", "link") + net("G", "R1.&2")),
        page.format("two", part("R2", "R") + net("B", "R2.&1", "link") + net("G", "R2.&2")),
        "(offPageConnector link)",
    )  # fmt: skip
    data = board(top)
    assert nets(data) == {"R1.1": "A", "R1.2": "G", "R2.1": "A", "R2.2": "G"}
    after = deliver(data, ("R2", "1", "A", "G"), ("R2", "2", "G", "A"))
    assert nets(after) == {"R1.1": "A", "R1.2": "G", "R2.1": "G", "R2.2": "A"}


def test_two_nets_of_one_name_stay_two() -> None:
    top = cell("top", "", part("R1", "R"),
               net('(rename n1 "GND")', "R1.&1"), net('(rename n2 "GND")', "R1.&2"))  # fmt: skip
    assert nets(board(top)) == {"R1.1": "GND", "R1.2": "GND (n2)"}


def test_sections_of_one_part_are_one_part() -> None:
    """Both sections name the supply pin; it stands in two portRefs and stays."""
    sections = [
        part("u1a", "R", '(designator "U1")'),
        part("u1b", "R", '(designator "U1") (portInstance &1 (designator "3"))'),
    ]
    top = cell("top", "", *sections, net("A", "u1a.&1"), net("V", "u1a.&2", "u1b.&2"),
               net("B", "u1b.&1"))  # fmt: skip
    data = board(top)
    assert [part.ref for part in read_edif(data)[0].parts] == ["U1"]
    assert nets(data) == {"U1.1": "A", "U1.2": "V", "U1.3": "B"}
    assert fixed(data) == {"U1.2"}
    after = deliver(data, ("U1", "1", "A", "B"), ("U1", "3", "B", "A"))
    assert nets(after) == {"U1.1": "B", "U1.2": "V", "U1.3": "A"}


@pytest.mark.parametrize(
    ("contents", "said"),
    [
        ([block("me", "top")], "block me contains itself"),
        ([part("R1", "R"), part("r1", "R")], "instance r1 stands twice"),
        ([part("R1", "R"), net("A", "R1.&1"), net("a", "R1.&2")], "nets A and a differ in"),
        ([part("R1", "R"), net("(array A 2)", "R1.&1")], "port 1 of R1 has 1 members, its net 2"),
        ([part("U1", "M"), net("(array A 2 3)", "U1.D")], "an array or a member without"),
        ([part("U1", "M"), net("(array (array A 2) 3)", "U1.D")], "an array of arrays"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_at_its_place(contents: list[str], said: str) -> None:
    with pytest.raises(InputError) as caught:
        read_edif(board(cell("top", "", *contents)))
    assert caught.value.what.startswith(said)
    assert caught.value.line > 3


def test_blocks_that_grow_without_end_are_refused() -> None:
    """Twenty cells, each with four of the next: a million million parts."""
    cells = [cell(f"c{n}", "", *(block(f"b{k}", f"c{n + 1}") for k in range(4))) for n in range(20)]
    last = cell("c20", "", part("R1", "R"))
    with pytest.raises(InputError, match="blocks inside blocks make too many"):
        read_edif(board(*cells, last, cell("top", "", block("x", "c0"))))


@st.composite
def nested(draw: st.DrawFn) -> tuple[bytes, bytes]:
    """A board of resistors, and the same board with some of them put into blocks.

    A block has one port for each net that reaches it; nets that stay inside have none.
    """
    count = draw(st.integers(2, 7))
    wires = [draw(st.integers(0, 3)) for _ in range(2 * count)]
    home = [draw(st.integers(0, 2)) for _ in range(count)]
    ends: dict[int, list[tuple[int, int]]] = {}
    for end, wire in enumerate(wires):
        ends.setdefault(wire, []).append((end // 2, end % 2 + 1))
    parts = [part(f"R{n}", "R") for n in range(count)]
    flat = [net(f"n{w}", *(f"R{r}.&{p}" for r, p in pins)) for w, pins in ends.items()]
    plain = board(cell("top", "", *parts, *flat))
    cells, outside = [], [p for n, p in enumerate(parts) if home[n] == 0]
    for number in (1, 2):
        inside = [parts[n] for n in range(count) if home[n] == number]
        ports = []
        for wire, pins in ends.items():
            mine = [f"R{r}.&{p}" for r, p in pins if home[r] == number]
            reaches = [f"P{wire}"] if len(mine) < len(pins) else []
            ports += [f"(port {name})" for name in reaches if mine]
            inside += [net(f"i{wire}", *mine, *reaches)] if mine else []
        cells.append(cell(f"b{number}", " ".join(ports), *inside, "(net idle (joined))"))
        outside.append(block(f"B{number}", f"b{number}"))
    for wire, pins in ends.items():
        mine = [f"R{r}.&{p}" for r, p in pins if home[r] == 0]
        mine += [
            f"B{b}.P{wire}"
            for b in (1, 2)
            if 0 < sum(home[r] == b for r, _ in pins) < len(pins)
        ]  # fmt: skip
        outside += [net(f"n{wire}", *mine)] if mine else []
    return plain, board(*cells, cell("top", "", *outside))


@settings(max_examples=40)
@given(nested())
def test_blocks_change_no_connection(both: tuple[bytes, bytes]) -> None:
    def partition(data: bytes) -> set[frozenset[str]]:
        groups: dict[str | None, set[str]] = {}
        for pin, name in nets(data).items():
            groups.setdefault(name, set()).add(pin)
        return {frozenset(group) for group in groups.values()}

    plain, blocked = both
    assert partition(plain) == partition(blocked)
    assert verify_edif(blocked, blocked, Expect(Rules())).ok


def test_the_corpus_netlist_is_read_the_same_in_capitals() -> None:
    data = (CORPUS / "standards" / "buoy.edf").read_bytes()
    upper = data
    for word in (b"portRef", b"instanceRef", b"joined", b"cellRef", b"viewRef", b"net "):
        assert word in data
        upper = upper.replace(b"(" + word, b"(" + word.upper())
    assert nets(upper) == nets(data)
