"""A netlist file as verify sees it: its nets in order, their nodes, and the bytes between."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from renet.errors import InputError
from renet.syntax import Tree
from renet.verify.sheet import ATOM, MARK, PRIVATE, Span, text
from renet.verify.verdict import Place

PinName = tuple[str, str]


class NodeEntry(NamedTuple):
    """A node: ``gap`` is the white space before it, ``plain`` its bytes without the mark.

    ``type`` is the pin type without the mark, which only a node with a type can carry.
    """

    ref: str
    pin: str
    gap: bytes
    plain: bytes
    marked: bool
    function: str
    type: str
    at: int

    @property
    def key(self) -> PinName:
        """(reference, pin number)."""
        return self.ref, self.pin


class NetEntry(NamedTuple):
    """A net: ``head`` is its bytes without nodes, ``masked`` those without code and name."""

    name: str
    code: str
    gap: bytes
    head: bytes
    masked: bytes
    nodes: tuple[NodeEntry, ...]
    at: int

    @property
    def private(self) -> bool:
        """Whether it is the private net of one open pin: no net at all."""
        return self.name.startswith(PRIVATE) and len(self.nodes) <= 1


@dataclass(slots=True)
class NodeSheet:
    """A netlist file; ``before_nets`` and ``after_nets`` are the bytes around the nets."""

    name: str
    data: bytes
    tree: Tree
    nets: list[NetEntry] = field(default_factory=list)
    before_nets: bytes = b""
    after_nets: bytes = b""

    def __post_init__(self) -> None:
        holder = self.tree.child(0, b"nets")
        if holder < 0:
            raise InputError("the netlist has no nets", "export it again")
        end = self.tree.span(holder)[1]
        lists = self.tree.having(self.tree.children(holder), b"net").tolist()
        spans = [self.tree.span(one) for one in lists]
        stops = [span[1] for span in spans]
        self.before_nets = self.data[: _lead(self.data, spans[0][0]) if spans else end - 1]
        self.after_nets = self.data[stops[-1] if spans else end - 1 :]
        came = len(self.before_nets)
        for one, span in zip(lists, spans, strict=True):
            self.nets.append(self._net(one, span, self.data[came : span[0]]))
            came = span[1]

    def place(self, offset: int) -> Place:
        """Line and column of an offset."""
        return Place(self.name, *self.tree.place(offset))

    def where(self) -> dict[PinName, NetEntry]:
        """The net of every pin; of a pin in two nets, the first."""
        found: dict[PinName, NetEntry] = {}
        for net in self.nets:
            for node in net.nodes:
                found.setdefault(node.key, net)
        return found

    def _net(self, one: int, span: Span, gap: bytes) -> NetEntry:
        children = self.tree.children(one)
        pieces, nodes, done = [], [], span[0]
        for child in self.tree.having(children, b"node").tolist():
            start, end = self.tree.span(child)
            lead = _lead(self.data, start)
            pieces.append(self.data[done:lead])
            nodes.append(self._node(child, (start, end), self.data[lead:start]))
            done = end
        pieces.append(self.data[done : span[1]])
        head = masked = b"".join(pieces)
        said = []
        for word in (b"code", b"name"):
            child = self.tree.child(one, word)
            raw = self.data[slice(*self.tree.span(child))] if child >= 0 else b""
            said.append(self._value(raw))
            masked = masked.replace(raw, outline(raw), 1) if raw else masked
        return NetEntry(said[1], said[0], gap, head, masked, tuple(nodes), span[0])

    def _node(self, child: int, span: Span, gap: bytes) -> NodeEntry:
        raw = self.data[slice(*span)]
        values = []
        for word in (b"ref", b"pin", b"pintype", b"pinfunction"):
            one = self.tree.child(child, word)
            values.append(self.data[slice(*self.tree.span(one))] if one >= 0 else b"")
        kind = values[2]
        marked = kind.rstrip(b')"').endswith(MARK)
        plain = raw.replace(kind, kind.replace(MARK, b"", 1), 1) if marked else raw
        ref, pin, said, function = map(self._value, values)
        said = said.removesuffix(MARK.decode())
        return NodeEntry(ref, pin, gap, plain, marked, function, said, span[0])

    @staticmethod
    def _value(raw: bytes) -> str:
        atoms = ATOM.findall(raw)
        return text(atoms[1]) if len(atoms) > 1 else ""


def outline(raw: bytes) -> bytes:
    """Bytes with every atom but the first replaced by a full stop, in quotes where it has them."""
    first = ATOM.search(raw)
    done = first.end() if first else 0
    return raw[:done] + ATOM.sub(lambda found: _blank(found[0]), raw[done:])


def _blank(atom: bytes) -> bytes:
    return b'"."' if atom.startswith(b'"') else b"."


def _lead(data: bytes, offset: int) -> int:
    while data[offset - 1 : offset].isspace():
        offset -= 1
    return offset
