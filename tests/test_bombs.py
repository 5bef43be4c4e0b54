"""Files made to break a reader: each with its expected outcome, generated here, not stored."""

from __future__ import annotations

import pytest
from cases.buoys import ALL, MIDDLE, NEWEST, OLD

from renet.changes import ChangeList
from renet.deliver import BoardFile, deliver_board
from renet.errors import InputError, RenetError
from renet.pipeline import Inputs, Named, Options, survey
from renet.read.board import read_board
from renet.read.netlist import read_netlist
from renet.read.rules import read_rules
from renet.read.swaps import read_swaps
from renet.report.pictures import picture
from renet.syntax import parse

MILLION = 1_000_000
PAD = b'    (pad "%d" smd rect (at %d 0) (size 1 1) (layers "F.Cu") (net %d "%s"))\n'


def board(*lists: bytes, nets: int = 1) -> bytes:
    """A board with a net table N0..Nn and these lists."""
    rows = b"".join(b'  (net %d "N%d")\n' % (n, n) for n in range(1, nets + 1))
    head = b'(kicad_pcb (version 20211014)\n  (layers (0 "F.Cu" signal) (31 "B.Cu" signal))\n'
    return head + b'  (net 0 "")\n' + rows + b"\n".join(lists) + b"\n)\n"


def part(ref: bytes, *pads: bytes) -> bytes:
    text = b'    (fp_text reference "%s" (at 0 0) (layer "F.SilkS"))\n' % ref
    return b'  (footprint "b:P" (layer "F.Cu") (at 0 0)\n' + text + b"".join(pads) + b"  )"


def refused(data: bytes) -> InputError:
    with pytest.raises(InputError) as caught:
        read_board(data)
    assert caught.value.line >= 1
    return caught.value


def surveyed(data: bytes) -> object:
    return survey(Inputs(Named("bomb", data)), Options())


def unharmed(data: bytes) -> None:
    """Read, measured, and written without a move: the same bytes."""
    surveyed(data)
    file = BoardFile(data, *read_board(data))
    assert deliver_board(file, ChangeList((), ())).data == data


@pytest.mark.parametrize("reader", [read_board, read_netlist, read_swaps, parse])
@pytest.mark.parametrize("tail", [b"", b")" * MILLION], ids=["open", "closed"])
def test_a_million_nested_lists(reader: object, tail: bytes) -> None:
    for head in (b"", b"(kicad_pcb ", b"(export ", b"(renet_swaps "):
        with pytest.raises(InputError):
            reader(head + b"(" * MILLION + tail)  # type: ignore[operator]


def test_a_million_nested_lists_in_rules() -> None:
    for opening in (
        b"a = " + b"[" * 500_000,
        b"a." * 300_000 + b"b = 1",
        b"a = " + b"{a=" * 300_000,
    ):
        with pytest.raises(RenetError, match="nested too deep"):
            read_rules(opening)


def test_an_atom_of_100_mb() -> None:
    tree = parse(b'(a "' + b"x" * 100_000_000 + b'")')
    (atom,) = tree.values(0)
    assert (len(tree), atom.end - atom.start) == (1, 100_000_002)


def test_a_number_of_a_million_digits() -> None:
    assert "decimal number" in refused(board(part(b"U1", PAD % (1, 10**400, 1, b"N1")))).what


def test_a_part_of_many_pads() -> None:
    pads = [PAD % (n, n % 1000, 1, b"N1") for n in range(20_000)]
    found, _ = read_board(board(part(b"U1", *pads)))
    assert (len(found.pads), len(found.pins)) == (20_000, 20_000)


def test_ten_thousand_nets_on_one_point() -> None:
    pads = [PAD % (n, 0, n, b"N%d" % n) for n in range(1, 10_001)]
    found, _ = read_board(board(part(b"U1", *pads), nets=10_000))
    assert (len(found.nets), len({(p.x, p.y) for p in found.pads})) == (10_000, 1)


@pytest.mark.parametrize("word", [b"nan", b"inf", b"-inf", b"1e999", b"9" * 400, b"1,5", b'"1"'])
@pytest.mark.parametrize("data", ALL.values(), ids=list(ALL))
def test_a_coordinate_that_is_none(data: bytes, word: bytes) -> None:
    fault = refused(
        data.replace(b"(at -3 -1", b"(at " + word + b" -1").replace(
            b"(at -3 1", b"(at " + word + b" 1"
        )
    )
    assert fault.column > 1


@pytest.mark.parametrize(
    ("damage", "said"),
    [
        (lambda data: data.replace(b"GND", b"G\0D"), "zero byte"),
        (lambda data: data.replace(b"GND", b"G\xed\xa0\x80D"), "not valid UTF-8"),
        (lambda data: data.replace(b"GND", b"G\xffD"), "not valid UTF-8"),
        (lambda data: b"\xef\xbb\xbf" + data, "byte order mark"),
        (lambda data: data.decode().encode("utf-16"), "UTF-16"),
        (lambda data: data + data, "after the end"),
        (lambda data: b"", "empty"),
        (lambda data: b" \r\n", "empty"),
    ],
    ids=["NUL", "surrogate", "not UTF-8", "BOM", "UTF-16", "twice", "empty", "blank"],
)
@pytest.mark.parametrize("data", ALL.values(), ids=list(ALL))
def test_bytes_that_are_no_text(data: bytes, damage: object, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read_board(damage(data))  # type: ignore[operator]


def test_mixed_line_ends_are_kept() -> None:
    for data in (OLD, MIDDLE, NEWEST):
        lines = data.split(b"\n")
        ends = [b"\r\n" if n % 3 == 1 else b"\n" for n in range(len(lines))]
        mixed = b"".join(line + end for line, end in zip(lines, ends, strict=True))
        assert read_board(mixed)[0] == read_board(data)[0]
        unharmed(mixed)


def test_a_net_that_stands_twice_in_the_table() -> None:
    fault = refused(board(b'  (net 2 "N1")'))
    assert "stands twice" in fault.what


def test_a_reference_that_two_parts_have_keeps_its_pins() -> None:
    pads = PAD % (1, 0, 1, b"N1"), PAD % (2, 5, 2, b"N2")
    data = board(part(b"U1", *pads), part(b"U1", *pads), nets=2)
    assert all(pin.fault for pin in read_board(data)[0].pins)
    unharmed(data)


def test_odd_shapes_are_used_as_they_are() -> None:
    pads = PAD % (1, 0, 1, b"N1"), PAD % (2, 0, 2, b"N2"), PAD % (3, 0, 1, b"N1")
    track = b'  (segment (start 1 1) (end 1 1) (width 0) (layer "F.Cu") (net 1))'
    via = b'  (via (at 1 1) (size 0) (layers "F.Cu" "B.Cu") (net 1))'
    crossed = b"(pts (xy 0 0) (xy 9 9) (xy 9 0) (xy 0 9) (xy 0 0) (xy 0 0))"
    zone = (
        b'  (zone (net 2) (net_name "N2") (layer "F.Cu") (min_thickness 0.2)\n'
        b'    (polygon %s) (filled_polygon (layer "F.Cu") %s))' % (crossed, crossed)
    )
    unharmed(board(part(b"U1", *pads), track, via, zone, nets=2))


@pytest.mark.parametrize("word", [b"nan", b"inf", b"9" * 400])
def test_a_fill_with_a_corner_that_is_none(word: bytes) -> None:
    data = MIDDLE.replace(b"38.875 1.125", word + b" 1.125")
    scene = survey(Inputs(Named("bomb", data)), Options())
    with pytest.raises(InputError, match="polygon has a corner"):
        picture(scene, "bomb")
