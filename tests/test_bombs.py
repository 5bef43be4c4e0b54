"""Files made to break a reader: those of ``cases/bombs.py`` end as expected, and further ones."""

from __future__ import annotations

import sys

import pytest
from cases.bombs import BOMBS, MILLION, PAD, Bomb, board, part
from cases.buoys import ALL, MIDDLE, NEWEST, OLD
from conftest import ROOT

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

sys.path.append(str(ROOT / "scripts"))

from fuzzing.bombs import as_expected, set_off
from fuzzing.guard import Find


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


@pytest.mark.parametrize("bomb", BOMBS, ids=lambda bomb: bomb.what)
def test_a_bomb_ends_as_expected(bomb: Bomb) -> None:
    found = set_off(bomb, bomb.tested).found
    assert as_expected(bomb, found), found


def test_another_end_is_told_from_the_expected_one() -> None:
    used, refused = Bomb("", "", bytes), Bomb("", "nested", bytes)
    for outcome in ("gate", "traceback", "hang", "memory", "unclear"):
        assert not as_expected(used, Find(outcome, "nested"))
        assert not as_expected(refused, Find(outcome, "nested"))
    assert as_expected(used, Find("done"))
    assert as_expected(refused, Find("refused", "b:1:2: nested too deep"))
    assert not as_expected(used, Find("refused", "b:1:2: nested too deep"))
    assert not as_expected(refused, Find("refused", "b:1:2: something else"))


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


def test_a_reference_that_two_parts_have_keeps_its_pins() -> None:
    pads = PAD % (1, 0, 1, b"N1"), PAD % (2, 5, 2, b"N2")
    data = board(part(b"U1", *pads), part(b"U1", *pads), nets=2)
    assert all(pin.fault for pin in read_board(data)[0].pins)
    unharmed(data)


@pytest.mark.parametrize("word", [b"nan", b"inf", b"9" * 400])
def test_a_fill_with_a_corner_that_is_none(word: bytes) -> None:
    data = MIDDLE.replace(b"38.875 1.125", word + b" 1.125")
    scene = survey(Inputs(Named("bomb", data)), Options())
    with pytest.raises(InputError, match="polygon has a corner"):
        picture(scene, "bomb")
