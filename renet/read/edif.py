"""EDIF 2 0 0 netlists: bytes to model and side table.

The board is the cell that ``(design ...)`` names; its instances are the parts,
``(joined (portRef ...))`` of its nets the pins.  A part is called by its
``designator``, else by the name of its instance; a pin by the ``designator`` of
its port, else by the name of the port.  Ports that stand in no net are open pins.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from renet.model import Netlist, NetlistPart, Node
from renet.read.edif_tree import Lists, Name
from renet.read.kind import EDIF, expect
from renet.read.slots import NOWHERE, Slot, Span
from renet.syntax import parse

Key = tuple[str, str]


class Port(NamedTuple):
    """A port of a cell: pin number, function, and how the file refers to it."""

    number: str
    function: str
    name: Name


class Cell(NamedTuple):
    """A kind of part; ``pools`` are groups of pin numbers that may trade places."""

    name: str
    ports: dict[str, Port]
    pools: tuple[tuple[str, ...], ...]
    list: int


class Instance(NamedTuple):
    """A part of the board."""

    ref: str
    name: Name
    cell: Cell


class JoinedNet(NamedTuple):
    """A net; ``slot`` is where one more portRef goes, None where it joins nothing yet."""

    name: str
    slot: Slot | None


@dataclass(frozen=True, slots=True)
class EdifSpans:
    """Side table: the portRef of each node (with its leading white space), or NOWHERE.

    ``made`` is the text of a portRef for that node, ``keys`` are (instance,
    port) as identifiers in lower case, ``pools`` (part, pin numbers) that the
    file declares permutable.
    """

    node: tuple[Span, ...]
    made: tuple[bytes, ...]
    keys: tuple[Key, ...]
    nets: tuple[JoinedNet, ...]
    pools: tuple[tuple[str, tuple[str, ...]], ...]

    def __repr__(self) -> str:
        return f"<spans of {len(self.node)} nodes in {len(self.nets)} nets>"


def read_edif(data: bytes) -> tuple[Netlist, EdifSpans]:
    """The netlist in ``data`` and where its pins stand; InputError with line and column.

    Nodes come in file order, then the open pins, part by part.
    """
    expect(data, EDIF)
    lists = Lists(parse(data))
    cells = _cells(lists)
    top = _top(lists, cells)
    contents = next(lists.below(top.list, b"contents"), -1)
    if contents < 0:
        raise lists.fault(top.list, f"the board's cell {top.name} has no contents")
    instances = _instances(lists, contents, cells)
    nodes, spans, nets = _joined(lists, contents, instances)
    keys = list(spans)
    known = {(node.ref, node.pin) for node in nodes}
    for key, inst, port in _all_pins(instances):
        if key not in spans and (inst.ref, port.number) not in known:
            nodes.append(Node(inst.ref, port.number, None, port.function, ""))
            keys.append(key)
    made = tuple(_made(instances, key) for key in keys)
    pools = tuple((i.ref, pool) for i in instances.values() for pool in i.cell.pools)
    where = tuple(spans.get(key, NOWHERE) for key in keys)
    parts = tuple(NetlistPart(i.ref, "", "", i.cell.name) for i in instances.values())
    table = EdifSpans(where, made, tuple(keys), nets, pools)
    return Netlist("EDIF 2 0 0", parts, tuple(nodes)), table


def _cells(lists: Lists) -> dict[Key, Cell]:
    """All cells by (library, cell), identifiers in lower case."""
    found: dict[Key, Cell] = {}
    for library in lists.having(0, b"library", b"external"):
        home = lists.name(library).key
        for index in lists.having(library, b"cell"):
            name = lists.name(index)
            interface = next(lists.below(index, b"interface"), -1)
            ports = _ports(lists, interface) if interface >= 0 else {}
            pools = _pools(lists, interface, ports) if interface >= 0 else ()
            found[home, name.key] = Cell(name.text, ports, pools, index)
    return found


def _ports(lists: Lists, interface: int) -> dict[str, Port]:
    found = {}
    for index in lists.below(interface, b"port"):
        name = lists.name(index)
        number = lists.value(lists.first(index, b"designator"))
        for single in name.singles():
            numbered = number if number and not name.width else ""
            function = single.text if numbered and numbered != single.text else ""
            found[single.key] = Port(numbered or single.text, function, single)
    return found


def _pools(lists: Lists, interface: int, ports: dict[str, Port]) -> tuple[tuple[str, ...], ...]:
    """Ports that stand directly in ``(permutable ...)``; nonPermutable ones stay as they are."""
    found = []
    for group in lists.below(interface, b"permutable", stop=b"nonpermutable"):
        names = [lists.name(i) for i in lists.having(group, b"portref")]
        pins = [ports[name.key].number for name in names if name.key in ports]
        if len(pins) > 1:
            found.append(tuple(dict.fromkeys(pins)))
    return tuple(found)


def _top(lists: Lists, cells: dict[Key, Cell]) -> Cell:
    """The cell that the design names."""
    for design in lists.having(0, b"design"):
        key = _cell_key(lists, design, "")
        if key in cells:
            return cells[key]
        raise lists.fault(design, "the design names a cell that is not there")
    raise lists.fault(0, "there is no (design ...) that names the board's cell")


def _cell_key(lists: Lists, around: int, home: str) -> Key:
    ref = next(lists.below(around, b"cellref"), -1)
    if ref < 0:
        raise lists.fault(around, "it names no cell")
    library = lists.first(ref, b"libraryref")
    return (lists.name(library).key if library >= 0 else home), lists.name(ref).key


def _instances(lists: Lists, contents: int, cells: dict[Key, Cell]) -> dict[str, Instance]:
    """The parts by identifier; InputError where one has contents of its own."""
    home = next((key[0] for key, cell in cells.items() if _is_inside(lists, contents, cell)), "")
    found: dict[str, Instance] = {}
    for index in lists.having(contents, b"instance"):
        name = lists.name(index)
        key = _cell_key(lists, index, home)
        if key not in cells:
            raise lists.fault(index, f"instance {name.text} is of a cell that is not there")
        if next(lists.below(cells[key].list, b"contents"), -1) >= 0:
            what = f"instance {name.text} is a block with contents of its own"
            raise lists.fault(index, what, "write the netlist flat")
        given = lists.value(lists.first(index, b"designator"))
        for single in name.singles():
            ref = given if given and not name.width else single.text
            found[single.key] = Instance(ref, single, _renumbered(lists, index, cells[key]))
    return found


def _is_inside(lists: Lists, index: int, cell: Cell) -> bool:
    tree = lists.tree
    return bool(tree.start[cell.list] < tree.start[index] < tree.end[cell.list])


def _renumbered(lists: Lists, instance: int, cell: Cell) -> Cell:
    """The cell with the pin numbers that ``(portInstance ... (designator ...))`` gives here."""
    ports = dict(cell.ports)
    for index in lists.having(instance, b"portinstance"):
        name, number = lists.name(index), lists.value(lists.first(index, b"designator"))
        if number and name.key in ports:
            old = ports[name.key]
            ports[name.key] = Port(number, "" if number == old.name.text else old.name.text, name)
    if ports == cell.ports:
        return cell
    renamed = {old.number: ports[key].number for key, old in cell.ports.items()}
    pools = tuple(tuple(renamed[pin] for pin in pool) for pool in cell.pools)
    return cell._replace(ports=ports, pools=pools)


def _joined(
    lists: Lists, contents: int, instances: dict[str, Instance]
) -> tuple[list[Node], dict[Key, Span], tuple[JoinedNet, ...]]:
    """All nodes in file order with their spans by key, and the nets."""
    nodes: list[Node] = []
    spans: dict[Key, Span] = {}
    nets = []
    known: dict[Key, str] = {}
    tree = lists.tree
    for net in lists.below(contents, b"net"):
        name = lists.name(net)
        refs = [
            r for joined in lists.having(net, b"joined") for r in lists.having(joined, b"portref")
        ]
        if name.width and refs:
            raise lists.fault(net, f"net {name.text} is a bus; its members must stand one by one")
        slot = None
        for index in refs:
            start, end = tree.span(index)
            slot = Slot(end, tree.data[tree.lead(start) : start])
            at = lists.first(index, b"instanceref")
            if at < 0:
                continue
            key, node = _node(lists, (index, at), name.text, instances)
            if key in spans or known.setdefault((node.ref, node.pin), name.text) != name.text:
                raise lists.fault(index, f"pin {node.pin} of {node.ref} stands in two nets")
            nodes.append(node)
            spans[key] = (tree.lead(start), end)
        nets.append(JoinedNet(name.text, slot))
    return nodes, spans, tuple(nets)


def _node(
    lists: Lists, at: tuple[int, int], net: str, instances: dict[str, Instance]
) -> tuple[Key, Node]:
    port, inst = lists.name(at[0]), lists.name(at[1])
    if inst.key not in instances:
        raise lists.fault(at[1], f"there is no instance {inst.text}")
    found = instances[inst.key]
    if port.key not in found.cell.ports:
        raise lists.fault(at[0], f"{found.ref} has no single port {port.text}")
    entry = found.cell.ports[port.key]
    return (inst.key, port.key), Node(found.ref, entry.number, net, entry.function, "")


def _all_pins(instances: dict[str, Instance]) -> Iterator[tuple[Key, Instance, Port]]:
    for key, inst in instances.items():
        for port_key, port in inst.cell.ports.items():
            yield (key, port_key), inst, port


def _made(instances: dict[str, Instance], key: Key) -> bytes:
    inst = instances[key[0]]
    port = inst.cell.ports[key[1]].name.raw
    return b"(portRef " + port + b" (instanceRef " + inst.name.raw + b"))"
