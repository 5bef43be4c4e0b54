"""From a change of the model to byte edits of its file: exactly what may differ, no more.

A written board may differ in the nets of moved pads, the private names and
no-connect marks of moved pins, and the copper of changed nets; a written
netlist in the nodes of moved pins.  Nothing is serialised anew: every edit
replaces, inserts or cuts a span that the reader noted.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from renet.model import NONE, Board, Pin
from renet.read.spans import BoardSpans, Span
from renet.recopper import CopperChange
from renet.splice import Edit, splice

_MARK = "+no_connect"


def board_bytes(
    data: bytes, spans: BoardSpans, before: Board, after: Board, copper: CopperChange
) -> bytes:
    """The file ``data`` of ``before`` turned into the file of ``after``."""
    changed = _changed(before, after)
    names = _Names(spans, after, changed)
    edits = [
        *names.edits(),
        *_pad_edits(spans, changed, names),
        *_copper_edits(spans, copper, names),
    ]
    return splice(data, sorted(edits))


class _Changed(NamedTuple):
    """A pin by its number, as it was and as it is."""

    number: int
    old: Pin
    new: Pin


@dataclass(slots=True)
class _PrivateRow:
    """A row of the net table that a private name may take over."""

    number: int
    atom: Span


class _Names:
    """Which bytes stand for which net, private names and table rows included.

    A pin that loses its net takes a private name where the file knows such
    names: its old row if there is still one, else the row of a private name
    that has become free, else a new row.
    """

    def __init__(self, spans: BoardSpans, after: Board, changed: list[_Changed]) -> None:
        self._spans = spans
        self._numbers = {row.name: row.number for row in spans.rows}
        self._nets = after.nets
        self._private: dict[int, bytes] = {}
        self._edits: list[Edit] = []
        free = self._freed(changed)
        for pin in changed:
            if pin.new.net == NONE:
                self._open(after, pin.number, free)

    def edits(self) -> list[Edit]:
        """Edits of the net table."""
        return self._edits

    def value(self, net: int) -> bytes:
        """What stands in ``(net ...)`` for a real net."""
        name = self._nets[net]
        if not self._spans.has_table:
            return self._spans.encode(name)
        return b"%d %s" % (self._numbers[name], self._spans.encode(name))

    def copper_value(self, net: int, pin: int | None) -> bytes:
        """What stands in ``(net ...)`` of a track, via or zone.

        ``pin`` is whose fan-out it is, where that pin has lost its net.
        """
        private = None if pin is None else self._private.get(pin)
        if not self._spans.has_table:
            return self.value(net) if net != NONE else private or b'""'
        if net != NONE:
            return b"%d" % self._numbers[self._nets[net]]
        return private.split(b" ", 1)[0] if private else b"0"

    def copper_name(self, net: int, pin: int | None) -> bytes:
        """What stands in ``(net_name ...)`` of a zone."""
        if net != NONE:
            return self._spans.encode(self._nets[net])
        private = None if pin is None else self._private.get(pin)
        if private is None:
            return self._spans.encode("")
        return private.split(b" ", 1)[1] if self._spans.has_table else private

    def private(self, pin: int) -> bytes | None:
        """What stands in ``(net ...)`` of a pad that lost its net; None: no list at all."""
        return self._private.get(pin)

    def _freed(self, changed: list[_Changed]) -> list[_PrivateRow]:
        """Rows of private names whose pin gained a net, in pin order.

        Pin order on both sides makes the inverse of a change put every row back.
        """
        spans = self._spans
        rows = {row.name: _PrivateRow(row.number, row.atom) for row in spans.rows if row.name}
        gained = dict.fromkeys(
            spans.names[int(spans.pads.carried[pad])]
            for pin in changed
            if pin.old.net == NONE
            for pad in pin.old.pads
            if spans.pads.carried[pad] >= 0
        )
        return [rows[name] for name in gained if name in rows]

    def _open(self, after: Board, pin: int, free: list[_PrivateRow]) -> None:
        """Find the private name of a pin that lost its net, and a row for it."""
        spans = self._spans
        if not spans.private:
            return
        name = private_name(after, pin, spans.private)
        atom = spans.encode(name)
        if not spans.has_table:
            self._private[pin] = atom
            return
        if name not in self._numbers:
            self._numbers[name] = self._row(atom, free)
        self._private[pin] = b"%d %s" % (self._numbers[name], atom)

    def _row(self, atom: bytes, free: list[_PrivateRow]) -> int:
        """Rename a free row in place, or add one at the end of the table."""
        if free:
            row = free.pop(0)
            self._edits.append(Edit(*row.atom, atom))
            return row.number
        slot = self._spans.slot
        assert slot is not None
        number = max(self._spans.next_number, 1 + max(self._numbers.values(), default=0))
        self._edits.append(
            Edit(slot.offset, slot.offset, slot.lead + b"(net %d %s)" % (number, atom))
        )
        return number


def private_name(board: Board, pin: int, style: str) -> str:
    """The name of the net of an open pin, in the file's ``style`` (see BoardSpans.private)."""
    entry = board.pins[pin]
    ref = board.parts[entry.part].ref
    if style == "name" and entry.name:
        named = entry.name.replace("/", "{slash}")
        return f"unconnected-({ref}-{named}-Pad{entry.number})"
    return f"unconnected-({ref}-Pad{entry.number})"


