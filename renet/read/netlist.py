"""Netlists (root ``export``, versions D and E): bytes to model and side table.

The two versions differ in quoting and in what a node says of its pin; where a
node is silent, the pins of the part's library entry speak.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np

from renet.atoms import ATOM
from renet.model import NONE, IntArray, Netlist, NetlistPart, Node
from renet.read.kind import NETLIST, expect
from renet.read.lists import texts
from renet.read.nets import PRIVATE
from renet.read.slots import last_slot
from renet.read.spans import NetlistSpans, NetSpans
from renet.syntax import Family, Tree, parse

_TYPES = {
    "bidi": "bidirectional",
    "3state": "tri_state",
    "opencol": "open_collector",
    "openem": "open_emitter",
    "unspc": "unspecified",
    "notconnected": "no_connect",
}
"""Old words for electrical types, in lower case, as boards call them."""

_MARK = "+no_connect"
_NO_NAME = "~"
_EXPORT = "export the netlist again"

Pins = dict[str, tuple[str, str]]


def read_netlist(data: bytes) -> tuple[Netlist, NetlistSpans]:
    """The netlist in ``data`` and where everything stands; InputError with line and column.

    Nodes come in file order, then the pins that stand in no net, part by part.
    """
    expect(data, NETLIST)
    tree = parse(data)
    parts, libraries = _parts(tree)
    nets = _children(tree, b"nets", b"net")
    spans = _spans(tree, nets)
    _check_complete(tree, spans)
    connected = _nodes(tree, spans, dict(zip([p.ref for p in parts], libraries, strict=True)))
    silent = _unconnected(parts, libraries, connected)
    version = _text(tree, tree.child(0, b"version"))
    return Netlist(version, tuple(parts), (*connected, *silent)), _with_silent(spans, len(silent))


def _children(tree: Tree, holder: bytes, keyword: bytes) -> Family:
    """The lists with a keyword inside a top-level list, as a family."""
    index = tree.child(0, holder)
    if index == NONE:
        return tree.family(np.empty(0, dtype=np.int64))
    return tree.family(tree.having(tree.children(index), keyword))


def _parts(tree: Tree) -> tuple[list[NetlistPart], list[Pins]]:
    """All components, and what the library says of the pins of each."""
    components = _children(tree, b"components", b"comp")
    source = components.first(b"libsource")
    has = np.flatnonzero(source >= 0)
    inside = tree.family(source[has])
    entries = [("", "")] * len(source)
    for row, lib, part in zip(
        has.tolist(), _values(inside, b"lib"), _values(inside, b"part"), strict=True
    ):
        entries[row] = (lib, part)
    library = _library(tree)
    heads = (_values(components, key) for key in (b"ref", b"value", b"footprint"))
    parts = [
        NetlistPart(ref, value, footprint, ":".join(filter(None, entry)))
        for ref, value, footprint, entry in zip(*heads, entries, strict=True)
    ]
    return parts, [library.get(entry, {}) for entry in entries]


def _library(tree: Tree) -> dict[tuple[str, str], Pins]:
    """Name and type of every pin of every library entry, under its aliases as well."""
    entries = _children(tree, b"libparts", b"libpart")
    names = list(zip(_values(entries, b"lib"), _values(entries, b"part"), strict=True))
    pins, of = _grandchildren(entries, b"pins", b"pin")
    found: dict[tuple[str, str], Pins] = {name: {} for name in names}
    columns = (_values(pins, key) for key in (b"num", b"name", b"type"))
    for entry, number, name, kind in zip(of.tolist(), *columns, strict=True):
        found[names[entry]][number] = (_name(name), _type(kind))
    aliases, of = _grandchildren(entries, b"aliases", b"alias")
    spans = tree.inners(aliases.of, b"alias")
    for entry, alias in zip(of.tolist(), texts(tree, spans), strict=True):
        found.setdefault((names[entry][0], alias), found[names[entry]])
    return found


def _grandchildren(family: Family, holder: bytes, keyword: bytes) -> tuple[Family, IntArray]:
    """Lists with a keyword inside a child of each list, as a family, and whose they are."""
    holders, owner = family.having(holder)
    lists, of = family.tree.family(holders).having(keyword)
    return family.tree.family(lists), owner[of]


def _spans(tree: Tree, nets: Family) -> NetlistSpans:
    lists, net_of_node = nets.having(b"node")
    nodes = tree.family(lists)
    refs = _atoms(nodes, b"ref")
    quoted = all(tree.data[start : start + 1] == b'"' for start in refs[:, 0].tolist())
    line = tree.data.find(b"\n")
    holder = tree.child(0, b"nets")
    return NetlistSpans(
        tree=tree,
        node=np.stack([tree.leads(tree.start[nodes.of]), tree.end[nodes.of]], axis=1),
        ref=refs,
        pin=_atoms(nodes, b"pin"),
        pin_function=_atoms(nodes, b"pinfunction"),
        pin_type=_atoms(nodes, b"pintype"),
        net=net_of_node,
        nets=_net_spans(tree, nets, net_of_node),
        slot=last_slot(tree, holder if holder != NONE else 0, b"net"),
        quoted=quoted and len(refs) > 0,
        line_end=b"\r\n" if line > 0 and tree.data[line - 1 : line] == b"\r" else b"\n",
    )


def _net_spans(tree: Tree, nets: Family, net_of_node: IntArray) -> tuple[NetSpans, ...]:
    names, codes = _atoms(nets, b"name"), _atoms(nets, b"code")
    bounds = np.searchsorted(net_of_node, np.arange(len(nets.of) + 1)).tolist()
    starts, ends = tree.leads(tree.start[nets.of]).tolist(), tree.end[nets.of].tolist()
    found = []
    for index, (net, name) in enumerate(zip(nets.of.tolist(), texts(tree, names), strict=True)):
        nodes = tuple(range(bounds[index], bounds[index + 1]))
        code, atom = (tuple(column[index].tolist()) for column in (codes, names))
        slot = last_slot(tree, net, b"node")
        found.append(NetSpans(name, (starts[index], ends[index]), code, atom, slot, nodes))
    return tuple(found)


def _check_complete(tree: Tree, spans: NetlistSpans) -> None:
    """Every net has one name, every node one part and one pin."""
    nets = (np.array([net.name_atom for net in spans.nets], dtype=np.int64).reshape(-1, 2),
            np.array([net.net[0] for net in spans.nets], dtype=np.int64))  # fmt: skip
    node = spans.node[:, 0]
    for word, own, (values, lists) in (
        ("name", "net", nets),
        ("ref", "node", (spans.ref, node)),
        ("pin", "node", (spans.pin, node)),
    ):
        for (start, end), at in zip(values.tolist(), lists.tolist(), strict=True):
            if start < 0 or not ATOM.fullmatch(tree.data, start, end):
                place = start if start >= 0 else int(tree.past_space(np.array([at]))[0])
                raise tree.fault(place, f"expected one value ({word} ...) in ({own} ...)", _EXPORT)


def _nodes(tree: Tree, spans: NetlistSpans, libraries: dict[str, Pins]) -> list[Node]:
    """All nodes that stand in nets; a private net of one node is no net."""
    count = Counter(spans.net.tolist())
    real = [
        None if net.name.startswith(PRIVATE) and count[index] <= 1 else net.name
        for index, net in enumerate(spans.nets)
    ]
    columns = (spans.ref, spans.pin, spans.pin_function, spans.pin_type)
    rows = zip(*(texts(tree, column) for column in columns), spans.net.tolist(), strict=True)
    found: list[Node] = []
    seen: dict[tuple[str, str], int] = {}
    for row, (ref, pin, function, kind, net) in enumerate(rows):
        if seen.setdefault((ref, pin), net) != net:
            what = f"pin {pin} of {ref} stands in two nets"
            raise tree.fault(int(spans.ref[row, 0]), what, _EXPORT)
        name, library_kind = libraries.get(ref, {}).get(pin, ("", ""))
        name, kind = _name(function) or name, _type(kind) or library_kind
        found.append(Node(ref, pin, real[net], name, kind))
    return found


def _unconnected(parts: list[NetlistPart], libraries: list[Pins], nodes: list[Node]) -> list[Node]:
    """Pins that a part's library entry has but no net."""
    known = {(node.ref, node.pin) for node in nodes}
    return [
        Node(part.ref, number, None, name, kind)
        for part, pins in zip(parts, libraries, strict=True)
        for number, (name, kind) in pins.items()
        if (part.ref, number) not in known
    ]


