"""The less usual lists of boards, each put into a small board of the buoy."""

from __future__ import annotations

import math

import pytest
from cases.buoys import ALL, MIDDLE, NEWEST, OLD

from renet.geometry import points
from renet.model import NONE, Board, Fill
from renet.read.board import read_board
from renet.splice import Edit, splice

MM = 1_000_000


def read(data: bytes) -> Board:
    return read_board(data)[0]


def with_top(data: bytes, *lists: str) -> Board:
    """The board with more lists at its end."""
    return read(data.rstrip()[:-1] + "\n".join(lists).encode() + b")\n")


def with_in_part(data: bytes, *lists: str) -> Board:
    """The board with more lists in its first part."""
    at = data.index(b"(pad ")
    return read(data[:at] + "\n".join(lists).encode() + data[at:])


def four_layers(data: bytes) -> bytes:
    inner = b'(4 "In1.Cu" power)\n(6 "In2.Cu" mixed hide)\n'
    return data.replace(b'(2 "B.Cu" signal)', inner + b'(2 "B.Cu" signal)')


def test_both_numberings_of_layers_run_from_front_to_back() -> None:
    assert [layer.name for layer in read(four_layers(NEWEST)).layers] == [
        "F.Cu",
        "In1.Cu",
        "In2.Cu",
        "B.Cu",
    ]
    rows = b'(15 "C 1" signal) (2 C2 power) (1 C3 power) (0 Bottom signal)'
    oldest = OLD.replace(b"(0 Top signal)\n    (31 Bottom signal hide)", rows)
    board = read(oldest.replace(b" Top", b' "C 1"'))
    assert [(layer.name, layer.kind) for layer in board.layers] == [
        ("C 1", "signal"),
        ("C2", "power"),
        ("C3", "power"),
        ("Bottom", "signal"),
    ]
    assert board.pads[0].layers == 0b0001
    assert board.pads[7].layers == 0b1111
    assert board.tracks.layer.tolist() == [0, 0, 3]
    assert [part.back for part in board.parts] == [False, True, False]


@pytest.mark.parametrize(
    ("named", "mask"),
    [
        ('"*.Cu" "*.Mask"', 0b1111),
        ('"F&B.Cu"', 0b1001),
        ('"In1.Cu"', 0b0010),
        ('"F.Mask"', 0),
        ('"B.Cu" "In2.Cu"', 0b1100),
    ],
)
def test_wildcards_of_pads(named: str, mask: int) -> None:
    data = four_layers(NEWEST).replace(b'"F.Cu" "F.Mask" "F.Paste"', named.encode())
    assert read(data).pads[0].layers == mask


def test_vias_join_all_layers_between_theirs() -> None:
    vias = with_top(
        four_layers(NEWEST),
        '(via blind (at 1 1) (size 0.5) (drill 0.2) (layers "F.Cu" "In2.Cu") (net "GND"))',
        '(via (at 2 2) (size 0.5) (drill 0.2) (net "GND"))',
        '(via locked (at 3 3) (size 0.5) (layers "B.Cu" "F.Cu") (net "GND") (free yes))',
    ).vias
    assert vias.layers.tolist()[2:] == [0b0111, 0b1111, 0b1111]
    assert vias.locked.tolist()[2:] == [False, False, True]


@pytest.mark.parametrize("version", sorted(ALL))
@pytest.mark.parametrize(
    ("text", "locked"),
    [
        ("(segment locked (start 1 1) (end 2 1) (width 0.2) (layer X))", True),
        ("(segment (start 1 1) (end 2 1) (width 0.2) (layer X) locked)", True),
        ("(segment (start 1 1) locked (end 2 1) (width 0.2) (layer X))", True),
        ("(segment (start 1 1) (end 2 1) (width 0.2) (locked yes) (layer X))", True),
        ("(segment (start 1 1) (end 2 1) (width 0.2) (locked) (layer X))", True),
        ("(segment (start 1 1) (end 2 1) (width 0.2) (locked no) (layer X))", False),
        ('(segment (start 1 1) (end 2 1) (width 0.2) (layer X) (note "locked"))', False),
        ("(segment (start 1 1) (end 2 1) (width 0.2) (layer X) (status 40000))", True),
        ("(segment (start 1 1) (end 2 1) (width 0.2) (layer X) (status 400000))", False),
    ],
)
def test_locked_in_all_its_forms(version: str, text: str, locked: bool) -> None:
    tracks = with_top(ALL[version], text).tracks
    assert tracks.locked.tolist()[-1] == locked
    assert tracks.layer.tolist()[-1] == NONE


def test_arcs_are_tracks_in_file_order() -> None:
    board = with_top(
        NEWEST,
        '(arc (start 1 0) (mid 2 1) (end 3 0) (width 0.2) (layer "F.Cu") (net "GND"))',
        '(segment (start 3 0) (end 4 0) (width 0.2) (layer "F.Cu") (net "GND"))',
    )
    assert board.tracks.curved.tolist() == [False, False, False, True, False]
    assert board.tracks.mid.tolist()[3] == [2 * MM, MM]
    assert board.tracks.ends.tolist()[3] == [MM, 0, 3 * MM, 0]