def _changed(before: Board, after: Board) -> list[_Changed]:
    """The pins whose net is another one, in pin order."""
    return [
        _Changed(index, old, new)
        for index, (old, new) in enumerate(zip(before.pins, after.pins, strict=True))
        if old.net != new.net
    ]


def _pad_edits(spans: BoardSpans, changed: list[_Changed], names: _Names) -> Iterator[Edit]:
    """Net lists and no-connect marks of all pads of changed pins."""
    for number, old, new in changed:
        value = names.value(new.net) if new.net != NONE else names.private(number)
        for pad in new.pads:
            yield from _net_edits(spans, pad, value)
            yield from _mark_edits(spans, pad, old, new)


def _net_edits(spans: BoardSpans, pad: int, value: bytes | None) -> Iterator[Edit]:
    """Give a pad its net: replace the value, insert the list, or cut it out."""
    start, end = spans.pads.net_value[pad].tolist()
    if value is None:
        if start >= 0:
            yield spans.cut(spans.pads.net[pad].tolist())
    elif start >= 0:
        yield Edit(start, end, value)
    else:
        slot = spans.pad_slot(pad)
        yield Edit(slot.offset, slot.offset, slot.lead + b"(net " + value + b")")


def _mark_edits(spans: BoardSpans, pad: int, old: Pin, new: Pin) -> Iterator[Edit]:
    """Take the no-connect mark from a pin type, or put it there."""
    start, end = spans.pads.pin_type[pad].tolist()
    if start < 0 or old.no_connect == new.no_connect:
        return
    text = spans.tree.text(start, end)
    bare = text.removesuffix(_MARK)
    yield Edit(start, end, spans.encode(bare + _MARK if new.no_connect else bare))


def _copper_edits(spans: BoardSpans, copper: CopperChange, names: _Names) -> Iterator[Edit]:
    """Cut what leaves, and give what goes along with a pin that pin's new net."""
    for columns, gone in (
        (spans.tracks, copper.removed_tracks),
        (spans.vias, copper.removed_vias),
    ):
        yield from (spans.cut(span) for span in columns.node[list(gone)].tolist())
    yield from (spans.cut(spans.zones[zone].node) for zone in copper.removed_zones)
    fills = {spans.zones[zone].fills[fill] for zone, fill in copper.removed_fills}
    yield from map(spans.cut, sorted(fills))  # several may share one list, which is cut once
    tracks = {track: fan_out.pin for fan_out in copper.opened for track in fan_out.tracks}
    vias = {via: fan_out.pin for fan_out in copper.opened for via in fan_out.vias}
    zones = {zone: fan_out.pin for fan_out in copper.opened for zone in fan_out.zones}
    for columns, carried, owner in (
        (spans.tracks, copper.tracks, tracks),
        (spans.vias, copper.vias, vias),
    ):
        for index, net in carried:
            text = names.copper_value(net, owner.get(index))
            yield _renet(columns.net_value[index].tolist(), columns.node[index].tolist(), text)
    for index, net in copper.zones:
        entry = spans.zones[index]
        yield _renet(entry.net_value, entry.node, names.copper_value(net, zones.get(index)))
        if entry.net_name[0] >= 0:
            yield Edit(*entry.net_name, names.copper_name(net, zones.get(index)))


def _renet(value: Sequence[int], node: Sequence[int], text: bytes) -> Edit:
    """The net of a piece of copper; a piece that names none gets a list before its end."""
    if value[0] >= 0:
        return Edit(value[0], value[1], text)
    return Edit(node[1] - 1, node[1] - 1, b" (net " + text + b")")
