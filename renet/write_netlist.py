"""Byte edits of a netlist: the nodes of moved pins change places, nothing else.

Within a net the k-th pin that comes takes the place of the k-th pin that goes
(natural pin order), so that most edits replace a node where it stands.  Private
nets of open pins are renamed in place; one is cut out or added only where
their number changes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import zip_longest

from renet.columns import natural
from renet.model import Netlist
from renet.read.spans import NetlistSpans, Slot
from renet.splice import Edit, splice

_MARK = "+no_connect"


def netlist_bytes(
    data: bytes, spans: NetlistSpans, netlist: Netlist, new_nets: Mapping[int, str | None]
) -> bytes:
    """The file with node ids ``new_nets`` on their new nets (None: on none)."""
    writer = _Writer(data, spans, netlist, new_nets)
    return splice(data, sorted(writer.edits()))


def after_moves(netlist: Netlist, new_nets: Mapping[int, str | None]) -> Netlist:
    """What the written netlist must mean; the order of nodes carries no meaning."""
    nodes = list(netlist.nodes)
    for node, net in new_nets.items():
        nodes[node] = nodes[node]._replace(net=net)
    return netlist._replace(nodes=tuple(nodes))


def same_meaning(one: Netlist, other: Netlist) -> bool:
    """Whether two netlists say the same of every part and pin."""
    return one.parts == other.parts and sorted(one.nodes, key=_key) == sorted(other.nodes, key=_key)


def _key(node: tuple[str | None, ...]) -> tuple[str, ...]:
    return tuple(field or "" for field in node)


class _Writer:
    """Collects the edits of one netlist."""

    def __init__(
        self,
        data: bytes,
        spans: NetlistSpans,
        netlist: Netlist,
        new_nets: Mapping[int, str | None],
    ) -> None:
        self._data = data
        self._spans = spans
        self._netlist = netlist
        self._new = {node: new_nets[node] for node in sorted(new_nets, key=self._order)}
        private = [
            (net.name, _in_name(netlist.nodes[node].name))
            for net in spans.nets
            for node in net.nodes
            if netlist.nodes[node].net is None
        ]
        self._private = bool(private)
        self._by_name = not any(name and f"-{name}-" not in net for net, name in private)
        self._next_code = 1 + max((self._code(*net.code_atom) for net in spans.nets), default=0)

    def edits(self) -> Iterator[Edit]:
        """All edits, unsorted."""
        goes: dict[str | None, list[int]] = {}
        comes: dict[str | None, list[int]] = {}
        for node, net in self._new.items():
            goes.setdefault(self._netlist.nodes[node].net, []).append(node)
            comes.setdefault(net, []).append(node)
        for entry in self._spans.nets:
            if entry.name in goes or entry.name in comes:
                yield from self._places(
                    entry.slot, goes.get(entry.name, []), comes.get(entry.name, [])
                )
        yield from self._open_nets()

    def _places(self, slot: Slot, goes: list[int], comes: list[int]) -> Iterator[Edit]:
        """Nodes that leave a net and nodes that enter it."""
        for old, new in zip_longest(goes, comes):
            if old is None:
                yield Edit(slot.offset, slot.offset, slot.lead + self._node(new))
            elif new is None:
                start, end = self._spans.node[old].tolist()
                yield Edit(start, end, b"")
            else:
                yield self._instead(old, new)

    def _open_nets(self) -> Iterator[Edit]:
        """Private nets: of pins that gained a net, for pins that lost theirs."""
        if not self._private:
            return
        spans, nodes = self._spans, self._netlist.nodes
        freed = [n for n in self._new if nodes[n].net is None and int(spans.net[n]) >= 0]
        opened = [n for n, net in self._new.items() if net is None]
        for old, new in zip_longest(freed, opened):
            if old is None:
                slot = spans.slot
                yield Edit(slot.offset, slot.offset, slot.lead + self._net(new))
            elif new is None:
                yield Edit(*spans.nets[int(spans.net[old])].net, b"")
            else:
                atom = spans.nets[int(spans.net[old])].name_atom
                yield Edit(*atom, spans.encode(self._private_name(new)))
                yield self._instead(old, new)

    def _instead(self, old: int, new: int) -> Edit:
        """Put node ``new`` where ``old`` stands, keeping the white space in front."""
        start, end = self._spans.node[old].tolist()
        return Edit(start + self._lead(start), end, self._node(new))

    def _lead(self, start: int) -> int:
        return self._data.index(b"(", start) - start

    def _node(self, node: int) -> bytes:
        """The text of a node as it is to stand in its new net."""
        start, end = self._spans.node[node].tolist()
        if start < 0:
            return self._made(node)
        begin = start + self._lead(start)
        text = self._data[begin:end]
        first, last = self._spans.pin_type[node].tolist()
        if first < 0:
            return text
        word = self._spans.tree.text(first, last).removesuffix(_MARK)
        if self._new[node] is None:
            word += _MARK
        return text[: first - begin] + self._spans.encode(word) + text[last - begin :]

    def _made(self, node: int) -> bytes:
        """A node for a pin that stood in no net so far."""
        encode, entry = self._spans.encode, self._netlist.nodes[node]
        text = b"(node (ref " + encode(entry.ref) + b") (pin " + encode(entry.pin) + b")"
        if self._spans.quoted and entry.name:
            text += b" (pinfunction " + encode(entry.name) + b")"
        if self._spans.quoted and entry.type:
            text += b" (pintype " + encode(entry.type) + b")"
        return text + b")"

    def _net(self, node: int) -> bytes:
        """A private net for a pin that lost its net, numbered after the last one."""
        encode = self._spans.encode
        code = encode(str(self._next_code))
        self._next_code += 1
        name = encode(self._private_name(node))
        return b"(net (code " + code + b") (name " + name + b") " + self._node(node) + b")"

    def _code(self, start: int, end: int) -> int:
        text = self._data[start:end].strip(b'"') if start >= 0 else b""
        return int(text) if text.isdigit() and len(text) < 16 else 0

    def _private_name(self, node: int) -> str:
        entry = self._netlist.nodes[node]
        named = f"{_in_name(entry.name)}-" if entry.name and self._by_name else ""
        return f"unconnected-({entry.ref}-{named}Pad{entry.pin})"

    def _order(self, node: int) -> tuple[object, ...]:
        entry = self._netlist.nodes[node]
        return natural(entry.ref), natural(entry.pin)


def _in_name(pin_name: str) -> str:
    """A pin's name as private net names write it: a slash would begin a sheet."""
    return pin_name.replace("/", "{slash}")
