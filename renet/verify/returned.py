"""The second opinion on a netlist that comes back from the edited schematic.

Names that nobody gave change from export to export, so nets are compared as
sets of pins: over the pins that both know, the nets of the new netlist must part
the pins as the nets of BEFORE do after the moves.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from renet.changes import ChangeList
from renet.model import Netlist
from renet.read.any_netlist import NETLISTS, read_any_netlist
from renet.read.board import read_board
from renet.read.ipc356 import read_ipc356
from renet.read.kind import RECORDS, kind_of
from renet.verify.nodes import PinName
from renet.verify.seats import Seat, met_in
from renet.verify.verdict import MOVES, PARTITION, PINS, Finding, Moved, Verdict, net_words

Design = Mapping[PinName, str | None]
Set = tuple[str, str]

_SHOWN = 4
_AUTOMATIC = "Net-("


def verify_returned(netlist: bytes, before: bytes, changes: ChangeList) -> Verdict:
    """Whether ``netlist`` is BEFORE (a board or a netlist) with exactly these moves.

    Raises InputError when either cannot be read.  Names in findings are those of
    BEFORE; ``moved`` lists the moves that were found done.
    """
    verdict = Verdict()
    had = _design(before)
    has = _in_names_of(had, read_any_netlist(netlist), kind_of(before) == RECORDS)
    verdict.counts.pins_compared += len(had.keys() & has.keys())
    verdict.counts.moves_checked += len(changes.moves)
    wanted = dict(had)
    verdict.findings += _apply(wanted, had, changes)
    verdict.findings += _absent(had, has, changes)
    listed = {(move.part, move.pin) for move in changes.moves}
    wrong = list(_misplaced(wanted, has))
    verdict.counts.nets_compared += len(set(wanted.values()) - {None})
    for pin, what in wrong:
        check, rule = (MOVES, "is") if pin in listed else (PARTITION, "no further pin")
        verdict.findings.append(Finding(check, rule, ":".join(pin), what))
    bad = {pin for pin, _ in wrong}
    verdict.moved = tuple(
        Moved(move.part, move.pin, move.name, move.was, move.is_)
        for move in changes.moves
        if (move.part, move.pin) in has and (move.part, move.pin) not in bad
    )
    return verdict


def _design(data: bytes) -> dict[PinName, str | None]:
    """Pin -> net of a board or a netlist, whichever it is."""
    kind = kind_of(data)
    if kind in NETLISTS:
        return _from_netlist(data)
    board = (read_ipc356 if kind == RECORDS else read_board)(data)[0]
    refs = Counter(part.ref for part in board.parts)
    return {
        (board.parts[pin.part].ref, pin.number): board.net_name(pin.net)
        for pin in board.pins
        if board.parts[pin.part].ref and refs[board.parts[pin.part].ref] == 1
    }


def _from_netlist(data: bytes) -> dict[PinName, str | None]:
    return {(node.ref, node.pin): node.net for node in read_any_netlist(data).nodes}


def _in_names_of(had: Design, netlist: Netlist, cut: bool) -> dict[PinName, str | None]:
    """Pin -> net of the netlist, pins called as in ``had`` where only one can be meant."""
    seats = [Seat(0, *pin, "", "", (), True, False, net, net) for pin, net in had.items()]
    met = met_in(seats, netlist, cut)
    taken = {(node.ref, node.pin) for node in met.values()}
    others = {(n.ref, n.pin): n.net for n in netlist.nodes if (n.ref, n.pin) not in taken}
    named = {(seats[index].ref, seats[index].number): node.net for index, node in met.items()}
    return others | named


def _apply(
    wanted: dict[PinName, str | None], had: Design, changes: ChangeList
) -> Iterator[Finding]:
    """Do the moves.  A net of the list is known by its name, or by the pins that had it
    where BEFORE has no such net or the name is one that nobody gave.
    """
    given = {net for net in had.values() if net is not None and not net.startswith(_AUTOMATIC)}
    names: dict[str | None, str | None] = {net: net for net in (None, *given)}
    for move in changes.moves:
        pin = (move.part, move.pin)
        if pin not in had:
            what = "the change list moves it, but BEFORE has no such pin"
            yield Finding(MOVES, "was", ":".join(pin), what)
        elif names.setdefault(move.was, had[pin]) != had[pin]:
            what = f"BEFORE has it on {net_words(had[pin])}, the change list says "
            yield Finding(MOVES, "was", ":".join(pin), what + net_words(move.was))
    for move in changes.moves:
        if (move.part, move.pin) in had:
            wanted[move.part, move.pin] = names.get(move.is_, move.is_)


def _absent(had: Design, has: Design, changes: ChangeList) -> Iterator[Finding]:
    """Connected pins that only one side knows; whole parts are told once."""
    moved = {(move.part, move.pin) for move in changes.moves}
    for rule, mine, other, words in (
        ("missing", had, has, "BEFORE has it, the netlist has not"),
        ("additional", has, had, "the netlist has it, BEFORE has not"),
    ):
        refs = {ref for ref, _ in other}
        alone = sorted(mine.keys() - other.keys())
        parts = {ref for ref, _ in alone if ref not in refs}
        connected = {pin[0] for pin in alone if mine[pin] is not None}
        for ref in sorted(parts & connected):
            yield Finding(PINS, rule, ref, f"part: {words}")
        for pin in alone:
            if pin[0] not in parts and (mine[pin] is not None or pin in moved):
                yield Finding(PINS, rule, ":".join(pin), f"pin on {net_words(mine[pin])}: {words}")


def _misplaced(wanted: Design, has: Design) -> Iterator[tuple[PinName, str]]:
    """Pins whose net in the netlist is not the partner of the net they should be on.

    Each net is paired with the net that shares most pins with it, each used
    once (ties: the alphabet).  A pin of no net is a set of its own.
    """
    common = sorted(wanted.keys() & has.keys())
    mine = {pin: _set(wanted, pin) for pin in common}
    theirs = {pin: _set(has, pin) for pin in common}
    shared = Counter((mine[pin], theirs[pin]) for pin in common)
    partner: dict[Set, Set] = {}
    taken: set[Set] = set()
    for (one, other), _ in sorted(shared.items(), key=lambda entry: (-entry[1], entry[0])):
        if one not in partner and other not in taken:
            partner[one] = other
            taken.add(other)
    members = _members(theirs)
    for pin in common:
        if partner.get(mine[pin]) != theirs[pin]:
            with_ = [":".join(p) for p in members[theirs[pin]] if p != pin]
            company = f"with {_list(with_)}" if with_ else "alone"
            what = f"it should be on {net_words(wanted[pin])}, the netlist has it on "
            yield pin, f"{what}{net_words(has[pin])}, {company}"


def _set(design: Design, pin: PinName) -> Set:
    net = design[pin]
    return ("net", net) if net is not None else ("pin", ":".join(pin))


def _members(sets: Mapping[PinName, Set]) -> dict[Set, list[PinName]]:
    found: dict[Set, list[PinName]] = {}
    for pin, one in sets.items():
        found.setdefault(one, []).append(pin)
    return found


def _list(labels: Iterable[str]) -> str:
    shown = list(labels)
    more = f" and {len(shown) - _SHOWN} more" if len(shown) > _SHOWN else ""
    return ", ".join(shown[:_SHOWN]) + more
