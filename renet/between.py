"""What moved between two boards or two netlists, as a change list.

Nets that somebody named are told apart by name; automatic names change from one
release to the next, so nets with such names are told apart by their pins.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from renet.agree import counterparts_of, pair_nets
from renet.changes import ChangeList, Move, Swap
from renet.columns import natural
from renet.model import Board, Netlist

Key = tuple[str, str]

# How files begin names that nobody gave; they change with the pins on the net.
_AUTOMATIC = ("Net-(", "unconnected-(", "N$")


class Seat(NamedTuple):
    """A pin's net and name in one file."""

    net: str | None
    name: str


class Difference(NamedTuple):
    """Moves between two files, and pins that only one of them has."""

    changes: ChangeList
    gone: tuple[Key, ...]
    new: tuple[Key, ...]


def seats(design: Board | Netlist) -> dict[Key, Seat]:
    """Every pin of a board or a netlist."""
    if isinstance(design, Board):
        return {
            design.pin_key(index): Seat(design.net_name(pin.net), pin.name)
            for index, pin in enumerate(design.pins)
        }
    return {(node.ref, node.pin): Seat(node.net, node.name) for node in design.nodes}


def between(before: Board | Netlist, after: Board | Netlist) -> Difference:
    """Moves from ``before`` to ``after``, in the net names of ``before`` where a net has one.

    A swap is a set of moved pins joined by part and net: what was exchanged together.
    Of two kinds of file one may have its names in capitals or cut; those of ``before`` count.
    """
    old, new = seats(before), _in_names_of(before, after)
    alias = _alias(old, new)
    moves = []
    for key in sorted(old.keys() & new.keys(), key=_order):
        was, now = old[key].net, new[key].net
        is_ = None if now is None else alias.get(now, now)
        if was != is_:
            moves.append(Move(*key, old[key].name or new[key].name, was, is_))
    return Difference(
        ChangeList((), _swaps(moves)),
        tuple(sorted(old.keys() - new.keys(), key=_order)),
        tuple(sorted(new.keys() - old.keys(), key=_order)),
    )


def _in_names_of(before: Board | Netlist, after: Board | Netlist) -> dict[Key, Seat]:
    """The pins of ``after`` under the names that ``before`` has for them."""
    same: dict[Key, Key] = {}
    if isinstance(before, Board) and isinstance(after, Netlist):
        same = {there: here for here, there in counterparts_of(before, after).of.items()}
    elif isinstance(before, Netlist) and isinstance(after, Board):
        same = counterparts_of(after, before).of
    return {same.get(key, key): seat for key, seat in seats(after).items()}


def _alias(old: Mapping[Key, Seat], new: Mapping[Key, Seat]) -> dict[str, str]:
    """Names of ``after`` -> names of ``before``.

    A name that somebody gave and that both files have means the same net, even
    where every one of its pins moved; the others are paired by their pins.
    """
    here, there = ({seat.net for seat in seats.values() if seat.net} for seats in (new, old))
    given = {name: name for name in sorted(here & there) if not name.startswith(_AUTOMATIC)}
    votes = [(new[key].net, old[key].net) for key in old if key in new]
    rest = [(a, b) for a, b in votes if a not in given and b not in given]
    return given | pair_nets(rest)


def _swaps(moves: list[Move]) -> tuple[Swap, ...]:
    """Connected components of moves under "same part and a net in common"."""
    root = list(range(len(moves)))

    def find(index: int) -> int:
        while root[index] != index:
            root[index] = root[root[index]]
            index = root[index]
        return index

    first: dict[tuple[str, str], int] = {}
    for index, move in enumerate(moves):
        for net in (move.was, move.is_):
            if net is not None:
                seen = first.setdefault((move.part, net), index)
                root[find(index)] = find(seen)
    members: dict[int, list[Move]] = {}
    for index, move in enumerate(moves):
        members.setdefault(find(index), []).append(move)
    groups: Mapping[int, list[Move]] = members
    return tuple(Swap(n, tuple(group)) for n, group in enumerate(groups.values(), start=1))


def _order(key: Key) -> tuple[object, object]:
    return natural(key[0]), natural(key[1])
