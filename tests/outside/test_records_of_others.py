"""IPC-D-356A against files and readers of others.

Sources: a list that a layout program wrote for a real board, beside that board
(../shared/boards); PyPI package gerbonara as a second reader of what is written
here, which takes all fields from fixed columns.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from types import ModuleType

import pytest
from conftest import CORPUS, SHARED

from renet.engine import Params
from renet.export import exported
from renet.model import Board
from renet.pipeline import Inputs, Named, Options, board_file, untangle
from renet.read.board import read_board
from renet.read.ipc356 import read_ipc356

Key = tuple[str, str]
STEP = 2540
BOARDS = sorted(CORPUS.glob("*/*.kicad_pcb"))


@pytest.fixture
def stick() -> tuple[Board, Board]:
    """One board as a list of records and as a board file, by other programs."""
    stem = SHARED / "boards" / "v2017_fpga_stick"
    if not stem.with_suffix(".d356").is_file():
        pytest.skip("no real list of records: ../shared/boards is not there")
    listed, _ = read_ipc356(stem.with_suffix(".d356").read_bytes())
    drawn, _ = read_board(stem.with_suffix(".kicad_pcb").read_bytes())
    return listed, drawn


@pytest.fixture
def second_reader() -> ModuleType:
    return pytest.importorskip("gerbonara.ipc356", reason="gerbonara is not installed")


def partition(board: Board) -> set[frozenset[Key]]:
    groups: dict[int, set[Key]] = {}
    for index, pin in enumerate(board.pins):
        if pin.net >= 0:
            groups.setdefault(pin.net, set()).add(board.pin_key(index))
    return {frozenset(group) for group in groups.values()}


def places(board: Board) -> dict[Key, list[tuple[int, int]]]:
    return {
        board.pin_key(i): sorted((board.pads[pad].x, board.pads[pad].y) for pad in pin.pads)
        for i, pin in enumerate(board.pins)
    }


def test_a_real_list_has_the_nets_of_its_board(stick: tuple[Board, Board]) -> None:
    """The two are not of the same minute: one ground pin of U3 is not connected in the list."""
    listed, drawn = partition(stick[0]), partition(stick[1])
    assert len(listed) == len(drawn) == 91
    (one,), (other,) = listed - drawn, drawn - listed
    assert one ^ other == {("U3", "49")}


def test_a_real_list_has_the_places_of_its_board(stick: tuple[Board, Board]) -> None:
    listed, drawn = map(places, stick)
    assert listed.keys() == drawn.keys()
    shifts = Counter(
        (u - x, v - y)
        for key in listed
        for (x, y), (u, v) in zip(listed[key], drawn[key], strict=True)
    )
    (dx, dy), _ = shifts.most_common(1)[0]
    assert all(abs(u - dx) <= STEP and abs(v - dy) <= STEP for u, v in shifts)


@pytest.mark.parametrize("path", BOARDS, ids=lambda p: p.stem)
def test_the_second_reader_reads_what_we_write(path: Path, second_reader: ModuleType) -> None:
    file = board_file(Named(path.name, path.read_bytes()))
    text = exported(file).data.decode("utf-8")
    found = second_reader.Netlist.from_string(text, path.name)
    board = file.board
    assert len(found.test_records) == len(board.pads)
    for pad, record in zip(board.pads, found.test_records, strict=True):
        assert record.net_name == board.net_name(pad.net)
        assert record.ref_des == (board.parts[pad.part].ref or None)
        assert record.pin == (board.pins[pad.pin].number if pad.pin >= 0 else None)
        assert record.x == pytest.approx(pad.x / 1e6, abs=0.0006)
        assert record.y == pytest.approx(-pad.y / 1e6, abs=0.0006)
        assert record.pad_type.name == kind(pad.plated, pad.through)
        assert (record.hole_dia or 0) > 0 or not pad.through


def test_the_second_reader_sees_our_moves_in_a_list_of_others(second_reader: ModuleType) -> None:
    """The corpus list is written by a script without renet; it is updated here."""
    data, edif, rules = (
        Named(f"buoy{suffix}", (CORPUS / "standards" / f"buoy{suffix}").read_bytes())
        for suffix in (".d356", ".edf", ".rules.toml")
    )
    job = untangle(Inputs(data, edif, rules), Options(params=Params(iterations=200)))
    moved = {(move.part, move.pin): (move.was, move.is_) for move in job.changes.moves}
    assert moved
    both = [
        second_reader.Netlist.from_string(text.decode("utf-8"), "buoy.d356").test_records
        for text in (data.data, job.board.data)
    ]
    for was, now in zip(*both, strict=True):
        pair = was.net_name or None, now.net_name or None
        expected = moved.get((was.ref_des, was.pin), (pair[0], pair[0]))
        assert pair == expected
        assert (was.ref_des, was.pin, was.x, was.y) == (now.ref_des, now.pin, now.x, now.y)


def kind(plated: bool, through: bool) -> str:
    if not plated:
        return "NONPLATED_HOLE"
    return "THROUGH_HOLE" if through else "SMD_PAD"
