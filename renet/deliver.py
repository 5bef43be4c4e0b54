"""A change list made into files: edits, parse-back gate, second opinion.

``untangle`` and ``apply`` both come through here, so what a reviewer accepts
later is written by the very code that wrote the proposal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from renet import recopper
from renet.changes import ChangeList, Move
from renet.copper import Mode
from renet.counterparts import counterparts
from renet.errors import GateError, InputError, StaleError
from renet.gate import write_board, write_netlist
from renet.model import NONE, Board, Netlist
from renet.read.edif import EdifSpans
from renet.read.ipc356 import RecordSpans
from renet.read.kind import BOARD, EDIF, NETLIST, RECORDS
from renet.read.spans import BoardSpans, NetlistSpans
from renet.recopper import CopperChange
from renet.rules import Rules
from renet.verify import (
    Expect,
    Verdict,
    verify_board,
    verify_edif,
    verify_netlist,
    verify_records,
)

_STALE = "make the list anew, or accept a newer file with --carry-over"
_REPORT = "nothing was written; please report this with the input files"
_SHOWN = 20


# Who gives the second opinion on a kind of file.
PROOFS = {
    BOARD: verify_board,
    RECORDS: verify_records,
    NETLIST: verify_netlist,
    EDIF: verify_edif,
}


@dataclass(frozen=True, slots=True)
class BoardFile:
    """A board file read: bytes, meaning, and where everything stands."""

    data: bytes
    board: Board
    spans: BoardSpans | RecordSpans

    @property
    def kind(self) -> str:
        """The kind of file, as ``read.kind`` calls it."""
        return RECORDS if isinstance(self.spans, RecordSpans) else BOARD

    @property
    def knows_copper(self) -> bool:
        """Whether this kind of file says what copper there is."""
        return self.kind != RECORDS


@dataclass(frozen=True, slots=True)
class NetlistFile:
    """A netlist file read."""

    data: bytes
    netlist: Netlist
    spans: NetlistSpans | EdifSpans

    @property
    def kind(self) -> str:
        """The kind of file, as ``read.kind`` calls it."""
        return EDIF if isinstance(self.spans, EdifSpans) else NETLIST


@dataclass(frozen=True, slots=True)
class WrittenBoard:
    """A board's new bytes, their meaning, and what became of its copper."""

    data: bytes
    board: Board
    copper: CopperChange
    verdict: Verdict


def deliver_board(
    file: BoardFile, changes: ChangeList, asked: Expect | None = None
) -> WrittenBoard:
    """The board with these moves done, past the gate and the second opinion.

    The second opinion wants exactly these moves; ``asked`` may add rules that
    have to permit them.
    """
    moved = pin_moves(file.board, changes)
    after, copper = recopper.carry(file.board, moved, Mode(changes.copper))
    data = write_board(file.data, file.spans, file.board, after, copper)
    expect = (asked or Expect())._replace(changes=changes)
    verdict = PROOFS[file.kind](file.data, data, expect)
    _insist(verdict, "board")
    return WrittenBoard(data, after, copper, verdict)


def deliver_netlist(
    file: NetlistFile, changes: ChangeList, rules: Rules | None = None
) -> tuple[bytes, Verdict]:
    """The netlist with these moves done; nets are told by their pins, not by name.

    ``rules`` have to permit the moves, if given.
    """
    moves = in_netlist_names(file.netlist, changes)
    nodes = {(node.ref, node.pin): index for index, node in enumerate(file.netlist.nodes)}
    new_nets = {nodes[move.part, move.pin]: move.is_ for move in moves.moves}
    _movable(file, new_nets)
    data = write_netlist(file.data, file.spans, file.netlist, new_nets)
    verdict = PROOFS[file.kind](file.data, data, Expect(rules, moves))
    _insist(verdict, "netlist")
    return data, verdict


