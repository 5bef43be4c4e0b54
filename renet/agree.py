"""Do board and netlist say the same?  A pin on which they differ never moves.

Nets are compared as sets of pins, not by name: automatic names change from
release to release.  Each board net is paired with the netlist net that shares
most of its pins (ties: equal name, then natural order), each netlist net with
one board net at most; a pin agrees when its two nets are such a pair.  Which pin
is which is for ``counterparts`` to say.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from renet.columns import natural
from renet.counterparts import Counterparts, counterparts
from renet.errors import InputError
from renet.model import NONE, Board, Netlist, Node
from renet.read.ipc356 import VERSION as RECORDS_VERSION

_UNLISTED = "the netlist does not list this pin"
_SHOWN = 4


@dataclass(frozen=True, slots=True)
class Agreement:
    """``alias``: board net name -> netlist net name; ``differs``: pin id -> why.

    ``unlisted``: open pins that the netlist does not know, which can get no net.
    ``called``: reference on the board -> in the netlist, where the two differ.
    ``absent``: connected parts of the netlist that the board has not, in its order.
    """

    alias: dict[str, str]
    differs: dict[int, str]
    unlisted: dict[int, str]
    called: dict[str, str]
    absent: tuple[str, ...]


def compare(board: Board, netlist: Netlist) -> Agreement:
    """Pair the nets of both; an InputError when the netlist is of another board.

    "Another board" means: fewer than half of the pins that have a net on the
    board are found in the netlist on the paired net.
    """
    same = counterparts_of(board, netlist)
    nodes = _nodes(board, netlist, same)
    alias = pair_nets(_votes(board, nodes))
    differs: dict[int, str] = {}
    unlisted: dict[int, str] = {}
    agreed = named = 0
    for index, pin in enumerate(board.pins):
        why = _difference(board, index, nodes, alias) or _doubt(board, index, same)
        named += pin.net != NONE
        agreed += pin.net != NONE and not why
        if why:
            differs[index] = why
        elif index not in nodes:
            unlisted[index] = _UNLISTED
    if 2 * agreed < named:
        raise InputError(
            f"this netlist is of another board: {agreed} of {named} connected pins agree",
            "give the netlist that belongs to the board",
        )
    called = {here[0]: there[0] for here, there in same.of.items() if here[0] != there[0]}
    met = {there[0] for there in same.of.values()}
    connected = dict.fromkeys(node.ref for node in netlist.nodes if node.net is not None)
    absent = tuple(ref for ref in connected if ref not in met)
    return Agreement(alias, differs, unlisted, called, absent)


def counterparts_of(board: Board, netlist: Netlist) -> Counterparts:
    """Which pin of the netlist is which of the board; lists of records may have cut names."""
    ours = [board.pin_key(index) for index in range(len(board.pins))]
    theirs = [(node.ref, node.pin) for node in netlist.nodes]
    return counterparts(ours, theirs, board.version == RECORDS_VERSION)


def with_names(board: Board, netlist: Netlist) -> Board:
    """The board with pin names and types that only the netlist knows filled in."""
    nodes = _nodes(board, netlist, counterparts_of(board, netlist))
    pins = list(board.pins)
    for index, pin in enumerate(pins):
        node = nodes.get(index)
        if node is not None and not (pin.name and pin.type):
            pins[index] = pin._replace(name=pin.name or node.name, type=pin.type or node.type)
    return replace(board, pins=tuple(pins))


def pair_nets(votes: Iterable[tuple[str | None, str | None]]) -> dict[str, str]:
    """Pair names of two files, one to one, by how often a pin has both.

    ``votes`` has one (name here, name there) per pin.  Ties: equal names, then
    natural order.
    """
    counted = Counter((a, b) for a, b in votes if a is not None and b is not None)
    ranked = sorted(
        counted.items(),
        key=lambda vote: (-vote[1], vote[0][0] != vote[0][1], natural(vote[0][0]), vote[0]),
    )
    alias: dict[str, str] = {}
    taken: set[str] = set()
    for (ours, theirs), _ in ranked:
        if ours not in alias and theirs not in taken:
            alias[ours] = theirs
            taken.add(theirs)
    return alias


def _nodes(board: Board, netlist: Netlist, same: Counterparts) -> dict[int, Node]:
    """The node of every pin id that has one."""
    nodes = {(node.ref, node.pin): node for node in netlist.nodes}
    keys = {index: board.pin_key(index) for index in range(len(board.pins))}
    return {index: nodes[same.of[key]] for index, key in keys.items() if key in same.of}


def _votes(board: Board, nodes: dict[int, Node]) -> Iterator[tuple[str | None, str | None]]:
    for index, node in nodes.items():
        yield board.net_name(board.pins[index].net), node.net


def _difference(board: Board, index: int, nodes: dict[int, Node], alias: dict[str, str]) -> str:
    """Why this pin differs between the two, "" if it does not."""
    pin = board.pins[index]
    node = nodes.get(index)
    ours = board.net_name(pin.net)
    if node is None:
        return ""
    if ours is None and node.net is None:
        return ""
    if ours is not None and node.net is not None and alias.get(ours) == node.net:
        return ""
    return f"the board has it on {_quoted(ours)}, the netlist on {_quoted(node.net)}"


def _doubt(board: Board, index: int, same: Counterparts) -> str:
    """Why a connected pin has no node, "" where it has one or is open."""
    key = board.pin_key(index)
    if key in same.of or board.pins[index].net == NONE:
        return ""
    candidates = same.doubt.get(key[0], ())
    if candidates:
        return f"{key[0]} could be {' or '.join(candidates[:_SHOWN])} of the netlist"
    return _UNLISTED


def _quoted(net: str | None) -> str:
    return "no net" if net is None else f'"{net}"'
