"""Views for the tests of pictures and the review page: the buoy, and any board by seed."""

from __future__ import annotations

import random
from functools import cache

import numpy as np
from conftest import CORPUS

from renet.changes import ChangeList, Figures, Move, Source, Swap
from renet.columns import pad_columns
from renet.copper import join
from renet.deliver import pin_moves
from renet.model import NONE, Board, IntArray
from renet.pipeline import Inputs, Named, Options, board_file, untangle
from renet.planes import left_out
from renet.report.view import View, view_of
from renet.tangle import measure, pin_nets
from renet.worth import Ground, Worth, worth

EVIL = "</script><img src=x onerror=alert(1)>"
DEMO = CORPUS / "demo"


@cache
def buoy_view(tx_name: str = "/SONDE_TX") -> View:
    """The buoy, untangled; one of its nets may be given another name."""
    old, new = b'"/SONDE_TX"', b'"' + tx_name.encode() + b'"'
    board, netlist = (
        Named(name, (DEMO / name).read_bytes().replace(old, new))
        for name in ("buoy.kicad_pcb", "buoy.net")
    )
    rules = Named("buoy.rules.toml", (DEMO / "buoy.rules.toml").read_bytes())
    return view_of(board.name, untangle(Inputs(board, netlist, rules), Options()))


def exchanged(name: str, data: bytes, seed: int, most: int = 24) -> View:
    """A board with pairs of netted pins of one part exchanged by chance, each pair a swap."""
    board = board_file(Named(name, data)).board
    cols = pad_columns(board)
    out = left_out(board, cols, (), ())
    pairs = _pairs(board, set(out), random.Random(seed), most)
    before = pin_nets(board)
    after = before.copy()
    for one, two in pairs:
        after[[one, two]] = before[[two, one]]
    absent = np.zeros(len(board.nets), dtype=bool)
    labels = join(board, cols, absent).pads
    active = np.ones(len(board.nets), dtype=bool)
    active[list(out)] = False
    ground = Ground(cols, labels, active, tuple(pin.pads for pin in board.pins))
    worths = worth(ground, before, after, pairs)
    changes = _changes(board, pairs, after, worths)
    moved = moved_board(board, after)
    return View(
        name, board, cols, labels, out,
        measure(board, cols, labels, out), measure(moved, cols, labels, out), after, changes,
    )  # fmt: skip


def _pairs(board: Board, out: set[int], dice: random.Random, most: int) -> list[list[int]]:
    parts = [
        [p for p in part.pins if board.pins[p].net not in {NONE, *out} and not board.pins[p].fault]
        for part in board.parts
    ]
    found: list[list[int]] = []
    for pins in sorted(parts, key=len, reverse=True):
        dice.shuffle(pins)
        found += [
            [a, b]
            for a, b in zip(pins[::2], pins[1::2], strict=False)
            if board.pins[a].net != board.pins[b].net
        ]
    return found[:most]


def _changes(
    board: Board,
    pairs: list[list[int]],
    after: IntArray,
    worths: list[tuple[Figures, Figures]],
) -> ChangeList:
    def move(pin: int) -> Move:
        was, is_ = board.net_name(board.pins[pin].net), board.net_name(int(after[pin]))
        return Move(*board.pin_key(pin), board.pins[pin].name, was, is_)

    swaps = tuple(
        Swap(number, tuple(map(move, pair)), *both)
        for number, (pair, both) in enumerate(zip(pairs, worths, strict=True), start=1)
    )
    return ChangeList((Source("board", "board", "00"),), swaps, "ignore")


def moved_board(board: Board, after: IntArray) -> Board:
    """The board with its pins on these nets."""
    from dataclasses import replace

    pins = tuple(p._replace(net=int(n)) for p, n in zip(board.pins, after, strict=True))
    return replace(board, pins=pins)


def figures_with(view: View, ids: frozenset[int]) -> tuple[Figures, Figures]:
    """The tangle with these swaps done, counted anew from the whole board, and its worth."""
    before = pin_nets(view.board)
    moves = pin_moves(view.board, view.changes.only(ids))
    after = before.copy()
    after[list(moves)] = list(moves.values())
    found = measure(moved_board(view.board, after), view.cols, view.labels, view.left_out)
    active = np.ones(len(view.board.nets), dtype=bool)
    active[list(view.left_out)] = False
    ground = Ground(view.cols, view.labels, active, tuple(pin.pads for pin in view.board.pins))
    return found.figures, Worth(ground, before).change(moves)
