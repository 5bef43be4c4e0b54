from __future__ import annotations

from dataclasses import replace

import pytest
from cases.buoys import ALL, MIDDLE, NEWEST, OLD

from renet.errors import InputError
from renet.geometry import points
from renet.model import NONE, Board, Core, Layer, NetClass, StackLayer
from renet.read.board import read_board
from renet.read.spans import BoardSpans

FRONT, BACK, BOTH = 1, 2, 3


def read(data: bytes) -> Board:
    return read_board(data)[0]


def pin(board: Board, label: str) -> int:
    return [board.pin_label(index) for index in range(len(board.pins))].index(label)


def complaint(data: bytes) -> str:
    with pytest.raises(InputError) as caught:
        read_board(data)
    return str(caught.value.in_file("F"))


@pytest.fixture(params=sorted(ALL))
def board(request: pytest.FixtureRequest) -> Board:
    return read(ALL[request.param])


def test_the_three_versions_mean_the_same_but_for_what_a_version_cannot_say() -> None:
    old, middle, newest = (
        replace(
            found,
            version=0,
            layers=tuple(layer._replace(name=str(k)) for k, layer in enumerate(found.layers)),
            pins=tuple(p._replace(name="", type="", no_connect=False) for p in found.pins),
            zones=tuple(
                z._replace(
                    outline=tuple(b"%r" % points(o).tolist() for o in z.outline),
                    fills=tuple(
                        f._replace(text=b"%r" % points(f.text).tolist(), grow=0) for f in z.fills
                    ),
                )
                for z in found.zones
            ),
            edge=tuple((line[0], line[-1]) for line in found.edge),
            stackup=(),
            classes=(),
        )
        for found in map(read, (OLD, MIDDLE, NEWEST))
    )
    assert old == middle == newest
    assert replace(read(MIDDLE), version=0).pins == replace(read(NEWEST), version=0).pins


def test_nets_are_the_real_ones_in_order_of_names(board: Board) -> None:
    assert board.nets == ("/LED_A", "/SONDE_TX", "GND")


def test_parts(board: Board) -> None:
    assert [(p.ref, p.value, p.footprint, p.back, p.angle) for p in board.parts] == [
        ("U3", "MCU 4", "buoy:MCU4", False, 90.0),
        ("J7", "SONDE", "buoy:PLUG2", True, 0.0),
        ("R5", "1k", "buoy:R", False, 30.0),
    ]
    assert [(p.x, p.y) for p in board.parts] == [
        (20_000_000, 10_000_000),
        (30_000_000, 20_000_000),
        (10_000_000, 20_000_000),
    ]
    assert [(p.pins, p.pads) for p in board.parts] == [
        (range(5), range(7)),
        (range(5, 7), range(7, 9)),
        (range(7, 9), range(9, 11)),
    ]


def test_pins_gather_the_pads_of_one_number(board: Board) -> None:
    found = [(board.pin_label(k), board.net_name(p.net), p.pads) for k, p in enumerate(board.pins)]
    assert found == [
        ("U3:1", "GND", (0,)),
        ("U3:2", "/SONDE_TX", (1,)),
        ("U3:3", "/LED_A", (2,)),
        ("U3:4", None, (3,)),
        ("U3:EP", "GND", (4, 5)),
        ("J7:1", "/SONDE_TX", (7,)),
        ("J7:2", "GND", (8,)),
        ("R5:1", "/LED_A", (9,)),
        ("R5:2", None, (10,)),
    ]
    assert not any(p.fault for p in board.pins)


def test_names_types_and_marks_of_pins() -> None:
    for data in (MIDDLE, NEWEST):
        found = read(data).pins
        assert [p.name for p in found] == ["VSS", "IO_A1", "IO_A2", "IO_A3", "VSS", "", "", "", ""]
        assert [p.type for p in found[:5]] == [
            "power_in",
            "bidirectional",
            "bidirectional",
            "bidirectional",
            "power_in",
        ]
        assert [k for k, p in enumerate(found) if p.no_connect] == [3, 8]
    assert {(p.name, p.type, p.no_connect) for p in read(OLD).pins} == {("", "", False)}


def test_pads_are_placed_by_the_angle_of_their_part(board: Board) -> None:
    at = [(pad.x / 1e6, pad.y / 1e6) for pad in board.pads]
    assert at[:7] == [(19, 13), (21, 13), (21, 7), (19, 7), (20, 10), (20, 10), (20, 5.5)]
    assert at[7:9] == [(30, 20), (30, 22.54)]
    assert at[9:] == [(9.133975, 20.5), (10.866025, 19.5)]
    assert [pad.angle for pad in board.pads] == [90.0] * 6 + [0.0] * 3 + [30.0] * 2


