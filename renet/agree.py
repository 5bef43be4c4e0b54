"""Do board and netlist say the same?  A pin on which they differ never moves.

Nets are compared as sets of pins, not by name: automatic names change from
release to release.  Each board net is paired with the netlist net that shares
most of its pins (ties: equal name, then natural order), each netlist net with
one board net at most; a pin agrees when its two nets are such a pair.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from renet.columns import natural
from renet.errors import InputError
from renet.model import NONE, Board, Netlist, Node


@dataclass(frozen=True, slots=True)
class Agreement:
    """``alias``: board net name -> netlist net name; ``differs``: pin id -> why."""

    alias: dict[str, str]
    differs: dict[int, str]


def compare(board: Board, netlist: Netlist) -> Agreement:
    """Pair the nets of both; an InputError when the netlist is of another board.

    "Another board" means: fewer than half of the pins that have a net on the
    board are found in the netlist on the paired net.
    """
    nodes = {(node.ref, node.pin): node for node in netlist.nodes}
    alias = pair_nets(_votes(board, nodes))
    differs: dict[int, str] = {}
    agreed = named = 0
    for index, pin in enumerate(board.pins):
        why = _difference(board, index, nodes, alias)
        named += pin.net != NONE
        agreed += pin.net != NONE and not why
        if why:
            differs[index] = why
    if 2 * agreed < named:
        raise InputError(
            f"this netlist is of another board: {agreed} of {named} connected pins agree",
            "give the netlist that belongs to the board",
        )
    return Agreement(alias, differs)


def with_names(board: Board, netlist: Netlist) -> Board:
    """The board with pin names and types that only the netlist knows filled in."""
    nodes = {(node.ref, node.pin): node for node in netlist.nodes}
    pins = list(board.pins)
    for index, pin in enumerate(pins):
        node = nodes.get(board.pin_key(index))
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


def _votes(
    board: Board, nodes: dict[tuple[str, str], Node]
) -> Iterator[tuple[str | None, str | None]]:
    for index, pin in enumerate(board.pins):
        node = nodes.get(board.pin_key(index))
        if node is not None:
            yield board.net_name(pin.net), node.net


def _difference(
    board: Board, index: int, nodes: dict[tuple[str, str], Node], alias: dict[str, str]
) -> str:
    """Why this pin differs between the two, "" if it does not."""
    pin = board.pins[index]
    node = nodes.get(board.pin_key(index))
    ours = board.net_name(pin.net)
    if node is None:
        return "" if ours is None else "the netlist does not list this pin"
    if ours is None and node.net is None:
        return ""
    if ours is not None and node.net is not None and alias.get(ours) == node.net:
        return ""
    return f"the board has it on {_quoted(ours)}, the netlist on {_quoted(node.net)}"


def _quoted(net: str | None) -> str:
    return "no net" if net is None else f'"{net}"'
