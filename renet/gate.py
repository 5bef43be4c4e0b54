"""The gate before every write: what was written is parsed again and must mean what was meant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields

from renet.changes import Figures
from renet.engine import Score
from renet.errors import GateError, RenetError
from renet.geometry import NM_PER_MM
from renet.model import Board, Netlist
from renet.read.board import read_board
from renet.read.edif import EdifSpans, read_edif
from renet.read.ipc356 import RecordSpans, read_ipc356
from renet.read.netlist import read_netlist
from renet.read.spans import BoardSpans, NetlistSpans
from renet.recopper import CopperChange
from renet.write import board_bytes
from renet.write_edif import edif_bytes
from renet.write_ipc356 import record_bytes
from renet.write_netlist import after_moves, netlist_bytes, same_meaning

_ADVICE = "nothing was written; please report this with the input file"


def write_board(
    data: bytes, spans: BoardSpans | RecordSpans, before: Board, after: Board, copper: CopperChange
) -> bytes:
    """Bytes that mean exactly ``after``; GateError says what part of them does not."""
    try:
        if isinstance(spans, RecordSpans):
            written = record_bytes(data, spans, before, after)
            found = read_ipc356(written)[0]
        else:
            written = board_bytes(data, spans, before, after, copper)
            found = read_board(written)[0]
    except RenetError as fault:
        raise GateError(f"the board about to be written cannot be read: {fault}", _ADVICE) from None
    if found != after:
        raise GateError(
            f"the board about to be written differs in {differs(found, after)}", _ADVICE
        )
    return written


def write_netlist(
    data: bytes,
    spans: NetlistSpans | EdifSpans,
    netlist: Netlist,
    new_nets: Mapping[int, str | None],
) -> bytes:
    """Bytes that mean exactly ``netlist`` with nodes on their new nets."""
    try:
        if isinstance(spans, EdifSpans):
            written = edif_bytes(data, spans, netlist, new_nets)
            found = read_edif(written)[0]
        else:
            written = netlist_bytes(data, spans, netlist, new_nets)
            found = read_netlist(written)[0]
    except RenetError as fault:
        raise GateError(
            f"the netlist about to be written cannot be read: {fault}", _ADVICE
        ) from None
    if not same_meaning(found, after_moves(netlist, new_nets)):
        raise GateError("the netlist about to be written does not say what was meant", _ADVICE)
    return written


def differs(found: Board, meant: Board) -> str:
    """The parts of the model in which two boards differ, by name."""
    return ", ".join(
        f.name for f in fields(Board) if getattr(found, f.name) != getattr(meant, f.name)
    )


def check_figures(found: Figures, promised: Score) -> None:
    """GateError where the board about to be written has not what the search promised."""
    length = promised.length_nm / NM_PER_MM
    if found[:3] != promised[:3] or abs(found.length_mm - length) > 0.01:
        raise GateError(
            f"the search promised {Figures(*promised[:3], round(length, 3))}, "
            f"the written board has {found}",
            _ADVICE,
        )
