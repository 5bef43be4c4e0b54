"""A board made into a list of IPC-D-356A records, read back before anybody gets it."""

from __future__ import annotations

from renet.deliver import BoardFile
from renet.errors import GateError
from renet.model import NONE, Board, Pad
from renet.read.holes import hole_sizes
from renet.read.ipc356 import read_ipc356
from renet.write_ipc356 import Exported, export_bytes

_STEP = 2_540
_ADVICE = "nothing was written; please report this with the input file"


def exported(file: BoardFile) -> Exported:
    """All pads of a board; GateError where the list, read back, has other nets or places.

    Pads without number or reference carry their place and their net; a reader
    takes those without both for no pin, so only the others are compared.
    """
    board = file.board
    made = export_bytes(board, hole_sizes(file.data, file.spans, board))
    found = read_ipc356(made.data)[0]
    mine, theirs = _facts(board), _facts(found)
    if len(mine) != len(theirs) or not all(map(_same, mine, theirs)):
        raise GateError("the list about to be written does not say what the board says", _ADVICE)
    return made


Facts = tuple[str, int, int]


def _facts(board: Board) -> list[Facts]:
    """Net and place of every pad of a pin, part by part as a list of records has them."""
    order: dict[str, int] = {}
    for part in board.parts:
        order.setdefault(part.ref, len(order))
    pads = [pad for pad in board.pads if _is_named(board, pad)]
    pads.sort(key=lambda pad: order[board.parts[pad.part].ref])
    return [(board.net_name(pad.net) or "", pad.x, pad.y) for pad in pads]


def _is_named(board: Board, pad: Pad) -> bool:
    return pad.pin != NONE and bool(board.parts[pad.part].ref)


def _same(mine: Facts, theirs: Facts) -> bool:
    near = abs(mine[1] - theirs[1]) <= _STEP and abs(mine[2] - theirs[2]) <= _STEP
    return mine[0] == theirs[0] and near