def test_kinds_and_layers_of_pads(board: Board) -> None:
    assert [pad.layers for pad in board.pads] == [FRONT] * 5 + [BOTH] * 4 + [FRONT] * 2
    assert [pad.through for pad in board.pads] == [False] * 5 + [True] * 4 + [False] * 2
    assert [pad.plated for pad in board.pads] == [True] * 6 + [False] + [True] * 4
    assert board.pads[6].pin == NONE


def test_shapes_are_in_the_frame_of_the_pad(board: Board) -> None:
    rect, oval, offset = (board.pads[k].shape for k in (0, 1, 7))
    assert rect.box == (-500_000, -250_000, 500_000, 250_000)
    assert oval.cores == (Core(((-250_000, 0), (250_000, 0)), 250_000),)
    assert offset.cores == (Core(((-250_000, 0), (750_000, 0)), 500_000),)
    assert offset.box == (-750_000, -500_000, 1_250_000, 500_000)


def test_copper(board: Board) -> None:
    tracks, vias = board.tracks, board.vias
    assert tracks.ends.tolist() == [
        [21_000_000, 13_000_000, 30_000_000, 13_000_000],
        [30_000_000, 13_000_000, 30_000_000, 20_000_000],
        [5_000_000, 5_000_000, 6_000_000, 5_000_000],
    ]
    assert tracks.mid.tolist() == tracks.ends[:, :2].tolist()
    assert tracks.width.tolist() == [250_000] * 3
    assert tracks.layer.tolist() == [0, 0, 1]
    assert [board.net_name(net) for net in tracks.net.tolist()] == ["/SONDE_TX", "/SONDE_TX", None]
    assert tracks.locked.tolist() == [False, False, True]
    assert vias.at.tolist() == [[30_000_000, 13_000_000], [12_000_000, 5_000_000]]
    assert (vias.size.tolist(), vias.drill.tolist()) == ([600_000, 400_000], [300_000, 0])
    assert vias.layers.tolist() == [BOTH, BOTH]
    assert [board.net_name(net) for net in vias.net.tolist()] == ["/SONDE_TX", "GND"]


def test_zones(board: Board) -> None:
    ground, keepout = board.zones
    assert (board.net_name(ground.net), ground.layers, ground.rule_area) == ("GND", BACK, False)
    assert points(ground.outline[0])[2].tolist() == [39_000_000, 24_000_000]
    (fill,) = ground.fills
    assert (fill.layer, fill.grow) == (1, 0 if board.version == 20260206 else 125_000)
    assert points(fill.text)[0].tolist() == [1_125_000, 1_125_000]
    assert (keepout.net, keepout.layers, keepout.rule_area) == (NONE, FRONT, True)
    assert not keepout.fills


def test_fills_of_zones_that_deny_a_pen_do_not_grow() -> None:
    says = b"(min_thickness 0.25) (filled_areas_thickness no)"
    flat = read(MIDDLE.replace(b"(min_thickness 0.25)", says))
    assert [fill.grow for zone in flat.zones for fill in zone.fills] == [0]


def test_edge_has_lines_and_chords_of_arcs(board: Board) -> None:
    top, side, corner = board.edge
    assert top == ((0, 0), (40_000_000, 0))
    assert side == ((0, 0), (0, 25_000_000))
    assert (corner[0], corner[-1]) == ((40_000_000, 0), (45_000_000, 5_000_000))
    reach = [((x - 40_000_000) ** 2 + (y - 5_000_000) ** 2) ** 0.5 for x, y in corner]
    assert all(abs(r - 5_000_000) < 1_000 for r in reach)
    assert all(y < 5_000_000 and x > 40_000_000 for x, y in corner[1:-1])


def test_head_of_the_file() -> None:
    old, middle, newest = map(read, (OLD, MIDDLE, NEWEST))
    assert (old.version, middle.version, newest.version) == (4, 20211014, 20260206)
    assert old.layers == (Layer("Top", "signal"), Layer("Bottom", "signal"))
    assert {b.thickness for b in (old, middle, newest)} == {1_600_000}
    stack = (
        StackLayer("F.Cu", 0, 35_000, 0.0),
        StackLayer("dielectric 1", NONE, 1_510_000, 4.5),
        StackLayer("B.Cu", 1, 35_000, 0.0),
    )
    assert (old.stackup, middle.stackup, newest.stackup) == ((), stack, stack)
    members = ("/LED_A", "/SONDE_TX", "GND")
    wanted = NetClass("Default", 150_000, 250_000, 600_000, 300_000, members)
    assert old.classes == (wanted,)


def test_line_ends_change_nothing() -> None:
    for data in ALL.values():
        crlf, spans = read_board(data.replace(b"\n", b"\r\n"))
        plain = read(data)
        assert replace(crlf, zones=()) == replace(plain, zones=())
        assert spans.line_end == b"\r\n"


def edited(data: bytes, old: bytes, new: bytes) -> bytes:
    assert data.count(old) == 1, old
    return data.replace(old, new)


