"""Byte edits of an EDIF netlist: portRefs of moved pins change places, nothing else.

Within a net the k-th pin that comes takes the place of the k-th that goes, so
most edits replace a list where it stands.  An open pin stands in no net.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import zip_longest

from renet.columns import natural
from renet.model import Netlist
from renet.read.edif import EdifSpans
from renet.read.slots import Slot
from renet.splice import Edit, splice


def edif_bytes(
    data: bytes, spans: EdifSpans, netlist: Netlist, new_nets: Mapping[int, str | None]
) -> bytes:
    """The file with node ids ``new_nets`` on their new nets (None: on none)."""
    nodes = netlist.nodes
    order = sorted(new_nets, key=lambda i: (natural(nodes[i].ref), natural(nodes[i].pin)))
    goes: dict[str | None, list[int]] = {}
    comes: dict[str | None, list[int]] = {}
    for node in order:
        goes.setdefault(nodes[node].net, []).append(node)
        comes.setdefault(new_nets[node], []).append(node)
    edits: list[Edit] = []
    told: set[str] = set()
    for net in spans.nets:
        if net.slot is not None and net.name not in told:
            told.add(net.name)
            moved = goes.get(net.name, []), comes.get(net.name, [])
            edits += _places(data, spans, net.slot, moved)
    return splice(data, sorted(edits))


def _places(
    data: bytes, spans: EdifSpans, slot: Slot, moved: tuple[list[int], list[int]]
) -> Iterator[Edit]:
    """Pins that leave a net and pins that enter it."""
    for old, new in zip_longest(*moved):
        if old is None:
            yield Edit(slot.offset, slot.offset, slot.lead + _text(data, spans, new))
        else:
            start, end = spans.node[old]
            begin = data.index(b"(", start)
            yield (
                Edit(start, end, b"") if new is None else Edit(begin, end, _text(data, spans, new))
            )


def _text(data: bytes, spans: EdifSpans, node: int) -> bytes:
    """A pin's portRef as it stands somewhere, or made for one that stood nowhere."""
    start, end = spans.node[node]
    return spans.made[node] if start < 0 else data[data.index(b"(", start) : end]
