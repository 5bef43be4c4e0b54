"""What swaps between two boards are worth, reckoned on the first of the two."""

from __future__ import annotations

import numpy as np

from renet.changes import ChangeList, Figures
from renet.columns import pad_columns
from renet.copper import Mode, join
from renet.model import NONE, Board, BoolArray
from renet.planes import left_out
from renet.tangle import measure, pin_nets
from renet.worth import Ground, Worth, worth


class _Scales:
    """A board with the nets of a change list, ready to be weighed."""

    def __init__(self, board: Board, changes: ChangeList, mode: Mode) -> None:
        names = [*board.nets, *sorted(_nets(changes) - set(board.nets))]
        nets = {name: index for index, name in enumerate(names)}
        self.pins = {board.pin_key(index): index for index in range(len(board.pins))}
        cols = pad_columns(board)
        out = left_out(board, cols, (), ())
        counted = np.ones(len(names), dtype=bool)
        counted[list(out)] = False
        labels = join(board, cols, _present(board, changes, mode)).pads
        self.ground = Ground(cols, labels, counted, tuple(pin.pads for pin in board.pins))
        self.figures = measure(board, cols, labels, out).figures
        self.before = pin_nets(board)
        self.after = self.before.copy()
        for move in changes.moves:
            pin = self.pins[move.part, move.pin]
            self.after[pin] = NONE if move.is_ is None else nets[move.is_]


def weighed(board: Board, changes: ChangeList, mode: Mode) -> ChangeList:
    """``changes``, made from ``board``, with what each swap is worth there.

    ``mode`` says which copper of ``board`` counts: RIP takes that of the nets
    that change as absent.  Nets that ``board`` does not know count like others.
    """
    scales = _Scales(board, changes, mode)
    groups = [[scales.pins[move.part, move.pin] for move in swap.moves] for swap in changes.swaps]
    found = worth(scales.ground, scales.before, scales.after, groups)
    swaps = tuple(
        swap._replace(alone=alone, lost_without=lost)
        for swap, (alone, lost) in zip(changes.swaps, found, strict=True)
    )
    return changes._replace(swaps=swaps, copper=mode.value)


def measured(board: Board, changes: ChangeList) -> tuple[Figures, Figures]:
    """The tangle of ``board`` before and after all of ``changes``, in the list's copper mode."""
    scales = _Scales(board, changes, Mode(changes.copper))
    moved = np.flatnonzero(scales.before != scales.after).tolist()
    change = Worth(scales.ground, scales.before).change({p: int(scales.after[p]) for p in moved})
    crossings, overlaps, over_pads, length = (
        old + new for old, new in zip(scales.figures, change, strict=True)
    )
    after = Figures(int(crossings), int(overlaps), int(over_pads), round(length, 6))
    return scales.figures, after


def _nets(changes: ChangeList) -> set[str]:
    return {net for move in changes.moves for net in (move.was, move.is_) if net is not None}


def _present(board: Board, changes: ChangeList, mode: Mode) -> BoolArray:
    """The nets of the board whose copper counts."""
    if mode is Mode.IGNORE:
        return np.zeros(len(board.nets), dtype=bool)
    touched = _nets(changes) if mode is Mode.RIP else set()
    return np.array([net not in touched for net in board.nets], dtype=bool)
