"""The model against a plain reader on sexpdata that shares no code with it, on every file.

Source: PyPI package sexpdata; what the lists mean is read off again in
``cases.plain``, slowly and in millimetres.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from cases.plain import PlainBoard, read_plain, read_plain_netlist
from conftest import CORPUS, board_paths

from renet.geometry import points
from renet.model import NONE, Board
from renet.read.board import read_board
from renet.read.netlist import read_netlist

BOARDS = sorted(CORPUS.glob("*/*.kicad_pcb")) + board_paths()
NETLISTS = sorted(CORPUS.glob("*/*.net"))
NM = 1e-6


def name(board: Board, net: int) -> str:
    return "" if net == NONE else board.nets[net]


def real(board: Board, net: str) -> str:
    """A net of the plain reader, which keeps private names, as the model has it."""
    return net if net in board.nets else ""


def check_pads(board: Board, plain: PlainBoard) -> None:
    assert len(board.pads) == len(plain.pads)
    for pad, other in zip(board.pads, plain.pads, strict=True):
        assert math.dist((pad.x * NM, pad.y * NM), (other.x, other.y)) < 2 * NM, other
        assert pad.angle == other.angle
        assert name(board, pad.net) == real(board, other.net), other
        assert board.parts[pad.part].ref == other.ref
        assert pad.through == other.kind.endswith("thru_hole")
        assert pad.plated == (other.kind != "np_thru_hole")
        if pad.pin != NONE:
            assert board.pins[pad.pin].number == other.number
        every = "*.Cu" in other.layers
        both = "F&B.Cu" in other.layers
        for k, layer in enumerate(board.layers):
            outer = both and k in (0, len(board.layers) - 1)
            assert bool(pad.layers >> k & 1) == (every or outer or layer.name in other.layers)


def check_copper(board: Board, plain: PlainBoard) -> None:
    tracks = board.tracks
    rows = [
        (*(round(v * NM, 6) for v in ends), round(width * NM, 6), layer, name(board, net))
        for ends, width, layer, net in zip(
            tracks.ends.tolist(),
            tracks.width.tolist(),
            [board.layers[k].name for k in tracks.layer.tolist()],
            tracks.net.tolist(),
            strict=True,
        )
    ]
    others = [
        (*(round(v, 6) for p in (t.points[0], t.points[-1]) for v in p), t.width, t.layer,
         real(board, t.net))
        for t in plain.tracks
    ]  # fmt: skip
    assert sorted(rows) == sorted(others)
    vias = board.vias
    found = zip(vias.at.tolist(), vias.size.tolist(), vias.net.tolist(), strict=True)
    assert [(x, y, size, name(board, net)) for (x, y), size, net in found] == [
        (round(via.x / NM), round(via.y / NM), round(via.size / NM), real(board, via.net))
        for via in plain.vias
    ]


def check_fills(board: Board, plain: PlainBoard) -> None:
    fills = [(zone, fill) for zone in board.zones for fill in zone.fills]
    names = [layer.name for layer in board.layers]
    assert len(fills) == len(plain.fills)
    for (zone, fill), other in zip(fills, plain.fills, strict=True):
        assert fill.layer == (names.index(other.layer) if other.layer in names else NONE)
        assert name(board, zone.net) == real(board, other.net)
        assert zone.teardrop == other.teardrop
        assert fill.grow * NM == pytest.approx(other.grow, abs=NM)
        found = points(fill.text)
        assert len(found) == len(other.points)
        assert found[:3].tolist() == [[round(x / NM), round(y / NM)] for x, y in other.points[:3]]


@pytest.mark.parametrize("path", BOARDS, ids=lambda path: path.name)
def test_boards_mean_what_a_plain_reader_finds(path: Path) -> None:
    board, plain = read_board(path.read_bytes())[0], read_plain(path)
    assert board.version == plain.version
    assert tuple(layer.name for layer in board.layers) == plain.copper
    assert {part.ref for part in board.parts} == {part.ref for part in plain.parts}
    assert set(board.nets) <= set(plain.nets)
    check_pads(board, plain)
    check_copper(board, plain)
    check_fills(board, plain)


@pytest.mark.parametrize("path", NETLISTS, ids=lambda path: path.name)
def test_netlists_mean_what_a_plain_reader_finds(path: Path) -> None:
    netlist, _ = read_netlist(path.read_bytes())
    plain = read_plain_netlist(path)
    assert {(node.ref, node.pin): node.net for node in netlist.nodes if node.net} == {
        pin: net for pin, net in plain.items() if not net.startswith("unconnected-(")
    }