def test_zones_of_several_layers_and_of_footprints() -> None:
    zone = (
        "(zone {} (hatch edge 0.5) (min_thickness 0.2) (polygon (pts (xy 1 1) (xy 2 1) (xy 2 2))))"
    )
    board = with_in_part(
        NEWEST, zone.format('(layer "B.Cu") (name "keepout") (keepout (tracks not_allowed))')
    )
    assert len(board.zones) == 3
    assert (board.zones[0].rule_area, board.zones[0].layers, board.zones[0].net) == (True, 2, NONE)
    more = with_top(
        four_layers(NEWEST),
        zone.format('(net "GND") (layers "F.Cu" "In1.Cu") (locked yes)'),
        zone.format('(net "GND") (layers "F&B.Cu")'),
        zone.format('(net "GND") (layer "F.SilkS")'),
    ).zones
    assert [z.layers for z in more[2:]] == [0b0011, 0b1001, 0]
    assert [z.locked for z in more] == [False, False, True, False, False]


def test_teardrops() -> None:
    drop = (
        '(zone (net "/LED_A") (layer "F.Cu") (attr (teardrop (type padvia))) (min_thickness 0.1)'
        "(polygon (pts (xy 1 1) (xy 2 1) (xy 2 2)))"
        '(filled_polygon (layer "F.Cu") (pts (xy 1 1) (xy 2 1) (xy 2 2))))'
    )
    board = with_top(NEWEST, drop)
    assert [zone.teardrop for zone in board.zones] == [False, False, True]
    assert board.zones[2].fills == (Fill(0, b"(xy 1 1) (xy 2 1) (xy 2 2)", 0),)


def test_zones_filled_with_lines() -> None:
    zone = (
        "(zone (net 1) (net_name GND) (layer Top) (min_thickness 0.3)"
        "(polygon (pts (xy 1 1) (xy 2 1) (xy 2 2)))"
        "(fill_segments (pts (xy 1 1) (xy 2 1)) (pts (xy 1 1.2) (xy 2 1.2))))"
    )
    data = OLD.rstrip()[:-1] + zone.encode() + b")\n"
    board, spans = read_board(data)
    fills = board.zones[-1].fills
    assert [points(fill.text)[:, 1].tolist() for fill in fills] == [[MM, MM], [1_200_000] * 2]
    assert {(fill.layer, fill.grow) for fill in fills} == {(0, 150_000)}
    (where,) = set(spans.zones[-1].fills)
    assert read(splice(data, [Edit(*where, b"")])).zones[-1].fills == ()


def test_the_edge_takes_every_kind_of_line() -> None:
    on = '(layer "Edge.Cuts")'
    edge = with_top(
        NEWEST,
        f"(gr_rect (start 1 2) (end 3 4) {on})",
        f"(gr_circle (center 10 10) (end 12 10) {on})",
        f"(gr_poly (pts (xy 0 0) (xy 5 0) (xy 5 5)) {on})",
        f"(gr_curve (pts (xy 0 0) (xy 0 2) (xy 4 2) (xy 4 0)) {on})",
        f'(gr_text "Edge.Cuts" (at 0 0) {on})',
        '(gr_line (start 0 0) (end 9 9) (layer "F.SilkS"))',
    ).edge[3:]
    rect, circle, poly, curve = edge
    assert rect == ((MM, 2 * MM), (3 * MM, 2 * MM), (3 * MM, 4 * MM), (MM, 4 * MM), (MM, 2 * MM))
    assert all(abs(math.dist(p, (10 * MM, 10 * MM)) - 2 * MM) < 2 for p in circle)
    assert poly == ((0, 0), (5 * MM, 0), (5 * MM, 5 * MM), (0, 0))
    assert (curve[0], curve[-1], max(y for _, y in curve)) == ((0, 0), (4 * MM, 0), 1_500_000)


def test_the_edge_of_a_footprint_is_placed_with_it() -> None:
    board = with_in_part(NEWEST, '(fp_line (start 1 0) (end 1 2) (layer "Edge.Cuts"))')
    # U3 sits at (20, 10) and is turned by 90 degrees: (u, v) comes to (20 + v, 10 - u).
    assert board.edge[0] == ((20 * MM, 9 * MM), (22 * MM, 9 * MM))


def test_dielectrics_of_several_sheets_give_an_entry_each() -> None:
    first, second = b"(thickness 1) (epsilon_r 4)", b"(thickness 0.51 locked) (epsilon_r 3)"
    old = b'(thickness 1.51) (material "FR4") (epsilon_r 4.5)\n'
    data = MIDDLE.replace(old, first + b" addsublayer " + second)
    stack = read(data).stackup
    assert [(layer.name, layer.thickness, layer.er) for layer in stack] == [
        ("F.Cu", 35_000, 0.0),
        ("dielectric 1", MM, 4.0),
        ("dielectric 1", 510_000, 3.0),
        ("B.Cu", 35_000, 0.0),
    ]


def test_names_may_hold_anything() -> None:
    data = NEWEST.replace(b'"/LED_A"', b'"/\\\\odd \\"name\\" (\xce\xa9) ~{X}"')
    board, spans = read_board(data)
    name = '/\\odd "name" (Ω) ~{X}'
    assert name in board.nets
    assert spans.encode(name) == b'"/\\\\odd \\"name\\" (\xce\xa9) ~{X}"'


def test_unnumbered_pads_are_of_no_pin_but_keep_their_net() -> None:
    board = read(NEWEST.replace(b'(pad "3" smd', b'(pad "" smd'))
    pad = board.pads[2]
    assert (pad.pin, board.net_name(pad.net)) == (NONE, "/LED_A")
    assert [p.number for p in board.pins if p.part == 0] == ["1", "2", "4", "EP"]


def test_a_board_of_nothing() -> None:
    board, spans = read_board(b"(kicad_pcb (version 4) (layers (0 Top signal)))")
    assert (board.parts, board.pins, board.pads, board.nets, board.zones) == ((), (), (), (), ())
    assert (len(board.tracks), len(board.vias), board.edge) == (0, 0, ())
    assert spans.rows == ()
