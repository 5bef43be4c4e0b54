"""Connections counted here against what old board files say of themselves.

Up to version 20170123 a board's ``general`` block holds ``links`` (connections
when no copper is there) and ``no_connects`` (those still open), as counted by
the program that wrote the file.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from conftest import board_paths

from renet.columns import pad_columns
from renet.copper import join
from renet.model import Board
from renet.planes import left_out
from renet.read.board import read_board
from renet.tangle import Connections, connections

OPEN = {"v2021_mcu_fpga_unrouted", "v20241030_unrouted", "v20200119_fpga_carrier"}
"""Boards that are not routed, or not to the end; by their names and their few tracks."""

real_boards = pytest.mark.parametrize("path", board_paths(), ids=lambda path: path.stem)


def said(path: Path, keyword: str) -> int | None:
    found = re.search(rf"\({keyword} (\d+)\)".encode(), path.read_bytes()[:2_000])
    return int(found[1]) if found else None


def counted(board: Board, copper: bool) -> Connections:
    """Connections of all nets, planes too; pads are joined by copper or by nothing at all."""
    cols = pad_columns(board)
    labels = np.arange(len(board.pads))
    if copper:
        labels = join(board, cols, np.ones(len(board.nets), dtype=bool)).pads
    return connections(board, cols, labels, ())


def test_links_are_as_many_as_the_files_say(shared_boards: list[Path]) -> None:
    found = {path.stem: said(path, "links") for path in shared_boards}
    known = {path.stem: path for path in shared_boards if found[path.stem] is not None}
    ours = {
        name: len(counted(read_board(path.read_bytes())[0], copper=False))
        for name, path in known.items()
    }
    assert ours == {name: found[name] for name in known}
    assert len(known) >= 4


def test_open_connections_are_as_many_as_the_files_say(shared_boards: list[Path]) -> None:
    """Exactly so on three boards of four, one of them with 43 open in its unfilled zones.

    The fourth (v3_rf_amplifier) says 6, and none is open here: its three areas, as
    they stand in the file, join all pads of GND and VCC.  Without them 35 would be
    open, all of these two nets, so the 6 can only be a matter of how pads hang on areas.
    """
    differ = {}
    for path in shared_boards:
        expected = said(path, "no_connects")
        if expected is None:
            continue
        board, _ = read_board(path.read_bytes())
        found = counted(board, copper=True)
        if len(found) != expected:
            differ[path.stem] = (expected, len(found))
    assert differ == {"v3_rf_amplifier": (6, 0)}


def test_the_deviating_board_is_open_in_poured_nets_only(shared_boards: list[Path]) -> None:
    path = next(path for path in shared_boards if path.stem == "v3_rf_amplifier")
    board, _ = read_board(path.read_bytes())
    bare = replace(board, zones=tuple(zone._replace(fills=()) for zone in board.zones))
    nets = Counter(bare.nets[net] for net in counted(bare, copper=True).net.tolist())
    assert nets == {"GND": 27, "VCC": 8}


@real_boards
def test_routed_boards_have_nothing_open_outside_planes(path: Path) -> None:
    """A board that was made is routed to the end (common practice, no source)."""
    board, _ = read_board(path.read_bytes())
    cols = pad_columns(board)
    planes = left_out(board, cols, (), ())
    found = counted(board, copper=True)
    signals = [net for net in found.net.tolist() if net not in planes]
    if path.stem in OPEN:
        assert len(found) > 0
    else:
        assert signals == []