def pin_moves(board: Board, changes: ChangeList) -> dict[int, int]:
    """Pin ids with their new net ids; StaleError where a ``was`` does not hold."""
    pins = {board.pin_key(index): index for index in range(len(board.pins))}
    nets = {name: index for index, name in enumerate(board.nets)}
    faults, moved = [], {}
    for move in changes.moves:
        pin = pins.get((move.part, move.pin))
        if pin is None:
            faults.append(f"{move.part}:{move.pin} is not there")
        elif (now := board.net_name(board.pins[pin].net)) != move.was:
            faults.append(f"{move.part}:{move.pin} is on {_word(now)}, not on {_word(move.was)}")
        elif move.is_ is not None and move.is_ not in nets:
            faults.append(f'there is no net "{move.is_}"')
        else:
            moved[pin] = NONE if move.is_ is None else nets[move.is_]
    _current(faults)
    return moved


def in_netlist_names(netlist: Netlist, changes: ChangeList) -> ChangeList:
    """The list with the netlist's own names: of parts and pins, where the list has them
    in capitals or cut, and of nets, found through the pins' old nets.

    StaleError where pins that the list has on one net are on several here, or
    the other way round.
    """
    nodes = {(node.ref, node.pin): node for node in netlist.nodes}
    changes = _own_pins(changes, nodes)
    alias: dict[str, str] = {}
    faults = []
    for move in changes.moves:
        node = nodes.get((move.part, move.pin))
        here = None if node is None else node.net
        if node is None:
            faults.append(f"{move.part}:{move.pin} is not there")
        elif (here is None) != (move.was is None):
            faults.append(f"{move.part}:{move.pin} is on {_word(here)}, not on {_word(move.was)}")
        elif move.was is not None and here is not None and alias.setdefault(move.was, here) != here:
            faults.append(f"{move.part}:{move.pin} is on {here}, others of {move.was} are not")
    if len(set(alias.values())) < len(alias):
        faults.append("nets that the list tells apart are one net here")
    faults += [
        f'"{m.is_}" stands on no moved pin' for m in changes.moves if m.is_ and m.is_ not in alias
    ]
    _current(faults)
    return _renamed(changes, alias)


def _own_pins(changes: ChangeList, nodes: Mapping[tuple[str, str], object]) -> ChangeList:
    """The list with parts and pins as the netlist writes them, where it has them at all."""
    keys = [(move.part, move.pin) for move in changes.moves]
    if all(key in nodes for key in keys):
        return changes
    same = counterparts(keys, nodes, True).of

    def own(move: Move) -> Move:
        part, pin = same.get((move.part, move.pin), (move.part, move.pin))
        return move._replace(part=part, pin=pin)

    swaps = tuple(s._replace(moves=tuple(map(own, s.moves))) for s in changes.swaps)
    return changes._replace(swaps=swaps)


def _movable(file: NetlistFile, new_nets: Mapping[int, str | None]) -> None:
    """InputError where a netlist in EDIF has no portRef of its own for a pin that moves."""
    fixed = file.spans.fixed if isinstance(file.spans, EdifSpans) else {}
    for node in sorted(fixed.keys() & new_nets.keys()):
        pin = file.netlist.nodes[node]
        raise InputError(
            f"{pin.ref}:{pin.pin} cannot move in this file: {fixed[node]}",
            "write the netlist flat, with its buses as single nets",
        )


def _renamed(changes: ChangeList, alias: Mapping[str, str]) -> ChangeList:
    def named(move: Move) -> Move:
        return move._replace(was=move.was and alias[move.was], is_=move.is_ and alias[move.is_])

    swaps = tuple(s._replace(moves=tuple(named(m) for m in s.moves)) for s in changes.swaps)
    return changes._replace(swaps=swaps)


def _current(faults: list[str]) -> None:
    if faults:
        more = f" and {len(faults) - _SHOWN} more" if len(faults) > _SHOWN else ""
        raise StaleError(
            "the change list does not fit this file: " + "; ".join(faults[:_SHOWN]) + more, _STALE
        )


def _insist(verdict: Verdict, what: str) -> None:
    if not verdict.ok:
        raise GateError(
            f"the {what} about to be written fails its second opinion: {verdict.findings[0]}",
            _REPORT,
        )


def _word(net: str | None) -> str:
    return "no net" if net is None else f'"{net}"'