def test_private_names_are_real_nets_once_two_pins_carry_them() -> None:
    data = edited(
        MIDDLE,
        b'(net 5 "unconnected-(R5-Pad2)") (pintype',
        b'(net 4 "unconnected-(U3-Pad4)") (pintype',
    )
    board = read(data)
    assert "unconnected-(U3-Pad4)" in board.nets
    assert "unconnected-(R5-Pad2)" not in board.nets
    assert board.pins[pin(board, "R5:2")].net == board.pins[pin(board, "U3:4")].net != NONE


def test_copper_of_a_private_net_has_no_net() -> None:
    data = edited(MIDDLE, b'(layer "B.Cu") (net 0)', b'(layer "B.Cu") (net 4)')
    board, spans = read_board(data)
    assert board.tracks.net.tolist()[2] == NONE
    assert spans.names[spans.tracks.carried[2]] == "unconnected-(U3-Pad4)"


def test_pads_of_one_pin_on_two_nets_are_a_fault() -> None:
    data = edited(
        NEWEST,
        b'(remove_unused_layers no)\n\t\t\t(net "GND")\n\t\t\t(pinfunction "VSS")',
        b'(remove_unused_layers no)\n\t\t\t(net "/LED_A")\n\t\t\t(pinfunction "VSS")',
    )
    board = read(data)
    assert board.pins[pin(board, "U3:EP")].fault == "its pads are on different nets"


def test_references_that_are_empty_or_shared_are_a_fault() -> None:
    shared = read(edited(OLD, b"reference R5", b"reference U3"))
    faults = {board_pin.fault for board_pin in shared.pins if board_pin.part != 1}
    assert faults == {"its part shares the reference U3 with another"}
    assert not any(p.fault for p in shared.pins if p.part == 1)
    empty = read(edited(OLD, b"reference R5", b'reference ""'))
    assert [p.fault for p in empty.pins if p.part == 2] == ["its part has no reference"] * 2


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            b"(net 2 /SONDE_TX)\n  (net 3",
            b"(net 1 /SONDE_TX)\n  (net 3",
            "net 1 '/SONDE_TX' stands twice in the net table",
        ),
        (b"(net 3 /LED_A)\n\n", b"(net 3 GND)\n\n", "net 3 'GND' stands twice in the net table"),
        (
            b"(net 3 /LED_A) (solder",
            b"(net 9 /LED_A) (solder",
            "net number 9 is not in the net table",
        ),
        (
            b"(net 3 /LED_A) (solder",
            b"(net 1 /LED_A) (solder",
            "net number 1 is 'GND' in the net table but '/LED_A' here",
        ),
        (
            b"(layer Bottom) (net 0) (st",
            b"(layer Bottom) (net 7) (st",
            "net number 7 is not in the",
        ),
        (b"(at 30 20)", b"(at 30 2O)", "expected a decimal number in (at ...) but found 2O"),
        (b"    (at 30 20)\n", b"", "this (module ...) has no (at ...)"),
        (b"(end 6 5)", b"(end 6000 5)", "the board is wider than 2 m: this stands too far"),
        (b"(size 0.8 0.9) (layers Top F.Paste F.Mask)\n", b"(layers Top)\n", "a pad has no size"),
        (b"(pad 4 smd rect", b"(pad 4 smd", "a pad lacks its number, type or shape"),
        (b"(0 Top signal)", b"(0 Bottom signal)", "copper layer Bottom stands twice"),
        (b"  (layers\n", b"  (slices\n", "the board has no list of layers"),
        (b"reference R5", b"reference \xff", "the name is not valid UTF-8 text"),
        (b"(end 0 25)", b"(middle 0 25)", "(gr_line needs a list (end ...) with 2 decimal numbers"),
    ],
)
def test_what_cannot_be_read_is_named_with_its_place(old: bytes, new: bytes, said: str) -> None:
    message = complaint(OLD.replace(old, new))
    assert said in message
    place = message.split(":")
    line = OLD.replace(old, new).split(b"\n")[int(place[1]) - 1]
    assert 1 <= int(place[2]) <= len(line) + 1


def test_a_netlist_is_no_board() -> None:
    assert complaint(b"(export (version D))") == (
        "F:1:1: this is a netlist, not a board; check the order of the files given"
    )


def test_children_of_any_order_read_the_same() -> None:
    position, size = b"(at -3 -1 90)", b"(size 1 0.5)"
    rest = b'(layers "F.Cu" "F.Mask" "F.Paste")', b'(net "GND")'
    usual = b"\n\t\t\t".join([position, size, *rest])
    swapped = edited(NEWEST, usual, b" ".join([*rest[::-1], b'(uuid "x")', position, size]))
    assert read(swapped) == read(NEWEST)


def test_repr_is_short() -> None:
    board, spans = read_board(OLD)
    assert isinstance(spans, BoardSpans)
    assert repr(board) == "<board: 3 parts, 9 pins, 3 nets, 2 copper layers>"
    assert repr(spans) == "<spans of 11 pads, 3 tracks>"
