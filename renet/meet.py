"""Board and netlist brought together: whose pin is whose, what differs, what cannot move."""

from __future__ import annotations

from typing import NamedTuple

from renet import agree
from renet.agree import Agreement
from renet.deliver import NetlistFile
from renet.model import Board
from renet.permuted import Declared, in_board_names, not_permutable
from renet.read.edif import EdifSpans

_ALONE = Agreement({}, {}, {}, {}, ())


class Met(NamedTuple):
    """``board`` has the netlist's pin names; ``held`` is pin id -> why it stays.

    ``declared`` is what the netlist calls permutable, in the board's names.
    """

    board: Board
    agreement: Agreement
    held: dict[int, str]
    declared: Declared


def meet(board: Board, netlist: NetlistFile | None) -> Met:
    """What the netlist, if any, says of the board; InputError when it is of another one."""
    if netlist is None:
        return Met(board, _ALONE, {}, ())
    found = agree.compare(board, netlist.netlist)
    named = agree.with_names(board, netlist.netlist)
    held = {pin: f"board and netlist differ: {why}" for pin, why in found.differs.items()}
    held = found.unlisted | held
    if not isinstance(netlist.spans, EdifSpans):
        return Met(named, found, held, ())
    here = {there: key for key, there in agree.counterparts_of(board, netlist.netlist).of.items()}
    declared = in_board_names(netlist.spans.trades, here)
    ids = {board.pin_key(index): index for index in range(len(board.pins))}
    nodes = netlist.netlist.nodes
    keys = {node: here.get((nodes[node].ref, nodes[node].pin)) for node in netlist.spans.fixed}
    fixed = {ids[key]: netlist.spans.fixed[node] for node, key in keys.items() if key in ids}
    return Met(named, found, not_permutable(declared, board) | fixed | held, declared)
