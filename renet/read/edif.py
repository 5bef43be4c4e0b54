"""EDIF 2 0 0 netlists: bytes to model and side table.

The board is the cell that ``(design ...)`` names; its instances are the parts,
``(joined (portRef ...))`` of its nets the pins.  A part is called by its
``designator``, else by the name of its instance; a pin by the ``designator`` of
its port, else by the name of the port.  Ports that stand in no net are open pins.
Buses and blocks with contents are read (``edif_flat``), but their pins are
``fixed``: one portRef stands there for several of them, and cannot be replaced.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from renet.model import Netlist, NetlistPart, Node
from renet.read.edif_cells import Cells, Key, Port, Trades, UnitOfPorts
from renet.read.edif_flat import End, Flat, Instance
from renet.read.edif_tree import Lists
from renet.read.kind import EDIF, expect
from renet.read.slots import NOWHERE, Slot, Span

_IN_BLOCK = "it stands in block {}, which the EDIF netlist holds apart"
_IN_BUS = "the EDIF netlist joins it as one of a bus"
_TWICE = "it stands in more than one portRef of the EDIF netlist"


class JoinedNet(NamedTuple):
    """A list of a net; ``slot`` is where one more portRef goes, None where it joins nothing yet."""

    name: str
    slot: Slot | None


@dataclass(frozen=True, slots=True)
class EdifSpans:
    """Side table: the portRef of each node (with its leading white space), or NOWHERE.

    ``made`` is the text of a portRef for that node, ``keys`` are (instance,
    port) as identifiers in lower case, ``fixed`` is node -> why it cannot be
    moved here, ``trades`` what the file declares permutable, part by part.
    """

    node: tuple[Span, ...]
    made: tuple[bytes, ...]
    keys: tuple[Key, ...]
    nets: tuple[JoinedNet, ...]
    fixed: dict[int, str]
    trades: tuple[tuple[str, Trades], ...]

    def __repr__(self) -> str:
        return f"<spans of {len(self.node)} nodes in {len(self.nets)} nets>"


def read_edif(data: bytes) -> tuple[Netlist, EdifSpans]:
    """The netlist in ``data`` and where its pins stand; InputError with line and column.

    Nodes come in file order, block by block, then the open pins, part by part.
    """
    expect(data, EDIF)
    lists = Lists(data)
    flat = Flat(lists, Cells(lists))
    names = flat.names()
    nodes, ends = _joined(lists, flat, names)
    keys = [end.key for end in ends]
    known = {(node.ref, node.pin) for node in nodes}
    seen = set(keys)
    for key, inst, port in _all_pins(flat):
        if key not in seen and (inst.ref, port.number) not in known:
            nodes.append(Node(inst.ref, port.number, None, port.function, ""))
            keys.append(key)
    spans = [_span(lists, end) for end in ends] + [NOWHERE] * (len(keys) - len(ends))
    nets = tuple(_joined_net(lists, net, names[flat.net(n)]) for net, n in flat.lists_of)
    parts = {i.ref: NetlistPart(i.ref, "", "", i.cell.name) for i in flat.parts.values()}
    fixed = _fixed(flat, ends, keys)
    made = tuple(_made(flat.parts, key) for key in keys)
    table = EdifSpans(tuple(spans), made, tuple(keys), nets, fixed, _trades(flat))
    return Netlist("EDIF 2 0 0", tuple(parts.values()), tuple(nodes)), table


def _joined(lists: Lists, flat: Flat, names: dict[int, str]) -> tuple[list[Node], list[End]]:
    """A node for every pin that stands in a net, with the first of its ends."""
    nodes: list[Node] = []
    ends: list[End] = []
    known: dict[Key, int] = {}
    for end in flat.ends:
        inst, net = flat.parts[end.key[0]], flat.net(end.net)
        port = inst.ports[end.key[1]]
        pin = inst.ref, port.number
        if pin not in known:
            nodes.append(Node(*pin, names[net], port.function, ""))
            ends.append(end)
        elif known[pin] != net:
            what = f"pin {port.number} of {inst.ref} stands in two nets"
            raise lists.fault(end.list, f"{what}, {names[known[pin]]} and {names[net]}")
        known[pin] = net
    return nodes, ends


def _fixed(flat: Flat, ends: list[End], keys: list[Key]) -> dict[int, str]:
    """Nodes that no edit of one portRef can move, with the reason."""
    times = Counter(_pin(flat, end.key) for end in flat.ends)
    found: dict[int, str] = {}
    for node, key in enumerate(keys):
        block = flat.parts[key[0]].block
        if block:
            found[node] = _IN_BLOCK.format(block)
        elif node < len(ends) and ends[node].whole:
            found[node] = _IN_BUS
        elif times[_pin(flat, key)] > 1:
            found[node] = _TWICE
    return found


def _pin(flat: Flat, key: Key) -> Key:
    inst = flat.parts[key[0]]
    return inst.ref, inst.ports[key[1]].number


def _all_pins(flat: Flat) -> Iterator[tuple[Key, Instance, Port]]:
    seen: set[Key] = set()
    for key, inst in flat.parts.items():
        for port_key, port in inst.ports.items():
            if (inst.ref, port.number) not in seen:
                seen.add((inst.ref, port.number))
                yield (key, port_key), inst, port


def _span(lists: Lists, end: End) -> Span:
    start, stop = lists.tree.span(end.list)
    return lists.tree.lead(start), stop


def _joined_net(lists: Lists, net: int, name: str) -> JoinedNet:
    """A list of a net, with its last portRef as the place for one more."""
    refs = [r for joined in lists.below(net, b"joined") for r in lists.below(joined, b"portref")]
    if not refs:
        return JoinedNet(name, None)
    start, end = lists.tree.span(refs[-1])
    return JoinedNet(name, Slot(end, lists.data[lists.tree.lead(start) : start]))


def _trades(flat: Flat) -> tuple[tuple[str, Trades], ...]:
    """What ports of parts on the board itself may trade, in pin numbers."""
    found = []
    for inst in flat.parts.values():
        trades = inst.cell.trades
        if inst.block or trades == Trades():
            continue
        number = {key: port.number for key, port in inst.ports.items()}
        pools = tuple(tuple(number[key] for key in pool) for pool in trades.pools)
        units = tuple(
            UnitOfPorts(tuple(tuple(number[key] for key in row) for row in unit.tuples), unit.inner)
            for unit in trades.units
        )
        kept = tuple(number[key] for key in trades.kept)
        found.append((inst.ref, Trades(pools, units, kept)))
    return tuple(found)


def _made(parts: dict[str, Instance], key: Key) -> bytes:
    inst = parts[key[0]]
    port = inst.ports[key[1]].name.raw
    return b"(portRef " + port + b" (instanceRef " + inst.name.raw + b"))"
