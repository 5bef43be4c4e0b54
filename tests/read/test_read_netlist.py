from __future__ import annotations

import pytest
from cases.buoys import NETLIST_D, NETLIST_E, OLD

from renet.errors import InputError
from renet.model import Netlist, NetlistPart, Node
from renet.read.netlist import read_netlist
from renet.read.spans import NetlistSpans
from renet.splice import Edit, splice

BOTH = {"D": NETLIST_D, "E": NETLIST_E}


@pytest.fixture(params=sorted(BOTH))
def data(request: pytest.FixtureRequest) -> bytes:
    return BOTH[request.param]


def complaint(data: bytes) -> str:
    with pytest.raises(InputError) as caught:
        read_netlist(data)
    return str(caught.value.in_file("F"))


def test_nodes_have_net_name_and_type_in_the_words_of_boards(data: bytes) -> None:
    netlist, _ = read_netlist(data)
    assert netlist.nodes[:5] == (
        Node("U3", "1", "GND", "VSS", "power_in"),
        Node("U3", "EP", "GND", "VSS", "power_in"),
        Node("J7", "2", "GND", "", "passive"),
        Node("U3", "2", "/SONDE TX", "IO_A1", "bidirectional"),
        Node("J7", "1", "/SONDE TX", "", "passive"),
    )


def test_pins_without_a_net_are_there_too(data: bytes) -> None:
    netlist, _ = read_netlist(data)
    assert sorted(netlist.nodes[5:]) == [
        Node("U3", "3", None, "IO_A2", "tri_state"),
        Node("U3", "4", None, "IO_A3", "open_collector"),
    ]


def test_parts(data: bytes) -> None:
    netlist, _ = read_netlist(data)
    entry = "tide:MCU4A" if data is NETLIST_D else "tide:MCU4"
    assert netlist.parts == (
        NetlistPart("U3", "MCU 4", "buoy:MCU4", entry),
        NetlistPart("J7", "SONDE", "buoy:PLUG2", "tide:PLUG2"),
    )
    assert netlist.version == ("D" if data is NETLIST_D else "E")


def test_line_ends_change_nothing(data: bytes) -> None:
    crlf, spans = read_netlist(data.replace(b"\n", b"\r\n"))
    assert crlf == read_netlist(data)[0]
    assert spans.line_end == b"\r\n"


def swapped(data: bytes, spans: NetlistSpans, one: int, other: int) -> bytes:
    """Two nodes in each other's place."""
    first, last = sorted((spans.node[one].tolist(), spans.node[other].tolist()))
    texts = data[slice(*first)], data[slice(*last)]
    return splice(data, [Edit(*first, texts[1]), Edit(*last, texts[0])])


def nets(netlist: Netlist) -> dict[tuple[str, str], str | None]:
    return {(node.ref, node.pin): node.net for node in netlist.nodes}


def test_nodes_can_change_places(data: bytes) -> None:
    netlist, spans = read_netlist(data)
    was = nets(netlist)
    now = nets(read_netlist(swapped(data, spans, 1, 3))[0])
    pins = ("U3", "EP"), ("U3", "2")
    assert [now[pin] for pin in pins] == [was[pin] for pin in pins[::-1]]
    assert {k: v for k, v in now.items() if k not in pins} == {
        k: v for k, v in was.items() if k not in pins
    }


def test_a_node_can_be_taken_out_and_put_into_another_net(data: bytes) -> None:
    netlist, spans = read_netlist(data)
    node, slot = spans.node[2].tolist(), spans.nets[1].slot
    text = data[slice(*node)].lstrip()
    moved = splice(data, [Edit(*node, b""), Edit(slot.offset, slot.offset, slot.lead + text)])
    assert nets(read_netlist(moved)[0]) == nets(netlist) | {("J7", "2"): "/SONDE TX"}
    assert b"\n\n" not in moved


def test_a_net_can_be_added_at_the_end(data: bytes) -> None:
    netlist, spans = read_netlist(data)
    added = b"(net (code 9) (name X) (node (ref U3) (pin 3)))"
    offset = spans.slot.offset
    more = splice(data, [Edit(offset, offset, spans.slot.lead + added)])
    assert nets(read_netlist(more)[0]) == nets(netlist) | {("U3", "3"): "X"}


def test_spans_of_nodes_and_nets() -> None:
    spans = read_netlist(NETLIST_E)[1]
    atoms = (spans.ref, spans.pin, spans.pin_function, spans.pin_type)
    row = [NETLIST_E[slice(*column[5].tolist())] for column in atoms]
    assert row == [b'"U3"', b'"4"', b'"IO_A3"', b'"open_collector+no_connect"']
    assert spans.pin_function[2].tolist() == [-1, -1]
    assert spans.net.tolist() == [0, 0, 0, 1, 1, 2, -1]
    assert spans.node[6].tolist() == [-1, -1]
    net = spans.nets[1]
    assert (net.name, net.nodes) == ("/SONDE TX", (3, 4))
    assert NETLIST_E[slice(*net.code_atom)] == b'"2"'
    assert NETLIST_E[slice(*net.name_atom)] == b'"/SONDE TX"'
    assert NETLIST_E[slice(*net.net)].startswith(b"\n    (net (code")
    assert (spans.quoted, read_netlist(NETLIST_D)[1].quoted) == (True, False)
    assert repr(spans) == "<spans of 7 nodes in 3 nets>"


def test_a_private_net_of_two_pins_is_a_net() -> None:
    private = b"unconnected-(U3-IO_A3-Pad4)"
    node = b'(node (ref "U3") (pin "3") (pinfunction "IO_A2") (pintype "tri_state"))\n      (node'
    at = NETLIST_E.index(b"(node", NETLIST_E.index(private))
    netlist, _ = read_netlist(NETLIST_E[:at] + node + NETLIST_E[at + 5 :])
    assert {k for k, net in nets(netlist).items() if net == private.decode()} == {
        ("U3", "3"),
        ("U3", "4"),
    }


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (OLD, "F:1:1: this is a board, not a netlist"),
        (b"# old netlist\n", "F:1:1: this is a netlist of the older kind"),
        (
            NETLIST_D.replace(b"(ref J7) (pin 1)))))", b"(ref U3) (pin EP)))))"),
            "F:42:18: pin EP of U3 stands in two nets; export the netlist again",
        ),
        (NETLIST_D[:-30], "F:40:5: the file ends inside the list (net that begins here"),
    ],
)
def test_what_cannot_be_used_is_refused(data: bytes, said: str) -> None:
    assert complaint(data).startswith(said)


def test_a_netlist_without_nets_is_empty() -> None:
    netlist, spans = read_netlist(b"(export (version D))")
    assert netlist == Netlist("D", (), ())
    assert spans.nets == ()
