"""A netlist file as verify sees it: its nets in order, their nodes, and the bytes between."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from renet.errors import InputError
from renet.model import IntArray
from renet.syntax import Tree
from renet.verify.atoms import ATOM, MARK, PRIVATE, is_plain, text
from renet.verify.items import Span
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
        return self.name.startswith(PRIVATE) and len(self.nodes) == 1


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
        lists = self.tree.having(self.tree.children(holder), b"net")
        spans = self._spans(lists)
        stops = [span[1] for span in spans]
        self.before_nets = self.data[: _lead(self.data, spans[0][0]) if spans else end - 1]
        self.after_nets = self.data[stops[-1] if spans else end - 1 :]
        self._read_nets(lists, spans)

    def _read_nets(self, lists: IntArray, spans: list[Span]) -> None:
        """All nets, column by column: netlists have many nodes."""
        family = self.tree.family(lists)
        nodes, owner = family.having(b"node")
        found = list(zip(self._nodes(nodes), self._spans(nodes), strict=True))
        first = np.searchsorted(owner, np.arange(len(lists) + 1)).tolist()
        said = [self._raws(family.first(word)) for word in (b"code", b"name")]
        came = len(self.before_nets)
        for k, span in enumerate(spans):
            gap = self.data[came : span[0]]
            mine = found[first[k] : first[k + 1]]
            self.nets.append(self._net(span, gap, mine, (said[0][k], said[1][k])))
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

    def _net(
        self,
        span: Span,
        gap: bytes,
        nodes: Sequence[tuple[NodeEntry, Span]],
        said: tuple[bytes, bytes],
    ) -> NetEntry:
        """A net from its nodes and the bytes of its code and its name."""
        pieces, done = [], span[0]
        for node, (start, end) in nodes:
            pieces.append(self.data[done : start - len(node.gap)])
            done = end
        pieces.append(self.data[done : span[1]])
        head = masked = b"".join(pieces)
        for raw in said:
            masked = masked.replace(raw, outline(raw), 1) if raw else masked
        code, name = map(self._value, said)
        return NetEntry(name, code, gap, head, masked, tuple(n for n, _ in nodes), span[0])

    def _nodes(self, lists: IntArray) -> list[NodeEntry]:
        family = self.tree.family(lists)
        words = (b"ref", b"pin", b"pintype", b"pinfunction")
        columns = [self._raws(family.first(word)) for word in words]
        spans = self._spans(lists)
        return [
            self._node(span, one)
            for span, one in zip(spans, zip(*columns, strict=True), strict=True)
        ]

    def _node(self, span: Span, values: Sequence[bytes]) -> NodeEntry:
        """A node from the bytes of its reference, pin, type and function."""
        raw = self.data[slice(*span)]
        gap = self.data[_lead(self.data, span[0]) : span[0]]
        kind = values[2]
        marked = kind.rstrip(b')"').endswith(MARK)
        plain = raw.replace(kind, kind.replace(MARK, b"", 1), 1) if marked else raw
        ref, pin, said, function = map(self._value, values)
        said = said.removesuffix(MARK.decode())
        return NodeEntry(ref, pin, gap, plain, marked, function, said, span[0])

    def _spans(self, lists: IntArray) -> list[Span]:
        return list(
            zip(self.tree.start[lists].tolist(), self.tree.end[lists].tolist(), strict=True)
        )

    def _raws(self, lists: IntArray) -> list[bytes]:
        """The bytes of each list, none for list -1."""
        pairs = zip(lists.tolist(), self._spans(lists), strict=True)
        return [self.data[slice(*span)] if one >= 0 else b"" for one, span in pairs]

    @staticmethod
    def _value(raw: bytes) -> str:
        atoms = ATOM.findall(raw)
        return text(atoms[1]) if len(atoms) > 1 else ""


def outline(raw: bytes) -> bytes:
    """Bytes with every atom but the first replaced by a full stop, in quotes where it has them.

    An atom with needless escapes stays, so that no other has its shape.
    """
    first = ATOM.search(raw)
    done = first.end() if first else 0
    return raw[:done] + ATOM.sub(lambda found: _blank(found[0]), raw[done:])


def _blank(atom: bytes) -> bytes:
    if not is_plain(atom):
        return atom
    return b'"."' if atom.startswith(b'"') else b"."


def _lead(data: bytes, offset: int) -> int:
    while data[offset - 1 : offset].isspace():
        offset -= 1
    return offset