def _with_silent(spans: NetlistSpans, count: int) -> NetlistSpans:
    """The side table with rows for ``count`` nodes that stand nowhere."""
    nowhere = np.full((count, 2), NONE, dtype=np.int64)
    return replace(
        spans,
        node=np.concatenate([spans.node, nowhere]),
        ref=np.concatenate([spans.ref, nowhere]),
        pin=np.concatenate([spans.pin, nowhere]),
        pin_function=np.concatenate([spans.pin_function, nowhere]),
        pin_type=np.concatenate([spans.pin_type, nowhere]),
        net=np.concatenate([spans.net, nowhere[:, 0]]),
    )


def _atoms(family: Family, keyword: bytes) -> IntArray:
    """Span of the value of each list's first child with this keyword."""
    return family.tree.inners(family.first(keyword), keyword)


def _values(family: Family, keyword: bytes) -> list[str]:
    return texts(family.tree, _atoms(family, keyword))


def _text(tree: Tree, index: int) -> str:
    return tree.text(*tree.inner(index)) if index != NONE else ""


def _name(text: str) -> str:
    return "" if text == _NO_NAME else text


def _type(text: str) -> str:
    """The electrical type in the words of boards, without its mark."""
    word = text.lower().removesuffix(_MARK)
    return _TYPES.get(word, word)
