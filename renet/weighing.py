"""What swaps between two boards are worth, reckoned on the first of the two."""

from __future__ import annotations

import numpy as np

from renet.changes import ChangeList
from renet.columns import pad_columns
from renet.copper import Mode, join
from renet.model import NONE, Board, BoolArray
from renet.planes import left_out
from renet.tangle import pin_nets
from renet.worth import Ground, worth


def weighed(board: Board, changes: ChangeList, mode: Mode) -> ChangeList:
    """``changes``, made from ``board``, with what each swap is worth there.

    ``mode`` says which copper of ``board`` counts: RIP takes that of the nets
    that change as absent.  Nets that ``board`` does not know count like others.
    """
    names = [*board.nets, *sorted(_nets(changes) - set(board.nets))]
    nets = {name: index for index, name in enumerate(names)}
    pins = {board.pin_key(index): index for index in range(len(board.pins))}
    cols = pad_columns(board)
    counted = np.ones(len(names), dtype=bool)
    counted[list(left_out(board, cols, (), ()))] = False
    labels = join(board, cols, _present(board, changes, mode)).pads
    before = pin_nets(board)
    after = before.copy()
    for move in changes.moves:
        after[pins[move.part, move.pin]] = NONE if move.is_ is None else nets[move.is_]
    groups = [[pins[move.part, move.pin] for move in swap.moves] for swap in changes.swaps]
    ground = Ground(cols, labels, counted, tuple(pin.pads for pin in board.pins))
    found = zip(changes.swaps, worth(ground, before, after, groups), strict=True)
    swaps = tuple(swap._replace(alone=alone, lost_without=lost) for swap, (alone, lost) in found)
    return changes._replace(swaps=swaps, copper=mode.value)


def _nets(changes: ChangeList) -> set[str]:
    return {net for move in changes.moves for net in (move.was, move.is_) if net is not None}


def _present(board: Board, changes: ChangeList, mode: Mode) -> BoolArray:
    """The nets of the board whose copper counts."""
    if mode is Mode.IGNORE:
        return np.zeros(len(board.nets), dtype=bool)
    touched = _nets(changes) if mode is Mode.RIP else set()
    return np.array([net not in touched for net in board.nets], dtype=bool)
