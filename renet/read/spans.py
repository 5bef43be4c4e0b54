"""Where everything stands in its file: the side tables that travel beside the models.

A span is ``(start, end)`` in bytes, end exclusive; ``(-1, -1)`` where there is
none.  Columns of spans are (n, 2) int64 arrays with one row per id of the
model: ``spans.pads.net[pad]`` belongs to ``board.pads[pad]``.

*Node* spans of netlist nodes begin with the white space in front of them, so
that cutting them out leaves no blank line.  Spans of
*values* are what an edit replaces: everything between the keyword and the
closing parenthesis, quotes included.

``names`` holds every net name of the file, private ones too; the ``carried``
columns index it (-1: none), so what a pad says is known even where its net is
no net to the model.  ``atoms`` has each name as the file writes it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from renet.model import IntArray
from renet.read.slots import NOWHERE, Slot, Span, pad_slot
from renet.splice import Edit
from renet.syntax import Tree, encode

__all__ = [
    "NOWHERE",
    "BoardSpans",
    "CopperSpans",
    "NetRow",
    "NetSpans",
    "NetlistSpans",
    "PadSpans",
    "Slot",
    "Span",
    "ZoneSpans",
]


@dataclass(frozen=True, slots=True)
class PadSpans:
    """Pads by id.

    ``net`` is the whole ``(net ...)`` list, ``net_value`` what stands in it
    after the keyword; ``pin_type`` is the atom with the electrical type.
    """

    node: IntArray
    net: IntArray
    net_value: IntArray
    pin_type: IntArray
    carried: IntArray


@dataclass(frozen=True, slots=True)
class CopperSpans:
    """Tracks or vias by id."""

    node: IntArray
    net_value: IntArray
    carried: IntArray


class ZoneSpans(NamedTuple):
    """One zone.  ``net_name`` is the value of the list that repeats the name.

    ``fills`` are in the order of ``Zone.fills``.  Several fills may stand in one
    list (old line-filled zones): their spans are then equal.
    """

    node: Span
    net_value: Span
    net_name: Span
    fills: tuple[Span, ...]
    carried: int


class NetRow(NamedTuple):
    """A row of the net table, and where its name stands."""

    number: int
    name: str
    atom: Span


@dataclass(frozen=True, slots=True)
class BoardSpans:
    """Everything ``write`` needs to turn a change of the model into byte edits.

    ``rows`` is the net table in file order, () where the file has none
    (``slot`` is None then); ``next_number`` is the number a new row takes.
    ``private`` says what private names of this file look like: "" (the file
    has none), "number" or "name" (the pin's name stands in it where it has one).
    """

    tree: Tree
    names: tuple[str, ...]
    atoms: dict[str, bytes]
    pads: PadSpans
    tracks: CopperSpans
    vias: CopperSpans
    zones: tuple[ZoneSpans, ...]
    rows: tuple[NetRow, ...]
    slot: Slot | None
    quoted: bool
    line_end: bytes
    private: str

    @property
    def has_table(self) -> bool:
        """Whether nets have numbers and a table at the top of the file."""
        return self.slot is not None

    @property
    def next_number(self) -> int:
        """The number that a new row of the table takes."""
        return 1 + max((row.number for row in self.rows), default=0)

    def encode(self, text: str) -> bytes:
        """``text`` as an atom in this file's way of quoting names.

        A net name that the file has already is written as the file writes it.
        """
        return self.atoms.get(text) or encode(text, quoted=self.quoted)

    def pad_slot(self, pad: int) -> Slot:
        """Where a pad without a net list gets one, after the example of the file's own pads."""
        return pad_slot(self.tree, self.pads.node, self.pads.net, pad)

    def cut(self, span: Sequence[int]) -> Edit:
        """Take a list out, with the white space in front of it: no blank line is left."""
        return Edit(self.tree.lead(span[0]), span[1], b"")

    def __repr__(self) -> str:
        return f"<spans of {len(self.pads.node)} pads, {len(self.tracks.node)} tracks>"


class NetSpans(NamedTuple):
    """One net of a netlist; ``net`` begins with its leading white space.

    ``nodes`` are ids of ``Netlist.nodes`` in file order; ``slot`` is where one
    more node goes.
    """

    name: str
    net: Span
    code_atom: Span
    name_atom: Span
    slot: Slot
    nodes: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class NetlistSpans:
    """Side table of a netlist.

    Columns are by node id: ``node`` begins with its leading white space,
    ``ref``, ``pin``, ``pin_function`` and ``pin_type`` are atoms, ``net`` is an
    index into ``nets``.  Pins that stand in no net come last in
    ``Netlist.nodes`` and have (-1, -1) and -1 here.  ``slot`` is where one more
    net goes.
    """

    tree: Tree
    node: IntArray
    ref: IntArray
    pin: IntArray
    pin_function: IntArray
    pin_type: IntArray
    net: IntArray
    nets: tuple[NetSpans, ...]
    slot: Slot
    quoted: bool
    line_end: bytes

    def encode(self, text: str) -> bytes:
        """``text`` as an atom in this file's way of quoting names."""
        return encode(text, quoted=self.quoted)

    def __repr__(self) -> str:
        return f"<spans of {len(self.node)} nodes in {len(self.nets)} nets>"
